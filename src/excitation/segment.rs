//! Parts of a closed form: what is left of a [`Segment`] between two times, later, or greater.
//!
//! With tau = t - start, f(t) = c + d tau + sum of Re(a e^{sigma tau}). Begun at t_1 in place of
//! start the same function has c + d (t_1 - start) and a e^{sigma (t_1 - start)}.

use super::Segment;

impl Segment {
    /// A straight line: `constant` at the start (s), `slope` per second, until the end (s).
    pub fn line(start: f64, end: f64, constant: f64, slope: f64) -> Self {
        Self { start, end, constant, slope, exponentials: Vec::new() }
    }

    /// The part of it between two times (s); none if it is empty.
    pub fn part(&self, from: f64, to: f64) -> Option<Self> {
        let (start, end) = (self.start.max(from), self.end.min(to));
        if end <= start {
            return None;
        }
        let tau = start - self.start;
        let waves = self.exponentials.iter();
        Some(Self {
            start,
            end,
            constant: self.constant + self.slope * tau,
            slope: self.slope,
            exponentials: waves.map(|&(a, s)| (a * (s * tau).exp(), s)).collect(),
        })
    }

    /// The same, `delay` (s) later.
    pub fn later(mut self, delay: f64) -> Self {
        self.start += delay;
        self.end += delay;
        self
    }

    /// The same, `factor` times as great.
    pub fn times(mut self, factor: f64) -> Self {
        self.constant *= factor;
        self.slope *= factor;
        self.exponentials.iter_mut().for_each(|(a, _)| *a *= factor);
        self
    }
}
