//! How much friction do the feet need so that the whole set does not slide or turn?
//!
//! Feet at r_i press the floor with N_i >= 0 and together pass on the horizontal force H and the
//! yaw moment M. They hold with a coefficient mu if there are friction forces f_i, |f_i| <= mu N_i,
//! with sum f_i = H and sum r_i x f_i = M. The least such mu is
//!
//! mu = max over sliding motions (v, w) of (H . v + M w) / sum N_i |v + w e_z x r_i|,
//!
//! the duality of the limit surface: power of the load over the power that friction can take. A
//! load without moment about its center of pressure gives |H| / sum N.
//!
//! Assumption: before the set moves, feet that slip pass their share on to those that still hold
//! (the machine is rigid beside its feet); the vertical loads are those computed, and a foot that
//! would pull carries nothing and holds nothing.
//!
//! Solved on the slice of motions (v, w) with unit power, where the denominator is a sum of
//! lengths, which is convex: Newton, after its kinks (a foot as the center of rotation) have been
//! tried for the optimum.
//!
//! Source: limit surface after S. Goyal, A. Ruina, J. Papadopoulos, Wear 143 (1991), p. 307
//! (from memory); the dual form is that of plastic limit analysis (textbook).

use nalgebra::{Matrix2, Matrix2x3, Matrix3x2, Vector2, Vector3};

/// Decrement of Newton below which the denominator is found.
const CLOSE: f64 = 1e-14;

/// A foot seen from above: position (m) and what it presses with (N, not negative).
pub type Pressed = (Vector2<f64>, f64);

/// One foot on the slice: |a + b s| is its sliding speed.
struct Slider {
    load: f64,
    a: Vector2<f64>,
    b: Matrix2<f64>,
}

/// Least coefficient of friction at which the feet hold a horizontal force (N) and a yaw moment
/// (N m, about the origin of the positions); infinite where no friction does.
pub fn friction_needed(feet: &[Pressed], force: Vector2<f64>, yaw: f64) -> f64 {
    let total: f64 = feet.iter().map(|f| f.1).sum();
    if force.norm() == 0.0 && yaw == 0.0 {
        return 0.0;
    }
    if total <= 0.0 {
        return f64::INFINITY;
    }
    let center = center_of_pressure(feet);
    let length = spread(feet, &center);
    let yaw = yaw - center.perp(&force);
    if length == 0.0 {
        // One point cannot hold a moment.
        let rounding = 1e-12 * force.norm() * center.norm();
        return if yaw.abs() > rounding { f64::INFINITY } else { force.norm() / total };
    }
    let load = Vector3::new(force.x, force.y, yaw / length);
    let size = load.norm();
    let unit = load / size;
    let sliders = sliders(feet, &center, length, &unit);
    size / least(&sliders, total)
}

/// Mean position of the feet, by their loads, m.
pub fn center_of_pressure(feet: &[Pressed]) -> Vector2<f64> {
    let total: f64 = feet.iter().map(|f| f.1).sum();
    feet.iter().map(|(r, n)| r * (n / total)).sum()
}

/// Root mean square distance of the loads from a point, m; zero if it is rounding.
fn spread(feet: &[Pressed], center: &Vector2<f64>) -> f64 {
    let total: f64 = feet.iter().map(|f| f.1).sum();
    let square: f64 = feet.iter().map(|(r, n)| (r - center).norm_squared() * n / total).sum();
    let far = feet.iter().filter(|f| f.1 > 0.0).map(|f| f.0.norm()).fold(0.0, f64::max);
    if square.sqrt() > 1e-9 * far { square.sqrt() } else { 0.0 }
}

/// The feet that press on the slice q = unit + E s of motions (v_x, v_y, length w) of unit power.
fn sliders(
    feet: &[Pressed],
    center: &Vector2<f64>,
    length: f64,
    unit: &Vector3<f64>,
) -> Vec<Slider> {
    let across = slice(unit);
    let pressed = feet.iter().filter(|f| f.1 > 0.0);
    pressed
        .map(|(r, load)| {
            let at = (r - center) / length;
            let motion = Matrix2x3::new(1.0, 0.0, -at.y, 0.0, 1.0, at.x);
            Slider { load: *load, a: motion * unit, b: motion * across }
        })
        .collect()
}

/// Two unit vectors across a unit vector and each other.
fn slice(unit: &Vector3<f64>) -> Matrix3x2<f64> {
    let least = unit.abs().imin();
    let first = unit.cross(&Vector3::ith(least, 1.0)).normalize();
    Matrix3x2::from_columns(&[first, unit.cross(&first)])
}

fn phi(sliders: &[Slider], s: &Vector2<f64>) -> f64 {
    sliders.iter().map(|f| f.load * (f.a + f.b * s).norm()).sum()
}

/// Gradient of the terms of phi other than those that stand still at s.
fn gradient(sliders: &[Slider], s: &Vector2<f64>, still: f64) -> Vector2<f64> {
    let one = |f: &Slider| {
        let speed = f.a + f.b * s;
        let size = speed.norm();
        if size > still { f.b.tr_mul(&speed) * (f.load / size) } else { Vector2::zeros() }
    };
    sliders.iter().map(one).sum()
}

/// Least phi.
fn least(sliders: &[Slider], total: f64) -> f64 {
    let mut start = Vector2::zeros();
    let mut best = phi(sliders, &start);
    for foot in sliders {
        // Where this foot stands still; nowhere on the slice if the load has no moment about it.
        let Some(inverse) = foot.b.try_inverse() else { continue };
        let s = -(inverse * foot.a);
        let here = phi(sliders, &s);
        if !(here.is_finite() && here <= best) {
            continue;
        }
        (best, start) = (here, s);
        let still = 1e-12 * (1.0 + s.norm());
        let held: f64 =
            sliders.iter().filter(|f| (f.a + f.b * s).norm() <= still).map(|f| f.load).sum();
        let pull = inverse.tr_mul(&gradient(sliders, &s, still));
        if pull.norm() <= held {
            return here;
        }
        // Off the kink, the way that falls; the kinks are then out of reach of a descent.
        let way = -(inverse * pull / pull.norm());
        let mut step = s.norm().max(1.0);
        while step > 1e-15 * s.norm().max(1.0) {
            let tried = s + way * step;
            let value = phi(sliders, &tried);
            if value < best {
                (best, start) = (value, tried);
                break;
            }
            step *= 0.5;
        }
    }
    newton(sliders, start, best, total)
}

/// Descent from a place lower than every kink.
fn newton(sliders: &[Slider], start: Vector2<f64>, value: f64, total: f64) -> f64 {
    let (mut s, mut best) = (start, value);
    for _ in 0..200 {
        let g = gradient(sliders, &s, 0.0);
        let mut hessian = Matrix2::zeros();
        for f in sliders {
            let speed = f.a + f.b * s;
            let size = speed.norm();
            if size > 0.0 {
                let side = f.b.tr_mul(&Vector2::new(-speed.y, speed.x)) / size;
                hessian += side * side.transpose() * (f.load / size);
            }
        }
        // Flat directions (feet in a row) get a little of the others' curvature.
        let ridge = 1e-14 * (hessian.trace() + total);
        let step = (hessian + Matrix2::identity() * ridge).try_inverse().map(|h| -(h * g));
        let Some(step) = step.filter(|d| d.dot(&g) < 0.0) else { break };
        let fall = -step.dot(&g);
        if fall <= CLOSE * best.max(1e-300) {
            break;
        }
        let mut part = 1.0;
        loop {
            let tried = s + step * part;
            let value = phi(sliders, &tried);
            if value < best - 1e-4 * part * fall {
                (s, best) = (tried, value);
                break;
            }
            part *= 0.5;
            if part < 1e-12 {
                return best;
            }
        }
    }
    best
}

/// How much the friction needed can change within a slack of its inputs: with `needed` at the
/// inputs, no inputs within need more than the answer.
pub fn friction_within(
    feet: &[Pressed],
    needed: f64,
    force_slack: f64,
    yaw_slack: f64,
    load_slack: &[f64],
) -> f64 {
    // The motion of any foot is a mean of those of two others, turned: v_j = a v_p + (1 - a) v_q.
    let Some(p) = (0..feet.len()).max_by(|&a, &b| feet[a].1.total_cmp(&feet[b].1)) else {
        return f64::INFINITY;
    };
    let others = (0..feet.len()).filter(|&q| q != p && (feet[q].0 - feet[p].0).norm() > 0.0);
    let moment = |q: usize| feet[q].1 * (feet[q].0 - feet[p].0).norm();
    let Some(q) = others.max_by(|&a, &b| moment(a).total_cmp(&moment(b))) else {
        return f64::INFINITY;
    };
    let between = feet[p].0 - feet[q].0;
    let weights = |at: &Vector2<f64>| [(at - feet[q].0).norm(), (at - feet[p].0).norm()];
    let distance = between.norm();
    let mut lost = [0.0, 0.0];
    for ((at, _), slack) in feet.iter().zip(load_slack) {
        let w = weights(at);
        (0..2).for_each(|i| lost[i] += slack * w[i] / distance);
    }
    let origin = weights(&Vector2::zeros());
    let added = [0, 1].map(|i| (force_slack * origin[i] + yaw_slack) / distance);
    let over = |x: [f64; 2]| (x[0] / feet[p].1).max(x[1] / feet[q].1);
    let left = 1.0 - over(lost);
    if left > 0.0 { (needed + over(added)) / left } else { f64::INFINITY }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(loads: [f64; 4]) -> Vec<Pressed> {
        let corners = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)];
        corners.iter().zip(loads).map(|(&(x, y), n)| (Vector2::new(x, y), n)).collect()
    }

    #[test]
    fn a_force_through_the_center_of_pressure_needs_its_ratio_to_the_load() {
        let mu = friction_needed(&square([1e4; 4]), Vector2::new(3e3, 4e3), 0.0);
        assert!((mu - 0.125).abs() < 1e-15, "{mu}");
    }

    #[test]
    fn a_pure_yaw_on_equal_feet_on_a_circle_needs_moment_over_load_times_radius() {
        // About the middle every foot slides at w sqrt 2: M = mu N sqrt 2.
        let mu = friction_needed(&square([1e4; 4]), Vector2::zeros(), 4e3);
        assert!((mu - 4e3 / (4e4 * 2f64.sqrt())).abs() < 1e-14, "{mu}");
    }

    #[test]
    fn one_heavy_foot_is_the_center_of_rotation() {
        // Turning about the heavy foot, the light ones at 2, 2 and 2 sqrt 2 hold the moment.
        let feet = square([1e6, 1e3, 1e3, 1e3]);
        let about = Vector2::new(1.0, 1.0);
        let force = Vector2::new(50.0, 0.0);
        let moment_about_it = 800.0;
        let yaw = moment_about_it + about.perp(&force);
        let mu = friction_needed(&feet, force, yaw);
        assert!((mu - 800.0 / (1e3 * (4.0 + 8f64.sqrt()))).abs() < 1e-14, "{mu}");
    }

    #[test]
    fn one_foot_alone_holds_no_moment() {
        let feet = [(Vector2::new(1.0, 0.0), 1e4)];
        assert_eq!(friction_needed(&feet, Vector2::new(1e3, 0.0), 0.0), 0.1);
        assert_eq!(friction_needed(&feet, Vector2::new(1e3, 0.0), 5.0), f64::INFINITY);
        assert_eq!(friction_needed(&feet, Vector2::zeros(), 0.0), 0.0);
        assert_eq!(friction_needed(&square([0.0; 4]), Vector2::x(), 0.0), f64::INFINITY);
    }

    #[test]
    fn two_feet_share_a_side_force_by_the_lever() {
        // 3 and 1 kN wanted of feet that press with 10 kN each: 0.3.
        let feet = [(Vector2::new(0.0, 0.0), 1e4), (Vector2::new(4.0, 0.0), 1e4)];
        let mu = friction_needed(&feet, Vector2::new(0.0, 4e3), 4e3);
        assert!((mu - 0.3).abs() < 1e-14, "{mu}");
    }
}
