//! Where does a polynomial on 0..1 change sign?
//!
//! In the basis of Bernstein a polynomial has no more roots in the interval than its coefficients
//! change sign, and exactly one if they change once (variation diminishing, Descartes' rule). The
//! interval is halved by de Casteljau's scheme until each piece has none or one; that one is found
//! by Newton's method kept in its bracket. So no root is missed and none is counted twice; two that
//! are nearer than rounding are one touch without crossing.
//!
//! Source: textbook, e.g. G. Farin, Curves and Surfaces for CAGD (from memory).

/// Halvings of the interval; pieces are then as small as rounding.
const DEEPEST: usize = 48;
/// Steps of Newton's method with bisection.
const STEPS: usize = 80;

/// Value by Horner's scheme; coefficients by ascending power.
pub(super) fn value(c: &[f64], s: f64) -> f64 {
    c.iter().rev().fold(0.0, |sum, c| sum * s + c)
}

/// Derivative's coefficients.
pub(super) fn derivative(c: &[f64]) -> Vec<f64> {
    c.iter().enumerate().skip(1).map(|(k, c)| k as f64 * c).collect()
}

/// Every crossing of zero in 0 < s < 1, ascending, at most `most` of them.
pub(super) fn crossings(c: &[f64], most: usize) -> Vec<f64> {
    let rest: f64 = c.iter().skip(1).map(|c| c.abs()).sum();
    let mut found = Vec::new();
    if c.len() < 2 || c[0].abs() > rest {
        return found;
    }
    split(&bernstein(c), c, [0.0, 1.0], DEEPEST, most, &mut found);
    found
}

fn split(
    b: &[f64],
    c: &[f64],
    [low, high]: [f64; 2],
    depth: usize,
    most: usize,
    found: &mut Vec<f64>,
) {
    if found.len() >= most {
        return;
    }
    match variations(b) {
        0 => return,
        1 => {
            let root = bracketed(c, low, high);
            if root > 0.0 && found.last().is_none_or(|&last| root > last) {
                found.push(root);
            }
            return;
        }
        _ if depth == 0 => return,
        _ => {}
    }
    let (left, right) = halves(b);
    let middle = 0.5 * (low + high);
    split(&left, c, [low, middle], depth - 1, most, found);
    // A root on the cut itself is no change of sign within either half.
    let (before, after) = (left[left.len() - 2], right[1]);
    if right[0] == 0.0 && before * after < 0.0 && found.len() < most {
        found.push(middle);
    }
    split(&right, c, [middle, high], depth - 1, most, found);
}

/// b_i = sum over k <= i of C(i, k) / C(n, k) c_k.
fn bernstein(c: &[f64]) -> Vec<f64> {
    let n = c.len() - 1;
    let mut b: Vec<f64> = Vec::with_capacity(n + 1);
    for i in 0..=n {
        let (mut sum, mut ratio) = (0.0, 1.0);
        for (k, c) in c.iter().enumerate().take(i + 1) {
            sum += ratio * c;
            ratio *= (i - k) as f64 / (n - k).max(1) as f64;
        }
        b.push(sum);
    }
    b
}

fn variations(b: &[f64]) -> usize {
    let mut last = 0.0;
    let mut count = 0;
    for &x in b.iter().filter(|x| **x != 0.0) {
        count += usize::from(last * x < 0.0);
        last = x.signum();
    }
    count
}

fn halves(b: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let n = b.len();
    let mut row = b.to_vec();
    let (mut left, mut right) = (Vec::with_capacity(n), vec![0.0; n]);
    for level in 0..n {
        left.push(row[0]);
        right[n - 1 - level] = row[n - 1 - level];
        for i in 0..n - 1 - level {
            row[i] = 0.5 * (row[i] + row[i + 1]);
        }
    }
    (left, right)
}

/// The one root between two ends.
fn bracketed(c: &[f64], mut low: f64, mut high: f64) -> f64 {
    let slope = derivative(c);
    // The sign near the lower end: that end itself may be a root of a neighbor.
    let rises = value(c, high) > 0.0 || (value(c, high) == 0.0 && value(c, low) < 0.0);
    let mut s = 0.5 * (low + high);
    for _ in 0..STEPS {
        let y = value(c, s);
        if y == 0.0 {
            return s;
        }
        if (y > 0.0) == rises {
            high = s
        } else {
            low = s
        }
        let newton = s - y / value(&slope, s);
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - s).abs() <= f64::EPSILON * 0.25 * s.abs() || high - low <= f64::EPSILON * high {
            return next;
        }
        s = next;
    }
    s
}

#[cfg(test)]
mod tests {
    use super::*;

    fn product(roots: &[f64]) -> Vec<f64> {
        roots.iter().fold(vec![1.0], |c, r| {
            let mut out = vec![0.0; c.len() + 1];
            for (k, x) in c.iter().enumerate() {
                out[k] -= r * x;
                out[k + 1] += x;
            }
            out
        })
    }

    #[test]
    fn every_root_inside_is_found_and_none_outside() {
        let c = product(&[-0.3, 0.125, 0.1250001, 0.5, 0.9, 1.7]);
        let found = crossings(&c, 9);
        assert_eq!(found.len(), 4, "{found:?}");
        for (x, e) in found.iter().zip([0.125, 0.1250001, 0.5, 0.9]) {
            assert!((x - e).abs() < 1e-7, "{x} {e}");
        }
    }

    #[test]
    fn a_touch_is_no_crossing() {
        assert!(crossings(&product(&[0.4, 0.4, -2.0]), 9).len() != 1);
        assert_eq!(crossings(&[0.25 + 1e-9, -1.0, 1.0], 9), Vec::<f64>::new());
    }

    #[test]
    fn a_simple_root_comes_out_to_rounding() {
        // cos(2 s) by its series, zero at pi / 4.
        let mut c = vec![0.0; 25];
        let mut term = 1.0;
        for k in (0..25).step_by(2) {
            c[k] = term;
            term *= -4.0 / ((k + 1) * (k + 2)) as f64;
        }
        let found = crossings(&c, 1);
        assert!((found[0] - std::f64::consts::FRAC_PI_4).abs() < 2e-16);
    }
}
