//! What can be asked of every design? Outputs by name, with dims, unit and long name.
//!
//! Each output is a small array for one design; its shape follows from the base and is the same for
//! every design.

use super::nearest::nearest;
use super::spec::{Base, Spec};
use crate::checks::Check;
use crate::error::{Error, Result, each, positive};
use crate::installation::AS_IT_RUNS;
use crate::study::AsGiven;
use crate::system::Axis;

/// One output of a sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Output {
    /// Undamped natural frequencies.
    ModeFrequency,
    /// Damping ratios.
    DampingRatio,
    /// Frequencies at which damped modes swing.
    DampedFrequency,
    /// Vertical transmissibility to a rigid floor.
    Transmissibility,
    /// Whole transfer matrix to a rigid floor.
    Transfer,
    /// Vertical static loads.
    MountLoad,
    /// Vertical static compressions.
    MountDeflection,
    /// Static tilt.
    Tilt,
    /// Peak displacement of points.
    PeakMotion,
    /// Peak velocity of points.
    PeakVelocity,
    /// Peak acceleration of points.
    PeakAcceleration,
    /// Peak vertical force on the floor.
    PeakFloorForce,
    /// Peak vertical dynamic force of each mount.
    PeakMountForce,
    /// Reverse load in the drive.
    ReverseLoad,
    /// Reverse load in the column.
    ColumnReverseLoad,
    /// Peak vertical force on the floor when the material breaks.
    BreakFloorForce,
    /// Peak vertical dynamic force of each mount when the material breaks.
    BreakMountForce,
    /// Margins of the checks of a job.
    Margin,
    /// Demands of the checks of a job.
    Demand,
    /// Key figures of a job.
    Figure,
}

/// Name, unit, long name, dims of each output.
type Row = (Output, &'static str, &'static str, &'static str, &'static [&'static str]);

const TABLE: [Row; 20] = [
    (Output::ModeFrequency, "mode_frequency", "Hz", "undamped natural frequency", &["mode"]),
    (Output::DampingRatio, "damping_ratio", "1", "damping ratio of the mode", &["mode"]),
    (Output::DampedFrequency, "damped_frequency", "Hz", "frequency of the damped mode", &["mode"]),
    (
        Output::Transmissibility,
        "transmissibility",
        "1",
        "vertical transmissibility to a rigid floor",
        &["frequency"],
    ),
    (
        Output::Transfer,
        "transfer",
        "N, N m per N, N m",
        "wrench on a rigid floor for a unit wrench, both about the center of mass",
        &["frequency", "receiver_axis", "source_axis"],
    ),
    (Output::MountLoad, "mount_load", "N", "vertical static load of the mount", &["case", "mount"]),
    (
        Output::MountDeflection,
        "mount_deflection",
        "m",
        "vertical static compression of the mount",
        &["case", "mount"],
    ),
    (Output::Tilt, "tilt", "rad", "static tilt about x and y", &["case", "about"]),
    (
        Output::PeakMotion,
        "peak_motion",
        "m",
        "peak displacement of the point along its largest axis",
        &["shock", "point"],
    ),
    (
        Output::PeakVelocity,
        "peak_velocity",
        "m/s",
        "peak velocity of the point along its largest axis",
        &["shock", "point"],
    ),
    (
        Output::PeakAcceleration,
        "peak_acceleration",
        "m/s^2",
        "peak acceleration of the point along its largest axis",
        &["shock", "point"],
    ),
    (
        Output::PeakFloorForce,
        "peak_floor_force",
        "N",
        "peak dynamic vertical force on the floor",
        &["shock"],
    ),
    (
        Output::PeakMountForce,
        "peak_mount_force",
        "N",
        "peak dynamic vertical force of the mount on the floor",
        &["shock", "mount"],
    ),
    (
        Output::ReverseLoad,
        "reverse_load",
        "N",
        "greatest pull in the drive when the material breaks",
        &["break_through"],
    ),
    (
        Output::ColumnReverseLoad,
        "column_reverse_load",
        "N",
        "greatest push in the column when the material breaks",
        &["break_through"],
    ),
    (
        Output::BreakFloorForce,
        "break_floor_force",
        "N",
        "peak dynamic vertical force on the floor when the material breaks",
        &["break_through"],
    ),
    (
        Output::BreakMountForce,
        "break_mount_force",
        "N",
        "peak dynamic vertical force of the mount when the material breaks",
        &["break_through", "mount"],
    ),
    (Output::Margin, "margin", "1", "relative margin of the check; positive: it holds", &["check"]),
    (Output::Demand, "demand", "unit of the check", "what the machine asks", &["check"]),
    (Output::Figure, "figure_value", "unit of the figure", "key figure of the study", &["figure"]),
];

/// Labels or numbers along a dim.
#[derive(Debug, Clone, PartialEq)]
pub enum Labels {
    /// Names.
    Text(Vec<String>),
    /// Numbers with their unit.
    Numbers(Vec<f64>, &'static str),
}

impl Labels {
    fn len(&self) -> usize {
        match self {
            Self::Text(names) => names.len(),
            Self::Numbers(values, _) => values.len(),
        }
    }
}

/// An output with its shape for one design.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// Which.
    pub output: Output,
    /// Its name.
    pub name: &'static str,
    /// Unit, "1" for a ratio.
    pub unit: &'static str,
    /// What it is.
    pub long_name: &'static str,
    /// Dims after those of the designs.
    pub dims: &'static [&'static str],
    /// Their lengths.
    pub shape: Vec<usize>,
    /// Real and imaginary parts in turn.
    pub complex: bool,
}

impl Laid {
    /// Numbers for one design (two for a complex one).
    pub fn width(&self) -> usize {
        self.shape.iter().product::<usize>() * if self.complex { 2 } else { 1 }
    }
}

/// Outputs laid out, with the labels of their dims.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Outputs in the order asked for.
    pub outputs: Vec<Laid>,
    /// Dims with their labels.
    pub labels: Vec<(&'static str, Labels)>,
    /// Units along dims whose entries differ in unit.
    pub units: Vec<(&'static str, Vec<String>)>,
}

impl Layout {
    /// The layout of a sweep.
    ///
    /// # Errors
    /// [`Error::Unknown`] for an output that is none, [`Error::Invalid`] where the base lacks what it
    /// needs, and the errors of the study where its checks are asked for and the base does not stand.
    pub fn of(spec: &Spec) -> Result<Self> {
        let mut layout = Self { outputs: Vec::new(), labels: Vec::new(), units: Vec::new() };
        if spec.outputs.is_empty() {
            return Err(Error::invalid("outputs", "[]", "must not be empty", listed()));
        }
        let mut study = None;
        for name in &spec.outputs {
            let row = find(name)?;
            if layout.outputs.iter().any(|o| o.output == row.0) {
                return Err(Error::invalid(
                    "outputs",
                    format!("{name:?} twice"),
                    "once",
                    "drop one",
                ));
            }
            if matches!(row.0, Output::Margin | Output::Demand | Output::Figure) && study.is_none()
            {
                study = Some(as_given(name, &spec.base)?);
            }
            layout.add(row, spec, study.as_ref())?;
        }
        Ok(layout)
    }

    fn add(&mut self, row: Row, spec: &Spec, study: Option<&AsGiven>) -> Result<()> {
        let (output, name, unit, long_name, dims) = row;
        let mut shape = Vec::new();
        for &dim in dims {
            let labels = labels(dim, name, spec, study)?;
            shape.push(labels.len());
            if !self.labels.iter().any(|(d, _)| *d == dim) {
                self.labels.push((dim, labels));
                match (dim, study) {
                    ("check", Some(s)) => self.units.push((dim, texts(&s.checks, |c| &c.unit))),
                    ("figure", Some(s)) => {
                        let units = s.figures.iter().map(|f| f.dimension.si.to_owned());
                        self.units.push((dim, units.collect()));
                    }
                    _ => {}
                }
            }
        }
        let complex = output == Output::Transfer;
        self.outputs.push(Laid { output, name, unit, long_name, dims, shape, complex });
        Ok(())
    }
}

fn texts<T>(all: &[T], text: impl Fn(&T) -> &String) -> Vec<String> {
    all.iter().map(|item| text(item).clone()).collect()
}

fn as_given(output: &str, base: &Base) -> Result<AsGiven> {
    match base {
        Base::Job(job) => AsGiven::of(job),
        Base::Installation(..) => Err(Error::invalid(
            format!("outputs {output:?}"),
            "an installation",
            "checks and key figures are those of a job",
            "sweep a Job, or ask for frequencies, loads and peaks",
        )),
    }
}

fn labels(dim: &str, output: &str, spec: &Spec, study: Option<&AsGiven>) -> Result<Labels> {
    let inst = spec.base.installation();
    let shocks = spec.base.shocks();
    let text = |names: &[&str]| Labels::Text(names.iter().map(|&n| n.to_owned()).collect());
    Ok(match dim {
        // Crown and slide of a press move too.
        "mode" => {
            let modes = 1..=inst.system().dofs.len();
            Labels::Numbers(modes.map(|i| i as f64).collect(), "1")
        }
        "frequency" => Labels::Numbers(frequencies(output, spec)?, "Hz"),
        "receiver_axis" | "source_axis" => text(&Axis::ALL.map(Axis::name)),
        "about" => text(&["x", "y"]),
        "mount" => Labels::Text(texts(&inst.mounts, |m| &m.name)),
        "case" => {
            let mut names = vec![AS_IT_RUNS.to_owned()];
            names.extend(texts(&inst.cases, |c| &c.name));
            Labels::Text(names)
        }
        "shock" if shocks.is_empty() => {
            return Err(Error::invalid(
                format!("outputs {output:?}"),
                "no shock",
                "needs a shock to respond to",
                "give shocks={name: (pulse, direction, point)}, or a job with [[shock]] sections",
            ));
        }
        "shock" => Labels::Text(texts(shocks, |s| &s.name)),
        "break_through" if spec.base.break_throughs().is_empty() => {
            return Err(Error::invalid(
                format!("outputs {output:?}"),
                "no work force that breaks off",
                "needs a press and a break-through",
                "give shocks={name: uf.BreakThrough(...)} on a press, or a job with [press] and \
                 [[break_through]]",
            ));
        }
        "break_through" => Labels::Text(texts(spec.base.break_throughs(), |b| &b.name)),
        "point" if inst.points.is_empty() => text(&["center of mass"]),
        "point" => Labels::Text(texts(&inst.points, |p| &p.name)),
        "check" => Labels::Text(study.map(|s| check_names(&s.checks)).unwrap_or_default()),
        _ => Labels::Text(study.map(|s| texts(&s.figures, |f| &f.name)).unwrap_or_default()),
    })
}

/// The question of each check, with its case where several ask the same.
fn check_names(checks: &[Check]) -> Vec<String> {
    let alike = |c: &Check| checks.iter().filter(|o| o.question == c.question).count() > 1;
    let named = |c: &Check| {
        if alike(c) && !c.governing_case.is_empty() {
            format!("{} ({})", c.question, c.governing_case)
        } else {
            c.question.clone()
        }
    };
    checks.iter().map(named).collect()
}

fn frequencies(output: &str, spec: &Spec) -> Result<Vec<f64>> {
    if spec.frequencies.is_empty() {
        return Err(Error::invalid(
            "frequencies",
            "none",
            format!("output {output:?} needs frequencies"),
            "give frequencies=[...] in Hz",
        ));
    }
    each(positive, "frequencies", &spec.frequencies, "Hz")?;
    crate::analysis::response::check_frequencies("frequencies", &spec.frequencies)?;
    Ok(spec.frequencies.clone())
}

fn find(name: &str) -> Result<Row> {
    TABLE.into_iter().find(|row| row.1 == name).ok_or_else(|| Error::Unknown {
        argument: "outputs".into(),
        value: name.into(),
        allowed: format!("{} {}", nearest(name, TABLE.iter().map(|row| row.1)), listed())
            .trim()
            .into(),
    })
}

fn listed() -> String {
    let names: Vec<_> = TABLE.iter().map(|row| row.1).collect();
    format!("outputs are {}", names.join(", "))
}

/// Name, unit and long name of every output.
pub fn all() -> impl Iterator<Item = (&'static str, &'static str, &'static str)> {
    TABLE.iter().map(|&(_, name, unit, long, _)| (name, unit, long))
}
