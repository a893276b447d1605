//! Reading a compound unit, and a quantity as a whole, from text.

use super::dimension::Exponents;
use super::exact::Exact;
use super::table;
use crate::error::Error;
use std::f64::consts::TAU;

/// What is wrong with a text and what to do about it.
pub(super) struct Problem {
    problem: String,
    remedy: String,
}

impl Problem {
    pub(super) fn new(problem: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { problem: problem.into(), remedy: remedy.into() }
    }

    pub(super) fn into_error(self, argument: &str, text: &str) -> Error {
        Error::Unit {
            argument: argument.into(),
            text: text.into(),
            problem: self.problem,
            remedy: self.remedy,
        }
    }
}

pub(super) type Read<T> = Result<T, Problem>;

/// A positive number: exact as long as it fits, the nearest double after that.
#[derive(Debug, Clone, Copy)]
pub(super) struct Magnitude {
    pub(super) exact: Option<Exact>,
    pub(super) approximate: f64,
}

impl Magnitude {
    pub(super) const ONE: Self = Self { exact: Some(Exact::ONE), approximate: 1.0 };

    pub(super) fn from_exact(exact: Exact) -> Self {
        Self { exact: Some(exact), approximate: exact.to_f64() }
    }

    fn times(self, other: Self, power: i8) -> Self {
        let exact = self.exact.zip(other.exact).and_then(|(a, b)| a.product(b.powi(power)?));
        let approximate = self.approximate * other.approximate.powi(i32::from(power));
        Self { exact, approximate }
    }

    fn plus(self, other: Self) -> Self {
        let exact = self.exact.zip(other.exact).and_then(|(a, b)| a.sum(b));
        Self { exact, approximate: self.approximate + other.approximate }
    }

    pub(super) fn to_f64(self) -> f64 {
        self.exact.map_or(self.approximate, Exact::to_f64)
    }
}

/// A quantity as it was written.
pub(super) struct Quantity {
    negative: bool,
    size: Magnitude,
    pub(super) is_zero: bool,
    pub(super) has_unit: bool,
    pub(super) exponents: Exponents,
    /// Symbols of the units, for the advice about slips.
    pub(super) symbols: Vec<&'static str>,
}

impl Quantity {
    /// In SI.
    pub(super) fn to_f64(&self) -> f64 {
        self.signed(self.size.to_f64())
    }

    /// In SI, divided by 2 pi; exact where pi cancels (600 rpm is 10 Hz).
    pub(super) fn per_turn(&self) -> f64 {
        let exact = self.size.exact.and_then(|e| e.quotient(Exact::times_pi(2, 1)));
        self.signed(exact.map_or(self.size.approximate / TAU, Exact::to_f64))
    }

    fn signed(&self, size: f64) -> f64 {
        if self.negative { -size } else { size }
    }
}

/// A whole quantity: a number with a compound unit, or feet and inches.
pub(super) fn quantity(text: &str) -> Read<Quantity> {
    let mut reader = Reader::new(text);
    reader.spaces();
    let negative = reader.sign();
    let (number, is_zero) = reader.number()?;
    reader.spaces();
    let mut unit = Compound::default();
    let has_unit = !reader.at_end();
    if has_unit {
        unit = reader.compound(true)?;
    }
    let mut size = number.times(unit.factor, 1);
    let mut zero = is_zero;
    reader.spaces();
    if !reader.at_end() {
        let (inches, none) = reader.inches(&unit)?;
        size = size.plus(inches);
        zero &= none;
    }
    Ok(Quantity {
        negative,
        size,
        is_zero: zero,
        has_unit,
        exponents: unit.exponents,
        symbols: unit.symbols,
    })
}

/// A compound unit alone.
pub(super) fn unit(text: &str) -> Read<(Magnitude, Exponents)> {
    let mut reader = Reader::new(text);
    reader.spaces();
    let compound = reader.compound(true)?;
    reader.spaces();
    if reader.at_end() {
        Ok((compound.factor, compound.exponents))
    } else {
        Err(reader.unexpected())
    }
}

/// Product of units.
struct Compound {
    factor: Magnitude,
    exponents: Exponents,
    symbols: Vec<&'static str>,
}

impl Default for Compound {
    fn default() -> Self {
        Self { factor: Magnitude::ONE, exponents: Exponents::default(), symbols: Vec::new() }
    }
}

impl Compound {
    fn take(&mut self, other: Self, power: i8) -> Read<()> {
        self.factor = self.factor.times(other.factor, power);
        let exponents = self.exponents.times(other.exponents, power);
        self.exponents = exponents.ok_or_else(too_high)?;
        self.symbols.extend(other.symbols);
        Ok(())
    }
}

fn too_high() -> Problem {
    Problem::new("a power is too high", "powers up to 9 are read")
}

/// How deep parentheses may nest.
const DEPTH: usize = 8;

pub(super) struct Reader {
    pub(super) chars: Vec<char>,
    pub(super) at: usize,
    depth: usize,
}

impl Reader {
    fn new(text: &str) -> Self {
        Self { chars: text.chars().collect(), at: 0, depth: 0 }
    }

    pub(super) fn peek(&self) -> Option<char> {
        self.chars.get(self.at).copied()
    }

    pub(super) fn peek_at(&self, ahead: usize) -> Option<char> {
        self.chars.get(self.at + ahead).copied()
    }

    fn at_end(&self) -> bool {
        self.at >= self.chars.len()
    }

    pub(super) fn eat(&mut self, wanted: char) -> bool {
        let hit = self.peek() == Some(wanted);
        self.at += usize::from(hit);
        hit
    }

    /// Skips spaces of any width; true if there were some.
    fn spaces(&mut self) -> bool {
        let start = self.at;
        while self.peek().is_some_and(char::is_whitespace) {
            self.at += 1;
        }
        self.at > start
    }

    pub(super) fn digits(&mut self) -> String {
        let start = self.at;
        while self.peek().is_some_and(|c| c.is_ascii_digit()) {
            self.at += 1;
        }
        self.chars[start..self.at].iter().collect()
    }

    /// Length of the run of digits that starts `ahead` characters from here.
    pub(super) fn run(&self, ahead: usize) -> usize {
        let rest = self.chars.iter().skip(self.at + ahead);
        rest.take_while(|c| c.is_ascii_digit()).count()
    }

    fn sign(&mut self) -> bool {
        let negative = matches!(self.peek(), Some('-' | '\u{2212}'));
        if negative || self.peek() == Some('+') {
            self.at += 1;
            self.spaces();
        }
        negative
    }

    fn unexpected(&self) -> Problem {
        match self.peek() {
            Some(c) => Problem::new(
                format!("unexpected \"{c}\" at character {}", self.at + 1),
                "write a number and a unit, such as \"30 000 lbf/in\"",
            ),
            None => Problem::new("the text ends too early", "write a number and a unit"),
        }
    }

    /// The inches of "14 ft 6 in", in meters, and whether they are zero.
    fn inches(&mut self, first: &Compound) -> Read<(Magnitude, bool)> {
        if first.symbols != ["ft"] || !self.peek().is_some_and(|c| c.is_ascii_digit()) {
            return Err(self.unexpected());
        }
        let (number, is_zero) = self.number()?;
        self.spaces();
        let second = if self.at_end() { Compound::default() } else { self.compound(true)? };
        self.spaces();
        if second.symbols != ["in"] || !self.at_end() || number.to_f64() >= 12.0 {
            return Err(Problem::new(
                "after feet only inches below 12 are read",
                "write \"14 ft 6 in\" or \"14.5 ft\"",
            ));
        }
        Ok((number.times(second.factor, 1), is_zero))
    }

    /// Units joined by products and quotients, from left to right.
    fn compound(&mut self, outermost: bool) -> Read<Compound> {
        let mut out = Compound::default();
        let mut divided = false;
        if outermost && self.eat('/') {
            out.take(self.power()?, -1)?;
            divided = true;
        } else {
            out.take(self.power()?, 1)?;
        }
        loop {
            let before = self.at;
            let spaced = self.spaces();
            match self.peek() {
                Some('/') => {
                    self.at += 1;
                    self.spaces();
                    out.take(self.power()?, -1)?;
                    divided = true;
                }
                Some('*' | '\u{b7}' | '\u{22c5}' | '\u{d7}') => {
                    self.at += 1;
                    self.spaces();
                    out.take(self.power()?, 1)?;
                }
                Some('-') if self.peek_at(1).is_some_and(char::is_alphabetic) => {
                    self.at += 1;
                    out.take(self.power()?, 1)?;
                }
                Some(c) if spaced && (starts_unit(c) || c == '(') => {
                    if divided {
                        return Err(Problem::new(
                            "a product by a space after \"/\" is ambiguous",
                            "write the product first (\"N s/m\") or use parentheses (\"N/(m s)\")",
                        ));
                    }
                    out.take(self.power()?, 1)?;
                }
                _ => {
                    self.at = before;
                    return Ok(out);
                }
            }
        }
    }

    /// A unit or a parenthesis, with its power.
    fn power(&mut self) -> Read<Compound> {
        let base = if self.eat('(') {
            self.depth += 1;
            if self.depth > DEPTH {
                return Err(Problem::new("too many parentheses", "write it more simply"));
            }
            self.spaces();
            let inner = self.compound(false)?;
            self.spaces();
            if !self.eat(')') {
                return Err(Problem::new("a parenthesis is not closed", "add \")\""));
            }
            inner
        } else if self.peek() == Some('1') && self.run(0) == 1 {
            self.at += 1;
            Compound::default()
        } else {
            return self.symbol();
        };
        let power = self.written_power()?.unwrap_or(1);
        let mut out = Compound::default();
        out.take(base, power)?;
        Ok(out)
    }

    /// A symbol of the table; digits at its end are a power (`m2`).
    fn symbol(&mut self) -> Read<Compound> {
        let start = self.at;
        if !self.peek().is_some_and(starts_unit) {
            return Err(self.unexpected());
        }
        self.at += 1;
        while self.peek().is_some_and(|c| c.is_alphabetic() || c == '_') {
            self.at += 1;
        }
        let name: String = self.chars[start..self.at].iter().collect();
        let unit = table::find(&name).ok_or_else(|| {
            let (problem, remedy) = table::advice(&name);
            Problem::new(problem, remedy)
        })?;
        let digit = match self.peek() {
            Some(c @ '2'..='9') if self.run(0) == 1 => c.to_digit(10),
            _ => None,
        };
        let power = match digit {
            Some(d) => {
                self.at += 1;
                d as i8
            }
            None => self.written_power()?.unwrap_or(1),
        };
        let mut out = Compound { symbols: vec![unit.symbol], ..Compound::default() };
        out.factor = Magnitude::from_exact(unit.exact);
        out.exponents = unit.exponents;
        let mut raised = Compound::default();
        raised.take(out, power)?;
        Ok(raised)
    }

    /// `^2`, `**2`, `^-1`, `²`, `⁻¹`.
    fn written_power(&mut self) -> Read<Option<i8>> {
        if self.peek() == Some('*') && self.peek_at(1) == Some('*') {
            self.at += 2;
        } else if !self.eat('^') {
            return self.superscript();
        }
        let negative = self.eat('-');
        let power: i8 = self.digits().parse().map_err(|_| too_high())?;
        signed_power(negative, power).map(Some)
    }

    fn superscript(&mut self) -> Read<Option<i8>> {
        let negative = self.eat('\u{207b}');
        let Some(digit) = self.peek().and_then(superscript_digit) else {
            return if negative { Err(self.unexpected()) } else { Ok(None) };
        };
        self.at += 1;
        signed_power(negative, digit).map(Some)
    }
}

fn signed_power(negative: bool, power: i8) -> Read<i8> {
    if (1..=9).contains(&power) {
        Ok(if negative { -power } else { power })
    } else {
        Err(too_high())
    }
}

fn superscript_digit(c: char) -> Option<i8> {
    let digits = [
        '\u{2070}', '\u{b9}', '\u{b2}', '\u{b3}', '\u{2074}', '\u{2075}', '\u{2076}', '\u{2077}',
        '\u{2078}', '\u{2079}',
    ];
    digits.iter().position(|&d| d == c).and_then(|d| i8::try_from(d).ok())
}

fn starts_unit(c: char) -> bool {
    c.is_alphabetic() || matches!(c, '%' | '\u{b0}' | '#' | '"' | '\'' | '\u{2032}' | '\u{2033}')
}
