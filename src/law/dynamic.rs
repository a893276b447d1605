//! The laws of one direction as one type: D(omega), with its limits and its states.

use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::realization::Realization;
use super::{
    AmplitudeReduction, ComplexStiffness, FractionalZener, Maxwell, MaxwellTerm,
    TabulatedStiffness, TemperatureShift, Viscous, Zener,
};
use crate::error::{Error, Result, not_negative, positive};

/// Dynamic stiffness D(omega) of one direction: force over motion under e^{+j omega t}, N/m.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Dynamic {
    /// Stiffness and loss factor that do not depend on frequency.
    Complex(ComplexStiffness),
    /// Spring and dashpot side by side.
    Viscous(Viscous),
    /// Standard linear solid.
    Zener(Zener),
    /// Generalized Maxwell solid.
    Maxwell(Maxwell),
    /// Fractional standard linear solid.
    FractionalZener(FractionalZener),
    /// Table against frequency.
    Table(TabulatedStiffness),
    /// A law at another temperature.
    Shifted(TemperatureShift),
    /// A law at a stated amplitude.
    Reduced(AmplitudeReduction),
    /// Laws side by side, D = sum of D_i.
    Parallel(Vec<Dynamic>),
    /// Laws in line, 1/D = sum of 1/D_i.
    Series(Vec<Dynamic>),
}

impl Dynamic {
    /// Laws side by side.
    ///
    /// # Errors
    /// [`Error::Invalid`] for an empty list.
    pub fn parallel(parts: Vec<Self>) -> Result<Self> {
        some(&parts)?;
        Ok(Self::Parallel(parts))
    }

    /// Laws in line.
    ///
    /// # Errors
    /// [`Error::Invalid`] for an empty list.
    pub fn series(parts: Vec<Self>) -> Result<Self> {
        some(&parts)?;
        Ok(Self::Series(parts))
    }

    /// D(omega), omega in rad/s, N/m.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a negative frequency, or one outside a table, with its range.
    pub fn at(&self, omega: f64) -> Result<Complex64> {
        not_negative("omega", omega, "rad/s")?;
        self.check_range(omega)?;
        Ok(self.at_s(Complex64::new(0.0, omega)))
    }

    /// D(s) on the upper half plane and the real axis, N/m; laws that are known for harmonic
    /// motion alone (a loss factor, a table) are taken at omega = Im s. Not a number outside a
    /// table.
    pub fn at_s(&self, s: Complex64) -> Complex64 {
        match self {
            Self::Complex(law) => law.at(),
            Self::Viscous(law) => law.at(s),
            Self::Zener(law) => law.at(s),
            Self::Maxwell(law) => law.at(s),
            Self::FractionalZener(law) => law.at(s),
            Self::Table(law) => law.at(s.im),
            Self::Shifted(law) => law.at(s),
            Self::Reduced(law) => law.at(s),
            Self::Parallel(parts) => parts.iter().map(|d| d.at_s(s)).sum(),
            Self::Series(parts) => in_line(parts.iter().map(|d| d.at_s(s))),
        }
    }

    /// Stiffness under a load that stays, the limit of D at rest, N/m.
    pub fn static_stiffness(&self) -> f64 {
        match self {
            Self::Complex(law) => law.stiffness,
            Self::Viscous(law) => law.stiffness,
            Self::Zener(law) => law.static_stiffness,
            Self::Maxwell(law) => law.static_stiffness,
            Self::FractionalZener(law) => law.static_stiffness,
            Self::Table(law) => law.static_stiffness(),
            Self::Shifted(law) => law.law.static_stiffness(),
            Self::Reduced(law) => law.law.static_stiffness() * law.factors()[0],
            Self::Parallel(parts) => parts.iter().map(Self::static_stiffness).sum(),
            Self::Series(parts) => in_line_real(parts.iter().map(Self::static_stiffness)),
        }
    }

    /// Limit of the storage stiffness at high frequency, N/m; infinite beside a dashpot. Of a
    /// table it is the last row's.
    pub fn high_frequency_stiffness(&self) -> f64 {
        match self {
            Self::Complex(law) => law.stiffness,
            Self::Viscous(law) => law.high_frequency_stiffness(),
            Self::Zener(law) => law.static_stiffness + law.branch_stiffness,
            Self::Maxwell(law) => law.high_frequency_stiffness(),
            Self::FractionalZener(law) => law.high_frequency_stiffness,
            Self::Table(law) => law.high_frequency_stiffness(),
            Self::Shifted(law) => law.law.high_frequency_stiffness(),
            Self::Reduced(law) => law.law.high_frequency_stiffness() * law.factors()[0],
            Self::Parallel(parts) => parts.iter().map(Self::high_frequency_stiffness).sum(),
            Self::Series(parts) => in_line_real(parts.iter().map(Self::high_frequency_stiffness)),
        }
    }

    /// Lowest and highest omega at which the law is known, rad/s; `None`: all.
    pub fn range(&self) -> Option<[f64; 2]> {
        match self {
            Self::Table(law) => Some(law.range()),
            Self::Shifted(law) => law.law.range().map(|r| r.map(|omega| omega / law.factor())),
            Self::Reduced(law) => law.law.range(),
            Self::Parallel(parts) | Self::Series(parts) => {
                parts.iter().filter_map(Self::range).reduce(|a, b| [a[0].max(b[0]), a[1].min(b[1])])
            }
            _ => None,
        }
    }

    /// Refuses a frequency (rad/s) at which the law is not known.
    ///
    /// # Errors
    /// [`Error::Invalid`] with the range of the table.
    pub fn check_range(&self, omega: f64) -> Result<()> {
        let Some([low, high]) = self.range() else { return Ok(()) };
        // The rounding of Hz to rad/s and back does not leave a table.
        let slack = 1e-14 * high;
        if omega >= low - slack && omega <= high + slack {
            return Ok(());
        }
        Err(Error::invalid(
            "frequency",
            format!("{} Hz", hertz(omega)),
            format!(
                "must lie in the table of the dynamic stiffness, {} to {} Hz",
                hertz(low),
                hertz(high)
            ),
            "ask inside the table, or give a law that holds there (fractional_zener, maxwell)",
        ))
    }

    /// The law as springs and dashpots, exact in time; `None` if it is not made of them.
    pub fn realization(&self) -> Option<Realization> {
        match self {
            Self::Complex(law) if law.loss_factor == 0.0 => {
                Some(Realization { stiffness: law.stiffness, ..Realization::default() })
            }
            Self::Viscous(law) => Some(law.realization()),
            Self::Zener(law) => Some(law.realization()),
            Self::Maxwell(law) => Some(law.realization()),
            Self::Shifted(law) => law.law.realization().map(|r| r.slowed(law.factor())),
            Self::Reduced(law) => {
                let [storage, loss] = law.factors();
                let same = law.loss_peak.is_none() || storage == loss;
                law.law.realization().filter(|_| same).map(|r| r.scaled(storage))
            }
            Self::Parallel(parts) => parts.iter().try_fold(Realization::default(), |sum, part| {
                part.realization().map(|r| sum.beside(r))
            }),
            Self::Complex(_) | Self::FractionalZener(_) | Self::Table(_) | Self::Series(_) => None,
        }
    }

    /// True if D(s) is known off the imaginary axis too, as of a causal law.
    pub fn is_analytic(&self) -> bool {
        match self {
            Self::Complex(law) => law.loss_factor == 0.0,
            Self::Table(_) => false,
            Self::Shifted(law) => law.law.is_analytic(),
            Self::Reduced(law) => law.loss_peak.is_none() && law.law.is_analytic(),
            Self::Parallel(parts) | Self::Series(parts) => parts.iter().all(Self::is_analytic),
            _ => true,
        }
    }

    /// k, h = eta k and c if D = k + j h + j omega c; `None` if it depends on frequency otherwise.
    pub fn constants(&self) -> Option<[f64; 3]> {
        match self {
            Self::Complex(law) => Some([law.stiffness, law.stiffness * law.loss_factor, 0.0]),
            Self::Viscous(law) => Some([law.stiffness, 0.0, law.damping]),
            _ => None,
        }
    }

    /// True if it takes up energy.
    pub fn is_damped(&self) -> bool {
        match self {
            Self::Complex(law) => law.stiffness * law.loss_factor > 0.0,
            Self::Viscous(law) => law.damping > 0.0,
            Self::Table(law) => law.stiffness.iter().any(|d| d.im > 0.0),
            Self::FractionalZener(law) => law.high_frequency_stiffness > law.static_stiffness,
            Self::Zener(_) | Self::Maxwell(_) => true,
            Self::Shifted(law) => law.law.is_damped(),
            Self::Reduced(law) => law.law.is_damped(),
            Self::Parallel(parts) | Self::Series(parts) => parts.iter().any(Self::is_damped),
        }
    }

    /// The law of a part that is stiffer by a factor at every frequency.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a factor that is not positive.
    pub fn scaled(&self, factor: f64) -> Result<Self> {
        positive("factor", factor, "")?;
        Ok(self.times(factor))
    }

    fn times(&self, factor: f64) -> Self {
        let mut law = self.clone();
        match &mut law {
            Self::Complex(law) => law.stiffness *= factor,
            Self::Viscous(law) => {
                law.stiffness *= factor;
                law.damping *= factor;
            }
            Self::Zener(law) => {
                law.static_stiffness *= factor;
                law.branch_stiffness *= factor;
                law.branch_damping *= factor;
            }
            Self::Maxwell(law) => {
                law.static_stiffness *= factor;
                law.terms.iter_mut().for_each(|t| t.stiffness *= factor);
            }
            Self::FractionalZener(law) => {
                law.static_stiffness *= factor;
                law.high_frequency_stiffness *= factor;
            }
            Self::Table(law) => {
                law.stiffness.iter_mut().for_each(|d| *d *= factor);
                law.static_stiffness = law.static_stiffness.map(|k| k * factor);
            }
            Self::Shifted(law) => *law.law = law.law.times(factor),
            Self::Reduced(law) => *law.law = law.law.times(factor),
            Self::Parallel(parts) | Self::Series(parts) => {
                parts.iter_mut().for_each(|part| *part = part.times(factor));
            }
        }
        law
    }

    /// The law itself, if every number in it is what it must be; fields are public.
    ///
    /// # Errors
    /// Those of the constructors.
    pub fn checked(self) -> Result<Self> {
        let copy = self.clone();
        match self {
            Self::Complex(l) => ComplexStiffness::new(l.stiffness, l.loss_factor).map(|_| ()),
            Self::Viscous(l) => Viscous::new(l.stiffness, l.damping).map(|_| ()),
            Self::Zener(l) => {
                Zener::new(l.static_stiffness, l.branch_stiffness, l.branch_damping).map(|_| ())
            }
            Self::Maxwell(l) => Maxwell::new(l.static_stiffness, l.terms).map(|_| ()),
            Self::FractionalZener(l) => FractionalZener::new(
                l.static_stiffness,
                l.high_frequency_stiffness,
                l.relaxation_time,
                l.order,
            )
            .map(|_| ()),
            Self::Table(l) => {
                TabulatedStiffness::new(l.frequency, l.stiffness, l.variable, l.static_stiffness)
                    .map(|_| ())
            }
            Self::Shifted(l) => {
                let wlf = super::Wlf::new(l.wlf.c1, l.wlf.c2, l.wlf.reference_celsius)?;
                TemperatureShift::new(l.law.checked()?, wlf, l.temperature_celsius).map(|_| ())
            }
            Self::Reduced(l) => AmplitudeReduction::new(
                l.law.checked()?,
                l.amplitude,
                l.critical_amplitude,
                l.residual,
                l.exponent,
                l.loss_peak,
            )
            .map(|_| ()),
            Self::Parallel(parts) | Self::Series(parts) => {
                some(&parts)?;
                parts.into_iter().try_for_each(|part| part.checked().map(|_| ()))
            }
        }?;
        Ok(copy)
    }

    /// What kind of law it is, as in a job file.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Complex(_) => "complex",
            Self::Viscous(_) => "viscous",
            Self::Zener(_) => "zener",
            Self::Maxwell(_) => "maxwell",
            Self::FractionalZener(_) => "fractional_zener",
            Self::Table(_) => "table",
            Self::Shifted(_) => "temperature_shift",
            Self::Reduced(_) => "amplitude_reduction",
            Self::Parallel(_) => "parallel",
            Self::Series(_) => "series",
        }
    }
}

impl From<Realization> for Dynamic {
    fn from(r: Realization) -> Self {
        let terms: Vec<MaxwellTerm> = r
            .branches
            .iter()
            .map(|b| MaxwellTerm { stiffness: b.stiffness, relaxation_time: b.time })
            .collect();
        let spring = Self::Viscous(Viscous { stiffness: r.stiffness, damping: r.damping });
        if terms.is_empty() {
            return spring;
        }
        let maxwell = |k| Self::Maxwell(Maxwell { static_stiffness: k, terms: terms.clone() });
        if r.damping == 0.0 {
            maxwell(r.stiffness)
        } else {
            Self::Parallel(vec![spring, maxwell(0.0)])
        }
    }
}

/// Hz without the rounding of the way to rad/s and back.
fn hertz(omega: f64) -> f64 {
    let f = omega / TAU;
    if f == 0.0 || !f.is_finite() {
        return f;
    }
    let scale = 10_f64.powi(12 - f.abs().log10().ceil() as i32);
    (f * scale).round() / scale
}

fn some(parts: &[Dynamic]) -> Result<()> {
    if parts.is_empty() {
        return Err(Error::invalid("parts", "[]", "must not be empty", "give at least one law"));
    }
    Ok(())
}

/// 1 / sum of 1/D; a part that gives way altogether leaves nothing.
fn in_line(parts: impl Iterator<Item = Complex64>) -> Complex64 {
    let mut flexibility = Complex64::ZERO;
    for d in parts {
        if d == Complex64::ZERO {
            return d;
        }
        flexibility += d.inv();
    }
    flexibility.inv()
}

fn in_line_real(parts: impl Iterator<Item = f64>) -> f64 {
    1.0 / parts.map(|k| 1.0 / k).sum::<f64>()
}
