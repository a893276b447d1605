//! Which points fill a box evenly? The Sobol sequence in up to 64 dimensions.
//!
//! Point n of dimension d is the exclusive or of the direction numbers v_d,k over the bits k that are
//! set in the Gray code n ^ (n >> 1), read as a binary fraction. The recurrence of the direction
//! numbers, for a primitive polynomial of degree s with coefficients a_1 .. a_s, is
//! m_k = 2 a_1 m_(k-1) ^ 4 a_2 m_(k-2) ^ ... ^ 2^s m_(k-s) ^ m_(k-s).
//!
//! Any point is computed by itself, so that parts of a long sweep need not know each other. Points
//! are moved by a digital shift (an exclusive or with random bits, one word for each dimension),
//! which keeps their evenness and never leaves a point at 0.
//!
//! Source: P. Bratley, B. L. Fox, ACM Trans. Math. Software 14 (1988), p. 88, algorithm 659; the
//! polynomials and first numbers are those of S. Joe, F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008),
//! p. 2635, as general-purpose libraries carry them.

use super::random::word;

/// Most dimensions.
pub const DIMENSIONS: usize = 64;

/// Bits of a point before the shift: 2^32 designs and no more.
const BITS: usize = 32;

/// Bits of a double between 0 and 1.
const FRACTION: u32 = 53;

/// Direction numbers of the first dimensions, with the shift of each.
#[derive(Debug, Clone)]
pub struct Sobol {
    directions: Vec<[u32; BITS]>,
    shift: Vec<u64>,
}

impl Sobol {
    /// The sequence in `dimensions` (at most [`DIMENSIONS`]), shifted by the seed.
    pub fn new(dimensions: usize, seed: u64) -> Self {
        let directions = JOE_KUO.iter().take(dimensions).map(|(p, m)| directions(*p, m)).collect();
        let shift = (0..dimensions as u64).map(|d| word(seed, d) >> (64 - FRACTION)).collect();
        Self { directions, shift }
    }

    /// Coordinate of point n, in 0..1 without its ends.
    pub fn at(&self, n: u64, dimension: usize) -> f64 {
        let fraction = u64::from(self.bits(n, dimension)) << (FRACTION as usize - BITS);
        ((fraction ^ self.shift[dimension]) as f64 + 0.5) / (1_u64 << FRACTION) as f64
    }

    /// Coordinate of point n before the shift, in units of 2^-32.
    fn bits(&self, n: u64, dimension: usize) -> u32 {
        let gray = n ^ (n >> 1);
        let set = |k: &usize| (gray >> k) & 1 == 1;
        let v = &self.directions[dimension];
        (0..BITS).filter(set).fold(0, |point, k| point ^ v[k])
    }
}

fn directions(polynomial: u32, first: &[u32]) -> [u32; BITS] {
    let degree = first.len();
    let mut m = [1_u32; BITS];
    m[..degree].copy_from_slice(first);
    for k in degree..BITS {
        // Dimension 0 has no polynomial: all its numbers are 1.
        if degree == 0 {
            continue;
        }
        let mut next = m[k - degree];
        for i in 1..=degree {
            if (polynomial >> (degree - i)) & 1 == 1 {
                next ^= m[k - i] << i;
            }
        }
        m[k] = next;
    }
    std::array::from_fn(|k| m[k] << (BITS - 1 - k))
}

/// Primitive polynomial (binary, leading coefficient included) and first numbers m of each dimension.
#[rustfmt::skip]
const JOE_KUO: [(u32, &[u32]); DIMENSIONS] = [
    (1, &[]),
    (3, &[1]),
    (7, &[1, 3]),
    (11, &[1, 3, 1]),
    (13, &[1, 1, 1]),
    (19, &[1, 1, 3, 3]),
    (25, &[1, 3, 5, 13]),
    (37, &[1, 1, 5, 5, 17]),
    (41, &[1, 1, 5, 5, 5]),
    (47, &[1, 1, 7, 11, 19]),
    (55, &[1, 1, 5, 1, 1]),
    (59, &[1, 1, 1, 3, 11]),
    (61, &[1, 3, 5, 5, 31]),
    (67, &[1, 3, 3, 9, 7, 49]),
    (91, &[1, 1, 1, 15, 21, 21]),
    (97, &[1, 3, 1, 13, 27, 49]),
    (103, &[1, 1, 1, 15, 7, 5]),
    (109, &[1, 3, 1, 15, 13, 25]),
    (115, &[1, 1, 5, 5, 19, 61]),
    (131, &[1, 3, 7, 11, 23, 15, 103]),
    (137, &[1, 3, 7, 13, 13, 15, 69]),
    (143, &[1, 1, 3, 13, 7, 35, 63]),
    (145, &[1, 3, 5, 9, 1, 25, 53]),
    (157, &[1, 3, 1, 13, 9, 35, 107]),
    (167, &[1, 3, 1, 5, 27, 61, 31]),
    (171, &[1, 1, 5, 11, 19, 41, 61]),
    (185, &[1, 3, 5, 3, 3, 13, 69]),
    (191, &[1, 1, 7, 13, 1, 19, 1]),
    (193, &[1, 3, 7, 5, 13, 19, 59]),
    (203, &[1, 1, 3, 9, 25, 29, 41]),
    (211, &[1, 3, 5, 13, 23, 1, 55]),
    (213, &[1, 3, 7, 3, 13, 59, 17]),
    (229, &[1, 3, 1, 3, 5, 53, 69]),
    (239, &[1, 1, 5, 5, 23, 33, 13]),
    (241, &[1, 1, 7, 7, 1, 61, 123]),
    (247, &[1, 1, 7, 9, 13, 61, 49]),
    (253, &[1, 3, 3, 5, 3, 55, 33]),
    (285, &[1, 3, 1, 15, 31, 13, 49, 245]),
    (299, &[1, 3, 5, 15, 31, 59, 63, 97]),
    (301, &[1, 3, 1, 11, 11, 11, 77, 249]),
    (333, &[1, 3, 1, 11, 27, 43, 71, 9]),
    (351, &[1, 1, 7, 15, 21, 11, 81, 45]),
    (355, &[1, 3, 7, 3, 25, 31, 65, 79]),
    (357, &[1, 3, 1, 1, 19, 11, 3, 205]),
    (361, &[1, 1, 5, 9, 19, 21, 29, 157]),
    (369, &[1, 3, 7, 11, 1, 33, 89, 185]),
    (391, &[1, 3, 3, 3, 15, 9, 79, 71]),
    (397, &[1, 3, 7, 11, 15, 39, 119, 27]),
    (425, &[1, 1, 3, 1, 11, 31, 97, 225]),
    (451, &[1, 1, 1, 3, 23, 43, 57, 177]),
    (463, &[1, 3, 7, 7, 17, 17, 37, 71]),
    (487, &[1, 3, 1, 5, 27, 63, 123, 213]),
    (501, &[1, 1, 3, 5, 11, 43, 53, 133]),
    (529, &[1, 3, 5, 5, 29, 17, 47, 173, 479]),
    (539, &[1, 3, 3, 11, 3, 1, 109, 9, 69]),
    (545, &[1, 1, 1, 5, 17, 39, 23, 5, 343]),
    (557, &[1, 3, 1, 5, 25, 15, 31, 103, 499]),
    (563, &[1, 1, 1, 11, 11, 17, 63, 105, 183]),
    (601, &[1, 1, 5, 11, 9, 29, 97, 231, 363]),
    (607, &[1, 1, 5, 15, 19, 45, 41, 7, 383]),
    (617, &[1, 3, 7, 7, 31, 19, 83, 137, 221]),
    (623, &[1, 1, 1, 3, 23, 15, 111, 223, 83]),
    (631, &[1, 1, 5, 13, 31, 15, 55, 25, 161]),
    (637, &[1, 1, 3, 13, 25, 47, 39, 87, 257]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_points_are_those_of_the_textbook() {
        // Bratley and Fox 1988: the first coordinate is the van der Corput sequence in Gray code.
        let sobol = Sobol::new(2, 0);
        let points: Vec<f64> =
            (0..4).map(|n| f64::from(sobol.bits(n, 0)) / 2f64.powi(32)).collect();
        assert_eq!(points, [0.0, 0.5, 0.75, 0.25]);
        let points: Vec<f64> =
            (0..4).map(|n| f64::from(sobol.bits(n, 1)) / 2f64.powi(32)).collect();
        assert_eq!(points, [0.0, 0.5, 0.25, 0.75]);
    }

    #[test]
    fn every_dimension_fills_each_interval_once_shifted_or_not() {
        for seed in [0, 7] {
            let sobol = Sobol::new(DIMENSIONS, seed);
            for d in 0..DIMENSIONS {
                let mut hit = [0; 256];
                (0..256).for_each(|n| hit[(sobol.at(n, d) * 256.0) as usize] += 1);
                assert!(hit.iter().all(|&h| h == 1), "dimension {d}");
            }
        }
    }
}
