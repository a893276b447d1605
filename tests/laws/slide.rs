//! Slide drives: kinematics are consistent, momentum is balanced, harmonics are the motion.

use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use underfoot::excitation::SlideDrive;
use underfoot::excitation::slide::{
    Branch, CounterSlide, Crank, CrankSide, Link, Profile, Rotation, Shaft,
};

fn link() -> Link {
    Link {
        crank_radius: 0.20,
        coupler_length: 0.75,
        rocker_length: 0.60,
        pivot: [0.70, 0.15],
        branch: Branch::Left,
        coupler_point: [0.45, -0.22],
        rod_length: 0.95,
        offset: 0.12,
        crank_pin_mass: 180.0,
        rocker_pin_mass: 240.0,
    }
}

/// Slide of a crank driven to and fro by a servo: a swing of 140 degrees about the bottom with a dwell
/// at the top, from smooth pieces.
fn pendulum(rows: usize) -> (Vec<f64>, Vec<f64>) {
    let crank = SlideDrive::crank(1.0, Crank::from_stroke(0.3, 4.0, 0.0).unwrap()).unwrap();
    let at = |i: usize| {
        let x = i as f64 / rows as f64;
        // Still for the first tenth, then one cycloidal swing.
        let tau = ((x - 0.1) / 0.9).max(0.0);
        let swing = tau - (TAU * tau).sin() / TAU;
        let angle = PI + 140f64.to_radians() * (2.0 * swing - 1.0);
        (TAU * x, crank.position(angle))
    };
    (0..=rows).map(at).unzip()
}

fn drives() -> Vec<(&'static str, SlideDrive)> {
    let slide = |crank: Crank| SlideDrive::crank(1500.0, crank).unwrap();
    let mut below = Crank::new(0.1, 0.5, -0.03).unwrap();
    below.side = CrankSide::Below;
    let (angle, height) = pendulum(180);
    vec![
        ("in line", slide(Crank::from_stroke(0.2, 4.5, 0.0).unwrap())),
        ("offset", slide(Crank::new(0.1, 0.42, 0.05).unwrap())),
        ("below", slide(below)),
        ("link", SlideDrive::link(1500.0, link()).unwrap()),
        ("pendulum", {
            SlideDrive::profile(1500.0, Profile::from_angle(&angle, &height).unwrap()).unwrap()
        }),
    ]
}

/// First and second derivative by central differences of order eight.
fn differences(f: impl Fn(f64) -> f64, at: f64, h: f64) -> (f64, f64) {
    let first = [4.0 / 5.0, -1.0 / 5.0, 4.0 / 105.0, -1.0 / 280.0];
    let second = [8.0 / 5.0, -1.0 / 5.0, 8.0 / 315.0, -1.0 / 560.0];
    let (mut d, mut dd) = (0.0, -205.0 / 72.0 * f(at));
    for i in 0..4 {
        let step = (i + 1) as f64 * h;
        let (plus, minus) = (f(at + step), f(at - step));
        d += first[i] * (plus - minus);
        dd += second[i] * (plus + minus);
    }
    (d / h, dd / (h * h))
}

#[test]
fn speed_and_acceleration_are_the_derivatives_of_the_position() {
    for (name, drive) in drives() {
        let (omega, alpha) = (3.1, -4.4);
        // Between rows a table is one cubic, for which the differences are exact.
        let h = if name == "pendulum" { 0.001 } else { 0.01 };
        for degrees in [3.0f64, 61.0, 149.0, 215.0, 301.0] {
            let angle = degrees.to_radians();
            let time = h / omega;
            let path = |t: f64| drive.position(angle + omega * t + alpha * t * t / 2.0);
            let (v, a) = differences(path, 0.0, time);
            let scale = drive.stroke() * omega;
            let (v0, a0) = (drive.velocity(angle, omega), drive.acceleration(angle, omega, alpha));
            assert!((v - v0).abs() < 1e-10 * scale, "{name} at {degrees}: {v} {v0}");
            assert!((a - a0).abs() < 1e-7 * scale * omega, "{name} at {degrees}: {a} {a0}");
        }
    }
}

#[test]
fn the_slide_is_at_rest_at_its_dead_centers_and_the_stroke_lies_between() {
    for (name, drive) in drives() {
        let (top, bottom) = (drive.top_dead_center(), drive.bottom_dead_center());
        let stroke = drive.stroke();
        for angle in [top, bottom] {
            assert!(drive.velocity(angle, 1.0).abs() < 1e-9 * stroke, "{name}");
        }
        assert!(
            drive.position(bottom).abs() < 1e-14 && (drive.position(top) - stroke).abs() < 1e-14
        );
        for i in 0..3600 {
            let z = drive.position(f64::from(i) * TAU / 3600.0);
            assert!((-1e-15..=stroke + 1e-15).contains(&z), "{name} leaves its stroke: {z}");
        }
    }
}

#[test]
fn a_stroke_with_offset_is_met_to_the_last_bits() {
    for (q, e) in [(3.0, 0.02), (5.0, -0.1), (1.5, 0.03), (8.0, 0.25)] {
        let crank = Crank::from_stroke(0.3, q, e).unwrap();
        assert!((crank.stroke() - 0.3).abs() < 1e-15 * 4.0, "{q} {e}: {}", crank.stroke());
        assert!((crank.rod_length / crank.radius - q).abs() < 1e-14);
    }
    assert_eq!(Crank::from_stroke(0.3, 4.0, 0.0).unwrap().radius, 0.15);
}

#[test]
fn the_angle_at_a_height_leads_to_that_height_on_the_way_down() {
    for (name, drive) in drives() {
        for share in [0.0, 0.05, 0.5, 0.93, 1.0] {
            let height = share * drive.stroke();
            let angle = drive.angle_above_bottom(height).unwrap();
            assert!((drive.position(angle) - height).abs() < 1e-12, "{name} at {share}");
            assert!(angle <= drive.bottom_dead_center() && drive.velocity(angle, 1.0) < 1e-9);
        }
    }
}

/// Independent of the crate: pins by trigonometry, rod as a rigid body with center of mass, inertia and
/// an angle.
fn crank_momentum(drive: &SlideDrive, crank: &Crank, theta: &dyn Fn(f64) -> f64) -> [f64; 3] {
    let (r, l, e) = (crank.radius, crank.rod_length, crank.offset);
    let side = if crank.side == CrankSide::Above { -1.0 } else { 1.0 };
    let pin = |t: f64| [r * theta(t).sin() - e, r * theta(t).cos()];
    // Angle of the rod from the vertical: its end is at u = 0.
    let lean = |t: f64| (-pin(t)[0] / l).asin();
    let slide = |t: f64| [0.0, pin(t)[1] + side * l * lean(t).cos()];
    let b = drive.rod_center;
    let rod = |t: f64| [0, 1].map(|i| (1.0 - b) * pin(t)[i] + b * slide(t)[i]);
    let unbalance = |t: f64| [theta(t).sin() - e, theta(t).cos()];
    let counter = drive.counter_slide.as_ref();
    let balance = |t: f64| {
        let c = &counter.unwrap().crank;
        let reach = (c.rod_length.powi(2) - (c.radius * theta(t).sin()).powi(2)).sqrt();
        [-e, -c.radius * theta(t).cos() - side * reach]
    };
    let mut sum = [0.0; 3];
    let mut add = |mass: f64, path: &dyn Fn(f64) -> [f64; 2]| {
        let h = 2e-3;
        let a = [0, 1].map(|i| differences(|t| path(t)[i], 0.0, h).1);
        sum[0] -= mass * a[0];
        sum[1] -= mass * a[1];
        sum[2] -= mass * (path(0.0)[1] * a[0] - path(0.0)[0] * a[1]);
    };
    add(drive.mass + drive.upper_die_mass, &slide);
    add(drive.rod_mass, &rod);
    // The unbalance as one kilogram-meter at one meter, without its rotor's own moment about the
    // shaft, which speeds up with the crank: m r^2 alpha.
    let u = drive.crank_unbalance - drive.rotating_balance;
    add(u, &unbalance);
    if let Some(counter) = counter {
        add(counter.mass, &balance);
    }
    sum[2] += u * differences(theta, 0.0, 2e-3).1;
    // Right-handed from z toward u: the rod's angle in that sense is that of its vector.
    let turning = differences(|t| side * lean(t), 0.0, 2e-3).1;
    sum[2] -= drive.rod_inertia.unwrap() * turning;
    sum
}

#[test]
fn momentum_of_all_moving_parts_balances_the_wrench_on_the_frame() {
    for (offset, side) in
        [(0.0, CrankSide::Above), (0.06, CrankSide::Above), (-0.04, CrankSide::Below)]
    {
        let mut crank = Crank::new(0.1, 0.42, offset).unwrap();
        crank.side = side;
        let mut drive = SlideDrive::crank(1300.0, crank.clone()).unwrap();
        drive.upper_die_mass = 210.0;
        drive.rod_mass = 260.0;
        drive.rod_center = 0.37;
        drive.rod_inertia = Some(7.3);
        drive.crank_unbalance = 31.0;
        drive.rotating_balance = 12.0;
        let mut counter = Crank::new(0.07, 0.5, 0.0).unwrap();
        counter.side = side;
        drive.counter_slide = Some(CounterSlide { mass: 400.0, crank: counter });
        drive.counterbalance = 9000.0;
        let drive = drive.checked().unwrap();
        let (omega, alpha) = (5.2, 17.0);
        for degrees in [8.0f64, 77.0, 140.0, 222.0, 290.0] {
            let angle = degrees.to_radians();
            let theta = move |t: f64| angle + omega * t + alpha * t * t / 2.0;
            let [fu, fz, couple] = crank_momentum(&drive, &crank, &theta);
            let found = drive.inertia_wrench(angle, omega, alpha);
            for (found, expected) in [(found[0], fu), (found[2], fz), (found[4], couple)] {
                assert!(
                    (found - expected).abs() < 1e-6 * (fz.abs() + 1e3),
                    "{offset} {side:?} {degrees}: {found} {expected}"
                );
            }
            assert_eq!([found[1], found[3], found[5]], [0.0; 3]);
            // The same momentum as the crate's own, differenced in time.
            for i in [0, 2, 4] {
                let p = |t: f64| drive.momentum(theta(t), omega + alpha * t)[i];
                let rate = differences(p, 0.0, 2e-3).0;
                assert!((found[i] + rate).abs() < 1e-8 * (fz.abs() + 1e3), "{i}: {rate}");
            }
        }
    }
}

#[test]
fn a_link_drive_keeps_its_lengths_and_its_momentum() {
    let link = link();
    // Independent of the crate: rocker pin by Newton's method on the two distances.
    let slide = |theta: f64| {
        let a = [link.crank_radius * theta.sin(), link.crank_radius * theta.cos()];
        let mut b = [a[0] + 0.3, a[1] + 0.6];
        for _ in 0..50 {
            let [x, y] = [0, 1].map(|i| b[i] - a[i]);
            let [p, q] = [0, 1].map(|i| b[i] - link.pivot[i]);
            let f = x * x + y * y - link.coupler_length.powi(2);
            let g = p * p + q * q - link.rocker_length.powi(2);
            let det = 4.0 * (x * q - y * p);
            b[0] -= (f * 2.0 * q - g * 2.0 * y) / det;
            b[1] -= (g * 2.0 * x - f * 2.0 * p) / det;
        }
        let [x, y] = [0, 1].map(|i| (b[i] - a[i]) / link.coupler_length);
        let [along, across] = link.coupler_point;
        let d = [a[0] + along * x + across * y, a[1] + along * y - across * x];
        d[1] - (link.rod_length.powi(2) - (d[0] - link.offset).powi(2)).sqrt()
    };
    let mut drive = SlideDrive::link(1500.0, link.clone()).unwrap();
    drive.rod_mass = 200.0;
    let drive = drive.checked().unwrap();
    let level = slide(0.0) - drive.position(0.0);
    for degrees in 0..360 {
        let angle = f64::from(degrees).to_radians();
        assert!((slide(angle) - level - drive.position(angle)).abs() < 1e-13, "{degrees}");
        let found = drive.inertia_wrench(angle, 2.0, 3.0);
        for i in [0, 2, 4] {
            let p = |t: f64| drive.momentum(angle + 2.0 * t + 1.5 * t * t, 2.0 + 3.0 * t)[i];
            let rate = differences(p, 0.0, 2e-3).0;
            assert!((found[i] + rate).abs() < 1e-7 * 1500.0, "{i} at {degrees}: {rate}");
        }
    }
}

#[test]
fn harmonics_add_up_to_the_wrench() {
    for (name, mut drive) in drives() {
        if name != "pendulum" {
            drive.rod_mass = 310.0;
            drive.rod_inertia = Some(6.0);
            drive.crank_unbalance = 14.0;
        }
        let order = if name == "pendulum" { 4000 } else { 60 };
        let tolerance = if name == "pendulum" { 1e-4 } else { 1e-11 };
        let series = drive.harmonics(50.0, order).unwrap();
        for degrees in [0.0f64, 33.0, 178.0, 260.0] {
            let angle = degrees.to_radians();
            let wrench = drive.wrench(50.0, angle).unwrap();
            for i in 0..6 {
                let turn = |n: usize| Complex64::from_polar(1.0, n as f64 * angle);
                let sum: f64 = series.iter().enumerate().map(|(n, w)| (w[i] * turn(n)).re).sum();
                let scale = drive.slide_mass() * drive.radius() * 27.4;
                assert!((sum - wrench[i]).abs() < tolerance * scale, "{name} {i} {degrees}");
            }
        }
    }
}

#[test]
fn a_table_of_a_crank_has_the_harmonics_of_the_crank() {
    let crank = SlideDrive::crank(1.0, Crank::from_stroke(0.3, 4.0, 0.0).unwrap()).unwrap();
    let rows = 360;
    let step = 360.0 / f64::from(rows);
    let angle: Vec<f64> = (0..=rows).map(|i| f64::from(i) * step).collect();
    let height: Vec<f64> = angle.iter().map(|a| crank.position(a.to_radians())).collect();
    let turned: Vec<f64> = angle.iter().map(|a| a.to_radians()).collect();
    let by_angle = Profile::from_angle(&turned, &height).unwrap();
    let seconds: Vec<f64> = angle.iter().map(|a| a / 360.0 * 1.7).collect();
    let by_time = Profile::from_time(&seconds, &height).unwrap();
    let expected = crank.acceleration_coefficients(6).unwrap();
    for profile in [by_angle, by_time] {
        let drive = SlideDrive::profile(1.0, profile).unwrap();
        assert!((drive.stroke() - 0.3).abs() < 1e-9);
        let found = drive.acceleration_coefficients(6).unwrap();
        for n in 1..=6 {
            // A cubic spline's second derivative is off by h^2 n^4/12 at most.
            let h = step.to_radians();
            let allowed = h * h * (n * n) as f64 / 6.0 * expected[n].abs() + 1e-9;
            assert!((found[n] - expected[n]).abs() < allowed, "{n}: {} {}", found[n], expected[n]);
        }
    }
}

#[test]
fn a_counter_slide_that_mirrors_the_slide_leaves_nothing() {
    let crank = Crank::from_stroke(0.05, 5.0, 0.0).unwrap();
    let mut drive = SlideDrive::crank(600.0, crank.clone()).unwrap();
    drive.counter_slide = Some(CounterSlide { mass: 600.0, crank });
    let scale = 600.0 * 0.025;
    for w in drive.unit_harmonics(12).unwrap() {
        assert!(w.iter().all(|c| c.norm() < 1e-14 * scale));
    }
}

#[test]
fn a_counterweight_trades_vertical_force_for_horizontal() {
    let mut drive = SlideDrive::crank(600.0, Crank::from_stroke(0.05, 5.0, 0.0).unwrap()).unwrap();
    drive.rotating_balance = 600.0 * 0.025;
    drive.at.z = 2.0;
    let first = drive.unit_harmonics(2).unwrap()[1];
    assert!(first[2].norm() < 1e-14 * 15.0, "vertical first harmonic is gone");
    assert!((first[0].norm() - 15.0).abs() < 1e-12, "and stands across instead");
}

#[test]
fn sense_of_rotation_mirrors_and_a_pair_cancels() {
    let mut drive = SlideDrive::crank(600.0, Crank::new(0.1, 0.4, 0.03).unwrap()).unwrap();
    drive.rod_mass = 100.0;
    let right = drive.inertia_wrench(1.0, 3.0, 2.0);
    drive.rotation = Rotation::Left;
    let left = drive.inertia_wrench(1.0, 3.0, 2.0);
    assert_eq!([left[0], left[2], left[4]], [-right[0], right[2], -right[4]]);
    drive.rotation = Rotation::Pair;
    let pair = drive.inertia_wrench(1.0, 3.0, 2.0);
    assert_eq!([pair[0], pair[2], pair[4]], [0.0, right[2], 0.0]);
    // The shaft along x: u is toward -y, the couple about x.
    drive.rotation = Rotation::Right;
    drive.shaft = Shaft::X;
    let along = drive.inertia_wrench(1.0, 3.0, 2.0);
    assert_eq!([along[1], along[2], along[3]], [-right[0], right[2], right[4]]);
}

#[test]
fn the_counterbalance_loads_the_rod_and_not_the_frame() {
    let mut drive = SlideDrive::crank(600.0, Crank::from_stroke(0.2, 4.0, 0.0).unwrap()).unwrap();
    let before = drive.inertia_wrench(2.0, 6.0, 0.0);
    let force = drive.drive_force(2.0, 6.0, 9.81);
    drive.counterbalance = 7000.0;
    assert_eq!(drive.inertia_wrench(2.0, 6.0, 0.0), before);
    assert!((drive.drive_force(2.0, 6.0, 9.81) - force - 7000.0).abs() < 1e-9);
    let at_rest = drive.drive_force(0.3, 0.0, 9.81);
    assert!((at_rest - (7000.0 - 600.0 * 9.81)).abs() < 1e-9, "at rest it carries the rest");
}
