//! The system as equations of the first order under one load, for an analysis that changes it as it goes.

use nalgebra::{DMatrix, DVector};

use super::motion::Transient;
use super::output::Output;

/// u' = rate u + input f, x = displacement u, x' = velocity u.
#[derive(Debug, Clone)]
pub(in crate::analysis) struct States {
    pub rate: DMatrix<f64>,
    pub input: DVector<f64>,
    pub displacement: DMatrix<f64>,
    pub velocity: DMatrix<f64>,
    /// M^-1 g.
    pub feed: DVector<f64>,
    pub start: DVector<f64>,
}

impl Transient {
    /// The equations behind the motion; a Fourier transform is none of them.
    pub(in crate::analysis) fn states(&self) -> States {
        let propagator = &self.basis.propagator;
        let size = propagator.size();
        let (mut unit, mut out) = (vec![0.0; size], vec![0.0; size]);
        let mut rate = DMatrix::zeros(size, size);
        for j in 0..size {
            unit[j] = 1.0;
            propagator.rate_of_change(&unit, &[], &mut out);
            rate.set_column(j, &DVector::from_column_slice(&out));
            unit[j] = 0.0;
        }
        States {
            rate,
            input: propagator
                .inputs()
                .into_iter()
                .next()
                .map_or(DVector::zeros(size), DVector::from_vec),
            displacement: self.basis.displacement.clone(),
            velocity: self.basis.velocity.clone(),
            feed: self.basis.feed.column(0).into_owned(),
            start: DVector::from_column_slice(&self.basis.start),
        }
    }
}

impl Output {
    /// y = rows u + feed f.
    pub(in crate::analysis) fn parts(&self) -> (&DMatrix<f64>, &DMatrix<f64>) {
        (&self.rows, &self.feed)
    }
}
