//! How are inputs that are not sure drawn? From stated distributions, alone or correlated.
//!
//! With u evenly spread over 0..1 (random words or the Sobol sequence), a value is the quantile
//! F^-1(u). Correlated columns are joined by a normal copula: z = L Phi^-1(u) with L L' the
//! correlation matrix of the normal scores, and each value is F^-1(Phi(z)); for normal values that
//! is the correlation of the values themselves.
//!
//! - uniform        low + (high - low) u
//! - normal         mean + sd Phi^-1(u)
//! - log-normal     median exp(sigma Phi^-1(u)): sigma is the standard deviation of the logarithm
//! - triangular     from low over mode to high
//!
//! Source: textbook; normal copula e.g. R. B. Nelsen, An Introduction to Copulas, 2nd ed. 2006,
//! section 2.3 (from memory).

use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

use super::random::{normal_below, normal_quantile, uniform};
use super::sobol::{DIMENSIONS, Sobol};
use crate::error::{Error, Result, finite, positive};

/// Distribution of one input, in its unit (a plain number for a factor).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Distribution {
    /// Equally likely from `low` to `high`.
    Uniform {
        /// Least value.
        low: f64,
        /// Greatest value.
        high: f64,
    },
    /// Bell curve.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        sd: f64,
    },
    /// A value whose logarithm is normal; never negative.
    LogNormal {
        /// Median.
        median: f64,
        /// Standard deviation of the natural logarithm.
        sigma: f64,
    },
    /// Most likely at `mode`, never outside `low` to `high`.
    Triangular {
        /// Least value.
        low: f64,
        /// Most likely value.
        mode: f64,
        /// Greatest value.
        high: f64,
    },
}

impl Distribution {
    /// The distribution itself if its parameters make one.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a spread that is not greater than zero, and anything not finite.
    pub fn checked(self, argument: &str) -> Result<Self> {
        let place = |name: &str| format!("{argument}.{name}");
        let number = |name: &str, value: f64| finite(&place(name), value, "");
        let order = |name: &str, value: f64, above: &str, bound: f64, strict: bool| {
            number(name, value)?;
            if value > bound || (!strict && value == bound) {
                return Ok(());
            }
            let than = if strict { "greater than" } else { "at least" };
            let required = format!("must be {than} {above} ({bound})");
            Err(Error::invalid(place(name), value, required, "give the least value first"))
        };
        match self {
            Self::Uniform { low, high } => {
                number("low", low)?;
                order("high", high, "low", low, true)?;
            }
            Self::Normal { mean, sd } => {
                number("mean", mean)?;
                positive(&place("sd"), sd, "")?;
            }
            Self::LogNormal { median, sigma } => {
                positive(&place("median"), median, "")?;
                positive(&place("sigma"), sigma, "")?;
            }
            Self::Triangular { low, mode, high } => {
                number("low", low)?;
                order("mode", mode, "low", low, false)?;
                order("high", high, "mode", mode, false)?;
                order("high", high, "low", low, true)?;
            }
        }
        Ok(self)
    }

    /// Value below which a share u of all values lies.
    pub fn quantile(self, u: f64) -> f64 {
        match self {
            Self::Uniform { low, high } => low + (high - low) * u,
            Self::Normal { .. } | Self::LogNormal { .. } => self.of_score(normal_quantile(u)),
            Self::Triangular { low, mode, high } => {
                let (rise, fall, span) = (mode - low, high - mode, high - low);
                if u * span < rise {
                    low + libm::sqrt(u * span * rise)
                } else {
                    high - libm::sqrt((1.0 - u) * span * fall)
                }
            }
        }
    }

    /// Value for the normal score z: F^-1(Phi(z)).
    pub fn of_score(self, z: f64) -> f64 {
        match self {
            Self::Normal { mean, sd } => mean + sd * z,
            Self::LogNormal { median, sigma } => median * libm::exp(sigma * z),
            other => other.quantile(normal_below(z)),
        }
    }
}

/// How points are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Method {
    /// Random numbers, each design by itself.
    Random,
    /// The Sobol sequence with a digital shift.
    Sobol,
}

impl Method {
    /// The method of that name.
    ///
    /// # Errors
    /// [`Error::Unknown`].
    pub fn from_name(name: &str) -> Result<Self> {
        match name {
            "random" => Ok(Self::Random),
            "sobol" => Ok(Self::Sobol),
            _ => Err(Error::Unknown {
                argument: "method".into(),
                value: name.into(),
                allowed: "use \"sobol\" or \"random\"".into(),
            }),
        }
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Random => "random",
            Self::Sobol => "sobol",
        }
    }
}

/// What draws the columns of a sample.
#[derive(Debug, Clone)]
pub struct Sampler {
    method: Method,
    seed: u64,
    distributions: Vec<Distribution>,
    sobol: Option<Sobol>,
    /// Rows of L, if columns are correlated.
    factor: Option<DMatrix<f64>>,
}

impl Sampler {
    /// A sampler of these columns; `correlation` is the full matrix, row by row.
    ///
    /// # Errors
    /// [`Error::Invalid`] for too many columns of a Sobol sequence, or a matrix that is no
    /// correlation matrix; [`Error::Shape`].
    pub fn new(
        method: Method,
        seed: u64,
        distributions: Vec<Distribution>,
        correlation: Option<&[f64]>,
    ) -> Result<Self> {
        let n = distributions.len();
        if method == Method::Sobol && n > DIMENSIONS {
            return Err(Error::invalid(
                "axes",
                format!("{n} sampled axes"),
                format!("a Sobol sequence has at most {DIMENSIONS}"),
                "use method \"random\", or let several inputs move together",
            ));
        }
        let sobol = (method == Method::Sobol).then(|| Sobol::new(n, seed));
        let factor = correlation.map(|c| factor(c, n)).transpose()?;
        Ok(Self { method, seed, distributions, sobol, factor })
    }

    /// Values of sample `index`, one for each column.
    pub fn draw(&self, index: u64, values: &mut [f64]) {
        let n = self.distributions.len();
        for (column, value) in values.iter_mut().enumerate() {
            *value = match (&self.sobol, self.method) {
                (Some(sobol), Method::Sobol) => sobol.at(index, column),
                _ => uniform(self.seed, index.wrapping_mul(n as u64) + column as u64),
            };
        }
        let Some(l) = &self.factor else {
            for (value, d) in values.iter_mut().zip(&self.distributions) {
                *value = d.quantile(*value);
            }
            return;
        };
        values.iter_mut().for_each(|u| *u = normal_quantile(*u));
        // From the last row up, so that each row still finds the scores it needs.
        for row in (0..n).rev() {
            let alone = (0..row).all(|j| l[(row, j)] == 0.0);
            let z = (0..=row).map(|j| l[(row, j)] * values[j]).sum();
            let d = self.distributions[row];
            values[row] = if alone { d.of_score(values[row]) } else { d.of_score(z) };
        }
    }
}

/// L with L L' the correlation matrix.
fn factor(correlation: &[f64], n: usize) -> Result<DMatrix<f64>> {
    if correlation.len() != n * n {
        return Err(Error::Shape {
            argument: "correlation".into(),
            found: format!("({} values)", correlation.len()),
            expected: format!("({n}, {n}), a row for each sampled axis,"),
        });
    }
    let c = DMatrix::from_row_slice(n, n, correlation);
    let wrong = |i: usize, j: usize, required: &str| {
        let place = format!("correlation[{i}][{j}]");
        Error::invalid(place, c[(i, j)], required, "give 1 on the diagonal, -1 to 1 beside it")
    };
    for i in 0..n {
        for j in 0..n {
            finite(&format!("correlation[{i}][{j}]"), c[(i, j)], "")?;
            if (c[(i, j)] - c[(j, i)]).abs() > 1e-12 {
                return Err(wrong(i, j, "the matrix must be symmetric"));
            }
            if i == j && c[(i, j)] != 1.0 {
                return Err(wrong(i, j, "must be 1"));
            }
        }
    }
    c.clone().cholesky().map(|f| f.unpack()).ok_or_else(|| {
        Error::invalid(
            "correlation",
            "the matrix",
            "must be positive definite: these correlations contradict each other",
            "lower them; what moves wholly together is one axis with several paths",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_the_triangle_meet_its_corners() {
        let d = Distribution::Triangular { low: 1.0, mode: 2.0, high: 5.0 };
        // A quarter of the area lies below the mode.
        assert!((d.quantile(0.25) - 2.0).abs() < 1e-15);
        assert!((d.quantile(1e-18) - 1.0).abs() < 1e-8);
        assert!((d.quantile(1.0 - 1e-16) - 5.0).abs() < 1e-7);
    }

    #[test]
    fn correlated_normal_values_have_their_correlation() {
        let d = Distribution::Normal { mean: 10.0, sd: 2.0 };
        let c = [1.0, 0.8, 0.0, 0.8, 1.0, 0.0, 0.0, 0.0, 1.0];
        for method in [Method::Sobol, Method::Random] {
            let sampler = Sampler::new(method, 3, vec![d; 3], Some(&c)).unwrap();
            let n = 1 << 14;
            let mut sums = [0.0; 3];
            let mut v = [0.0; 3];
            for i in 0..n {
                sampler.draw(i, &mut v);
                let [a, b, c] = v.map(|x| (x - 10.0) / 2.0);
                for (sum, x) in sums.iter_mut().zip([a * b, a * c, b * b]) {
                    *sum += x / n as f64;
                }
            }
            // Standard error of a mean of products of 2^14 pairs: about 0.01.
            assert!((sums[0] - 0.8).abs() < 0.04, "{sums:?}");
            assert!(sums[1].abs() < 0.04, "{sums:?}");
            assert!((sums[2] - 1.0).abs() < 0.05, "{sums:?}");
        }
    }

    #[test]
    fn spreads_that_are_none_are_refused() {
        let d = Distribution::Normal { mean: 1.0, sd: -0.1 };
        assert!(d.checked("mass").unwrap_err().to_string().contains("mass.sd = -0.1"));
        let d = Distribution::Uniform { low: 2.0, high: 1.0 };
        assert!(d.checked("mass").unwrap_err().to_string().contains("greater than low (2)"));
    }
}
