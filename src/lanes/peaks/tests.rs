//! Peaks in lanes against dense sampling of closed forms, and lanes that are doubtful.

use num_complex::Complex64;

use super::*;
use crate::lanes::draws::Draws;
use crate::lanes::{instruction_set, isa::Isa};

const OUTPUTS: usize = 3;

/// Roots, states and rows of one motion.
#[derive(Clone)]
struct Motion {
    roots: Vec<Complex64>,
    start: Vec<Complex64>,
    rows: Vec<Complex64>,
}

impl Motion {
    fn drawn(n: usize, damping: f64, draws: &mut Draws) -> Self {
        let mut complex = || Complex64::new(draws.next(), draws.next());
        let start = (0..n).map(|_| complex()).collect();
        let rows = (0..n * OUTPUTS).map(|_| complex()).collect();
        let omega = (0..n).map(|k| 10.0 + 8.0 * k as f64 + 6.0 * draws.next());
        let roots = omega.map(|w| Complex64::new(-damping * w, w)).collect();
        Self { roots, start, rows }
    }

    fn at(&self, output: usize, t: f64) -> f64 {
        let n = self.roots.len();
        let one = |k: usize| self.rows[output * n + k] * self.start[k] * (self.roots[k] * t).exp();
        (0..n).map(|k| one(k).re).sum()
    }

    /// y' and y''.
    fn derivatives(&self, output: usize, t: f64) -> [f64; 2] {
        let n = self.roots.len();
        let one = |k: usize| self.rows[output * n + k] * self.start[k] * (self.roots[k] * t).exp();
        [1, 2].map(|order| (0..n).map(|k| (one(k) * self.roots[k].powi(order)).re).sum())
    }

    /// Greatest of many samples, made better by Newton.
    fn greatest(&self, output: usize, sign: f64, length: f64) -> (f64, f64) {
        let samples = 10_000;
        let h = length / f64::from(samples);
        let y = |i: i32| sign * self.at(output, f64::from(i) * h);
        let best = (0..=samples).max_by(|&i, &j| y(i).total_cmp(&y(j))).unwrap();
        let mut t = f64::from(best) * h;
        if best == 0 || best == samples {
            return (y(best), t);
        }
        for _ in 0..5 {
            let [first, second] = self.derivatives(output, t);
            t -= first / second;
        }
        (sign * self.at(output, t), t)
    }
}

fn put(block: &mut Block, lane: usize, motion: &Motion) {
    let set = |to: &mut [Complex], from: &[Complex64]| {
        for (to, from) in to.iter_mut().zip(from) {
            to.re.0[lane] = from.re;
            to.im.0[lane] = from.im;
        }
    };
    set(&mut block.roots, &motion.roots);
    set(&mut block.start, &motion.start);
    set(&mut block.rows, &motion.rows);
}

fn solved(isa: Isa, motions: &[Motion], length: f64) -> (Block, [bool; WIDTH]) {
    let mut block = Block::new(motions[0].roots.len(), OUTPUTS);
    block.pieces = vec![Piece::free(0.0, length)];
    for lane in 0..WIDTH {
        put(&mut block, lane, &motions[lane % motions.len()]);
    }
    let sound = block.solve(isa, [true; WIDTH]);
    (block, sound)
}

#[test]
fn extremes_are_those_of_dense_samples_for_any_number_of_modes() {
    let mut draws = Draws(1);
    for n in [1, 2, 6, 8, 11] {
        for damping in [0.0, 0.003, 0.05, 0.3] {
            let motions: Vec<_> = (0..8).map(|_| Motion::drawn(n, damping, &mut draws)).collect();
            let (block, sound) = solved(instruction_set().unwrap(), &motions, 3.0);
            for (lane, motion) in motions.iter().enumerate() {
                // A single undamped vibration has too many equal peaks for none to be given up.
                assert!(sound[lane] || damping == 0.0, "{n} modes, {damping}");
                if !sound[lane] {
                    continue;
                }
                for output in 0..OUTPUTS {
                    let (max, min) = (block.max(output), block.min(output));
                    for (found, sign) in [(max, 1.0), (min, -1.0)] {
                        let (value, time) = motion.greatest(output, sign, 3.0);
                        let found_value = sign * found.value.0[lane];
                        assert!(
                            (found_value - value).abs() < 1e-11,
                            "{n} {damping} {found_value} {value}"
                        );
                        let at = sign * motion.at(output, found.time.0[lane]);
                        assert!((at - found_value).abs() < 1e-11, "{at} {found_value}");
                        assert!(damping == 0.0 || (found.time.0[lane] - time).abs() < 1e-5);
                    }
                }
            }
        }
    }
}

#[test]
fn a_lane_does_not_depend_on_its_neighbors() {
    let mut draws = Draws(7);
    let motions: Vec<_> =
        (0..8).map(|i| Motion::drawn(6, 0.01 * f64::from(1 + i), &mut draws)).collect();
    let isa = instruction_set().unwrap();
    let (together, _) = solved(isa, &motions, 2.0);
    for (lane, motion) in motions.iter().enumerate() {
        let (alone, _) = solved(isa, std::slice::from_ref(motion), 2.0);
        for output in 0..OUTPUTS {
            for (a, b) in [
                (together.max(output), alone.max(output)),
                (together.min(output), alone.min(output)),
            ] {
                assert_eq!(a.value.0[lane].to_bits(), b.value.0[0].to_bits());
                assert_eq!(a.time.0[lane].to_bits(), b.time.0[0].to_bits());
            }
        }
    }
}

#[test]
fn growth_and_endless_undamped_motion_are_left_to_the_caller() {
    let mut draws = Draws(3);
    let mut motions: Vec<_> = (0..3).map(|_| Motion::drawn(6, 0.05, &mut draws)).collect();
    motions[1].roots[2].re = 0.1;
    motions[2].roots.iter_mut().for_each(|s| s.re = 0.0);
    let (_, sound) = solved(instruction_set().unwrap(), &motions, 1e4);
    assert_eq!(sound[..3], [true, false, false]);
}
