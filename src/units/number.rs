//! Reading a number: groups of three, decimals, powers of ten, fractions.

use super::exact::Exact;
use super::read::{Magnitude, Problem, Read, Reader};

impl Reader {
    /// The number, and whether it is zero.
    pub(super) fn number(&mut self) -> Read<(Magnitude, bool)> {
        let start = self.at;
        let mut whole = self.grouped()?;
        if let Some(fraction) = self.fraction(&whole)? {
            self.no_comma(start)?;
            return Ok((Magnitude::from_exact(fraction), fraction == Exact::new(0, 1)));
        }
        let mut decimals = String::new();
        if self.eat('.') {
            decimals = self.digits();
            while self.peek() == Some('_') && self.run(1) > 0 {
                self.at += 1;
                decimals.push_str(&self.digits());
            }
        }
        self.no_comma(start)?;
        if whole.is_empty() && decimals.is_empty() {
            return Err(self.no_number());
        }
        let exponent = self.exponent()?;
        let is_zero = whole.chars().chain(decimals.chars()).all(|c| c == '0');
        if whole.is_empty() {
            whole.push('0');
        }
        Ok((decimal(&whole, &decimals, exponent), is_zero))
    }

    /// Digits with groups of three parted by spaces or underscores.
    fn grouped(&mut self) -> Read<String> {
        let mut whole = self.digits();
        let first = whole.len();
        while !whole.is_empty() {
            let gap = match self.peek() {
                Some('_') => 1,
                Some(c) if c.is_whitespace() => 1,
                _ => break,
            };
            let run = self.run(gap);
            // "2 3/8": the next run is the numerator of a fraction; "10 1/s": it is a unit.
            let divided = self.peek_at(gap + run) == Some('/');
            let fraction = divided && self.run(gap + run + 1) > 0;
            let one = divided && run == 1 && self.peek_at(gap) == Some('1');
            if run == 0 || fraction || one {
                break;
            }
            if run != 3 || first > 3 {
                return Err(Problem::new(
                    "a number is not grouped in threes",
                    "write \"92 000\", \"92_000\" or \"92000\"",
                ));
            }
            self.at += gap;
            whole.push_str(&self.digits());
        }
        Ok(whole)
    }

    /// `1/8` after nothing, or `3/8` after a whole number and a space or hyphen.
    fn fraction(&mut self, whole: &str) -> Read<Option<Exact>> {
        let mixed = !whole.is_empty() && matches!(self.peek(), Some(' ' | '-' | '\u{2009}'));
        let start = self.at;
        let numerator = if mixed {
            self.at += 1;
            self.digits()
        } else {
            whole.to_string()
        };
        if numerator.is_empty() || self.peek() != Some('/') || self.run(1) == 0 {
            self.at = start;
            return Ok(None);
        }
        self.at += 1;
        let denominator = self.digits();
        let bad = || {
            Problem::new(
                format!("\"{numerator}/{denominator}\" is not a fraction of one"),
                "write \"2 3/8 in\" or a decimal number",
            )
        };
        let (Ok(n), Ok(d)) = (numerator.parse::<u32>(), denominator.parse::<u32>()) else {
            return Err(bad());
        };
        if d == 0 || mixed && (n >= d || numerator.starts_with('0')) {
            return Err(bad());
        }
        let fraction = Exact::new(u128::from(n), u128::from(d));
        if !mixed {
            return Ok(Some(fraction));
        }
        let whole: u64 = whole.parse().map_err(|_| bad())?;
        Ok(Some(Exact::new(u128::from(whole), 1).sum(fraction).ok_or_else(bad)?))
    }

    fn exponent(&mut self) -> Read<i32> {
        let signed = usize::from(matches!(self.peek_at(1), Some('+' | '-')));
        if !matches!(self.peek(), Some('e' | 'E')) || self.run(1 + signed) == 0 {
            return Ok(0);
        }
        let negative = self.peek_at(1) == Some('-');
        self.at += 1 + signed;
        let size: i32 = self.digits().parse().unwrap_or(i32::MAX);
        Ok(if negative { -size } else { size })
    }

    fn no_comma(&self, start: usize) -> Read<()> {
        if self.peek() != Some(',') {
            return Ok(());
        }
        let before: String = self.chars[start..self.at].iter().collect();
        let run = self.run(1);
        let after: String = self.chars[self.at + 1..self.at + 1 + run].iter().collect();
        let spaced = format!("\"{before} {after}\" or \"{before}{after}\"");
        let remedy = if run == 3 {
            format!("write {spaced} for thousands or \"{before}.{after}\" for decimals")
        } else {
            format!("write \"{before}.{after}\" for decimals")
        };
        Err(Problem::new("a comma in a number is ambiguous", remedy))
    }

    fn no_number(&self) -> Problem {
        let rest: String = self.chars[self.at..].iter().collect();
        if rest.is_empty() {
            return Problem::new("there is no number", "write a number and a unit");
        }
        let word = rest.split_whitespace().next().unwrap_or_default().to_lowercase();
        if ["nan", "inf", "infinity"].contains(&word.as_str()) {
            return Problem::new("not a finite number", "give a number");
        }
        Problem::new(
            format!("there is no number before \"{rest}\""),
            "write a number and a unit, such as \"14 in\"",
        )
    }
}

/// The decimal number whole.decimals x 10^exponent.
fn decimal(whole: &str, decimals: &str, exponent: i32) -> Magnitude {
    let approximate = format!("{whole}.{decimals}e{exponent}").parse().unwrap_or(f64::INFINITY);
    Magnitude { exact: exact_decimal(whole, decimals, exponent), approximate }
}

fn exact_decimal(whole: &str, decimals: &str, exponent: i32) -> Option<Exact> {
    let digits: u128 = format!("{whole}{decimals}").parse().ok()?;
    let shift = i64::from(exponent) - i64::try_from(decimals.len()).ok()?;
    let ten = 10u128.checked_pow(u32::try_from(shift.unsigned_abs()).ok()?)?;
    if shift < 0 {
        Some(Exact::new(digits, ten))
    } else {
        Some(Exact::new(digits.checked_mul(ten)?, 1))
    }
}
