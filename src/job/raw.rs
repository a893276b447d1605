//! The job file as text: reading it, parsing it, and finding line and column again.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Read;
use std::path::Path;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::error::{Error, Result};

/// Largest job file that is read, bytes; a job of a hundred mounts has some 50 kB.
const LARGEST: u64 = 4 << 20;
/// Largest record that is read, bytes.
const LARGEST_RECORD: u64 = 64 << 20;

/// Text of a job file and the name it is known by in messages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Source {
    pub(super) name: String,
    pub(super) text: String,
    /// Texts of the records and tables that the job names, or why they cannot be read.
    pub(super) attached: BTreeMap<String, std::result::Result<String, String>>,
    /// Text of the catalog that the job names, once it has been read.
    pub(super) catalog: Option<String>,
}

impl Source {
    /// A job's text, with the records and the catalog beside it that it names.
    pub(super) fn new(name: String, text: String) -> Self {
        let mut source = Self { name, text, attached: BTreeMap::new(), catalog: None };
        let folder = Path::new(&source.name).parent().map(Path::to_path_buf).unwrap_or_default();
        let read = |file: String| {
            let text = read_record(&folder.join(&file));
            (file, text)
        };
        source.attached = source.files().into_iter().map(read).collect();
        let named = source.parse().ok().and_then(|tree| {
            let file =
                tree.get_ref().get("options")?.get_ref().get("catalog")?.get_ref().as_str()?;
            Some(file.to_owned())
        });
        source.catalog = named.and_then(|file| source.catalog_text(&file).ok());
        source
    }

    /// Files beside the job that it names: records, tonnage records and the motion of the slide.
    fn files(&self) -> Vec<String> {
        let Ok(tree) = DeTable::parse(&self.text) else { return Vec::new() };
        let root = DeValue::Table(tree.into_inner());
        let mut found = Vec::new();
        for path in [
            &["record", "file"][..],
            &["break_through", "calibration", "file"],
            &["slide", "profile", "csv"],
        ] {
            texts(&root, path, &mut found);
        }
        found
    }

    /// The text of a record, or why it cannot be read.
    pub(super) fn attached(&self, file: &str) -> std::result::Result<&str, String> {
        match self.attached.get(file) {
            Some(Ok(text)) => Ok(text),
            Some(Err(problem)) => {
                Err(format!("{file:?} {problem}; it is sought beside the job file"))
            }
            None => Err(format!("{file:?} is not at hand")),
        }
    }

    /// Text of a catalog beside the job.
    pub(super) fn catalog_text(&self, file: &str) -> Result<String> {
        if let Some(text) = &self.catalog {
            return Ok(text.clone());
        }
        let folder = Path::new(&self.name).parent().unwrap_or(Path::new(""));
        Self::text_of(&folder.join(file), "a catalog (CSV or TOML)")
    }

    /// Reads a file; everything that is not a small text file is refused.
    pub(super) fn read(path: &Path) -> Result<Self> {
        Ok(Self::new(path.display().to_string(), Self::text_of(path, "a job file (TOML)")?))
    }

    fn text_of(path: &Path, what: &str) -> Result<String> {
        let name = path.display().to_string();
        let refuse = |problem: String| Error::File { path: name.clone(), problem };
        let about = fs::metadata(path).map_err(|e| refuse(reason(&e)))?;
        if about.is_dir() {
            return Err(refuse(format!("is a directory; give the path of {what}")));
        }
        // A pipe or device would block or never end.
        if !about.is_file() {
            return Err(refuse(format!("is not a regular file; give the path of {what}")));
        }
        let mut bytes = Vec::new();
        let file = File::open(path).map_err(|e| refuse(reason(&e)))?;
        file.take(LARGEST + 1).read_to_end(&mut bytes).map_err(|e| refuse(reason(&e)))?;
        if bytes.len() as u64 > LARGEST {
            return Err(refuse("is larger than 4 MiB; a job file has a few kB of text".into()));
        }
        if bytes.contains(&0) {
            return Err(refuse("is a binary file; a job file is text (TOML)".into()));
        }
        String::from_utf8(bytes).map_err(|e| {
            let good = e.utf8_error().valid_up_to();
            let line = 1 + e.as_bytes().iter().take(good).filter(|b| **b == b'\n').count();
            refuse(format!("is not UTF-8 text (line {line}); save it as UTF-8"))
        })
    }

    /// The tree of keys and values, each with its place in the text.
    pub(super) fn parse(&self) -> Result<Spanned<DeTable<'_>>> {
        let blank = |line: &str| line.trim().is_empty() || line.trim().starts_with('#');
        if self.text.trim_start_matches('\u{feff}').lines().all(blank) {
            return Err(self.error(0, "file", "is empty; `underfoot new JOB.toml` writes one"));
        }
        DeTable::parse(&self.text).map_err(|e| {
            let at = e.span().map_or(0, |span| span.start);
            self.error(at, "syntax", e.message().replace('\n', ", "))
        })
    }

    /// An error at a byte of the text.
    pub(super) fn error(&self, at: usize, path: &str, problem: impl Into<String>) -> Error {
        let (line, column) = self.locate(at);
        Error::Job {
            file: self.name.clone(),
            line,
            column,
            path: path.into(),
            problem: problem.into(),
        }
    }

    /// Line and column, from 1; columns count characters.
    pub(super) fn locate(&self, at: usize) -> (usize, usize) {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let before = &self.text[..at];
        let start = before.rfind('\n').map_or(0, |i| i + 1);
        let line = 1 + before.matches('\n').count();
        (line, 1 + before[start..].chars().filter(|c| *c != '\u{feff}').count())
    }
}

/// Every text at a path of keys; lists on the way are looked through.
fn texts(value: &DeValue<'_>, path: &[&str], found: &mut Vec<String>) {
    match (value, path) {
        (DeValue::Array(items), _) => items.iter().for_each(|i| texts(i.get_ref(), path, found)),
        (DeValue::String(text), []) => found.push(text.trim().to_owned()),
        (DeValue::Table(table), [key, rest @ ..]) => {
            if let Some(inner) = table.get(*key) {
                texts(inner.get_ref(), rest, found);
            }
        }
        _ => {}
    }
}

fn read_record(path: &Path) -> std::result::Result<String, String> {
    let about = fs::metadata(path).map_err(|e| reason(&e))?;
    if !about.is_file() {
        return Err("is not a regular file".into());
    }
    if about.len() > LARGEST_RECORD {
        return Err("is larger than 64 MiB; cut the record".into());
    }
    fs::read_to_string(path).map_err(|e| match e.kind() {
        std::io::ErrorKind::InvalidData => "is not UTF-8 text".into(),
        _ => reason(&e),
    })
}

fn reason(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".into(),
        std::io::ErrorKind::PermissionDenied => "may not be read (permission denied)".into(),
        _ => format!("cannot be read: {error}"),
    }
}
