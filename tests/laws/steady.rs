//! Steady running: the sum of harmonics is what a long transient comes to, forces balance, an in-line
//! crank knows no odd harmonic, meetings are where the amplitude peaks.

use nalgebra::{DVector, Vector3};
use num_complex::Complex64;
use std::f64::consts::TAU;
use underfoot::Error;
use underfoot::analysis::transient::{ShockOptions, shock};
use underfoot::analysis::{steady, stroke_rate_map};
use underfoot::excitation::slide::{Crank, Rotation};
use underfoot::excitation::{Segment, SlideDrive};
use underfoot::installation::Installation;
use underfoot::law::{Dynamic, Zener};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::wrench_transfer;

fn installation(zener: bool) -> Installation {
    let inertia = nalgebra::Matrix3::new(9e3, -2e2, 3e2, -2e2, 7e3, 1e2, 3e2, 1e2, 6e3);
    let body = RigidBody::new(12e3, Vector3::new(0.03, -0.05, 1.2), inertia).unwrap();
    let mount = |x: f64, y: f64, k: f64| {
        let at = Vector3::new(x, y, 0.1);
        let mount = Mount::new(at, [0.6 * k, 0.5 * k, k]).unwrap().with_damping([2e4, 2e4, 3e4]);
        let mount = mount.unwrap();
        if !zener {
            return mount;
        }
        let law = Dynamic::Zener(Zener::new(k, 0.5 * k, k / 90.0).unwrap());
        mount.with_dynamic([None, None, Some(law)]).unwrap()
    };
    let mounts = vec![
        mount(-1.1, -0.8, 2.2e6),
        mount(1.0, -0.9, 2.6e6),
        mount(-1.0, 0.8, 2.4e6),
        mount(1.1, 0.9, 2.3e6),
    ];
    Installation::new(body, mounts).unwrap()
}

fn drive() -> SlideDrive {
    let mut drive = SlideDrive::crank(700.0, Crank::new(0.06, 0.25, 0.02).unwrap()).unwrap();
    drive.rod_mass = 120.0;
    drive.crank_unbalance = 4.0;
    drive.at = Vector3::new(0.2, -0.1, 2.3);
    drive.checked().unwrap()
}

#[test]
fn the_long_transient_comes_to_the_sum_of_harmonics() {
    for zener in [false, true] {
        let linear = installation(zener).system().linear();
        let (spm, order) = (143.0, 6);
        let (drive, omega) = (drive(), spm * TAU / 60.0);
        let run = steady(&linear, &drive, spm, Some(order)).unwrap();
        let wrench = drive.harmonics(spm, order).unwrap();
        let transfer = wrench_transfer(&drive.at, &linear.reference);
        let (periods, per_period) = (60, 16);
        let period = TAU / omega;
        let dt = period / f64::from(per_period);
        let mut last = vec![[0.0; 6]; 5];
        // One transient for each axis of the wrench, from rest; the load ends after the last sample.
        for axis in 0..6 {
            let waves: Vec<_> = (1..=order)
                .map(|n| (wrench[n][axis], Complex64::new(0.0, n as f64 * omega)))
                .filter(|(w, _)| w.norm() > 0.0)
                .collect();
            if waves.is_empty() {
                continue;
            }
            let end = f64::from(periods) * period;
            let load = Segment { start: 0.0, end, constant: 0.0, slope: 0.0, exponentials: waves };
            let column = transfer.column(axis);
            let direction = DVector::from_fn(linear.size(), |i, _| column[i]);
            let options =
                ShockOptions { duration: Some(end), dt: Some(dt), ..ShockOptions::default() };
            let found = shock(&linear, &[load], &direction, &options).unwrap();
            for (back, sum) in last.iter_mut().enumerate() {
                let row = (periods * per_period - 3 - 3 * back as i32) as usize;
                for (i, sum) in sum.iter_mut().enumerate() {
                    *sum += found.displacement[(row, i)];
                }
            }
        }
        let scale: Vec<f64> = (0..6).map(|i| run.at(&run.center).range()[i].peak()).collect();
        for (back, sum) in last.iter().enumerate() {
            let step = f64::from(-3 - 3 * back as i32) * dt;
            for i in 0..6 {
                let expected: f64 = (0..order)
                    .map(|n| {
                        let turn = Complex64::from_polar(1.0, (n + 1) as f64 * omega * step);
                        (run.displacement[(n, i)] * turn).re
                    })
                    .sum();
                let off = (sum[i] - expected).abs();
                assert!(off < 1e-9 * scale[i], "zener {zener} {i}: {off:e} of {:e}", scale[i]);
            }
        }
    }
}

#[test]
fn floor_force_balances_inertia_and_drive_at_every_harmonic() {
    let installation = installation(false);
    let linear = installation.system().linear();
    let run = steady(&linear, &drive(), 143.0, None).unwrap();
    for n in 0..run.harmonic.len() {
        let omega = (n + 1) as f64 * 143.0 * TAU / 60.0;
        let x = DVector::from_fn(6, |i, _| run.displacement[(n, i)]);
        let inertia = linear.m.map(Complex64::from) * x * Complex64::from(omega * omega);
        let largest = run.applied.row(n).iter().map(|c| c.norm()).fold(0.0, f64::max);
        for i in 0..6 {
            let sum = run.applied[(n, i)] + inertia[i] - run.ground_wrench[(n, i)];
            assert!(sum.norm() < 1e-11 * largest, "harmonic {n} axis {i}");
        }
        // The mounts' forces add up to the floor's.
        for i in 0..3 {
            let sum: Complex64 = (0..4).map(|m| run.mount_force[(n, m, i)]).sum();
            assert!((sum - run.ground_wrench[(n, i)]).norm() < 1e-12 * largest);
        }
    }
}

#[test]
fn an_in_line_crank_has_no_odd_harmonic_above_the_first() {
    let linear = installation(false).system().linear();
    let crank = Crank::from_stroke(0.12, 4.0, 0.0).unwrap();
    let run = steady(&linear, &SlideDrive::crank(700.0, crank).unwrap(), 90.0, Some(11)).unwrap();
    for n in [3, 5, 7, 9, 11] {
        assert!(run.displacement.row(n - 1).iter().all(|x| *x == Complex64::ZERO));
        assert!(run.mount_force.row_is_zero(n - 1));
    }
    assert!(run.displacement.row(1).iter().any(|x| x.norm() > 0.0));
}

trait RowIsZero {
    fn row_is_zero(&self, n: usize) -> bool;
}

impl RowIsZero for ndarray::Array3<Complex64> {
    fn row_is_zero(&self, n: usize) -> bool {
        self.index_axis(ndarray::Axis(0), n).iter().all(|x| *x == Complex64::ZERO)
    }
}

fn principal(mass: f64, height: f64, moments: [f64; 3]) -> RigidBody {
    let inertia = nalgebra::Matrix3::from_diagonal(&Vector3::from(moments));
    RigidBody::new(mass, Vector3::new(0.0, 0.0, height), inertia).unwrap()
}

#[test]
fn turning_the_other_way_mirrors_a_symmetric_machine() {
    let body = principal(12e3, 1.2, [9e3, 7e3, 6e3]);
    let mount = |x: f64, y: f64| {
        let at = Vector3::new(x, y, 0.0);
        Mount::new(at, [1e6, 1e6, 2e6]).unwrap().with_damping([1e4; 3]).unwrap()
    };
    let mounts = vec![mount(-1.0, -1.0), mount(1.0, -1.0), mount(-1.0, 1.0), mount(1.0, 1.0)];
    let linear = Installation::new(body, mounts).unwrap().system().linear();
    let mut drive = SlideDrive::crank(700.0, Crank::new(0.06, 0.25, 0.0).unwrap()).unwrap();
    drive.crank_unbalance = 10.0;
    drive.at.z = 2.0;
    let right = steady(&linear, &drive, 120.0, None).unwrap();
    drive.rotation = Rotation::Left;
    let left = steady(&linear, &drive, 120.0, None).unwrap();
    for n in 0..16 {
        for (i, sign) in [(0, -1.0), (2, 1.0), (4, -1.0)] {
            let mirrored = right.displacement[(n, i)] * sign;
            assert!((left.displacement[(n, i)] - mirrored).norm() <= 1e-12 * mirrored.norm());
        }
    }
    assert!(right.displacement[(0, 0)].norm() > 1e-6, "the unbalance moves it sideways");
}

#[test]
fn meetings_stand_where_the_amplitude_peaks_and_are_ranked_by_it() {
    let linear = installation(false).system().linear();
    let rates: Vec<f64> = (0..200).map(|i| 20.0 + f64::from(i) * 2.0).collect();
    let point = Vector3::new(1.0, 0.8, 2.0);
    let map = stroke_rate_map(&linear, &drive(), &rates, Some(16), Some(point)).unwrap();
    assert!(map.meetings.len() > 6);
    assert!(map.meetings.windows(2).all(|m| m[0].amplitude >= m[1].amplitude));
    for meeting in &map.meetings {
        let at = meeting.harmonic as f64 * meeting.stroke_rate_spm / 60.0;
        assert!((at / meeting.frequency - 1.0).abs() < 1e-12, "the lines cross");
        let run = steady(&linear, &drive(), meeting.stroke_rate_spm, Some(16)).unwrap();
        let motion = run.at(&point);
        let own: f64 =
            (0..3).map(|i| motion.displacement[(meeting.harmonic - 1, i)].norm_sqr()).sum();
        assert!((own.sqrt() / meeting.amplitude - 1.0).abs() < 1e-10);
        let peak = motion.range()[..3].iter().map(|r| r.peak()).fold(0.0, f64::max);
        assert!((peak / meeting.peak_motion() - 1.0).abs() < 1e-10);
        assert!((meeting.worst_gain * (1.0 - meeting.carry_over) - 1.0).abs() < 1e-12);
        assert!(meeting.gain <= meeting.worst_gain * (1.0 + 1e-12));
    }
    // The first meeting is a place where the curve of the peak motion has a bump.
    let first = &map.meetings[0];
    let near = rates.iter().position(|&r| r >= first.stroke_rate_spm).unwrap();
    let peaks = map.peak_motion();
    let at = |i: usize| peaks.row(i).iter().copied().fold(0.0, f64::max);
    assert!(at(near) > at(near.saturating_sub(12)) || at(near) > at((near + 12).min(199)));
}

#[test]
fn the_map_is_the_steady_response_at_each_rate() {
    for zener in [false, true] {
        let linear = installation(zener).system().linear();
        let rates = [31.0, 77.0, 78.0, 155.0, 400.0];
        let map = stroke_rate_map(&linear, &drive(), &rates, Some(9), None).unwrap();
        for (r, &rate) in rates.iter().enumerate() {
            let run = steady(&linear, &drive(), rate, Some(9)).unwrap();
            for n in 0..9 {
                for i in 0..3 {
                    let scale = run.displacement.iter().map(|x| x.norm()).fold(0.0, f64::max);
                    let off = (map.motion[(r, n, i)] - run.displacement[(n, i)]).norm();
                    assert!(off < 1e-13 * scale, "{off:e}");
                    let scale = run.ground_wrench.iter().map(|x| x.norm()).fold(0.0, f64::max);
                    let off = (map.floor_force[(r, n, i)] - run.ground_wrench[(n, i)]).norm();
                    assert!(off < 1e-13 * scale, "{off:e}");
                }
            }
            let horizontal = run.horizontal_peak().value;
            assert!(horizontal >= run.ground_range()[0].peak() * (1.0 - 1e-12));
        }
    }
}

#[test]
fn an_undamped_resonance_is_an_error_that_names_rate_and_harmonic() {
    let body = principal(1000.0, 0.0, [100.0; 3]);
    // 4 k / m = (2 pi 2 Hz)^2 exactly in none of the bits, so the stiffness is taken from omega.
    let omega = 2.0 * 60.0 * TAU / 60.0;
    let k = 1000.0 * omega * omega / 4.0;
    let mount = |x: f64, y: f64| Mount::new(Vector3::new(x, y, 0.0), [k; 3]).unwrap();
    let mounts = vec![mount(-1.0, -1.0), mount(1.0, -1.0), mount(-1.0, 1.0), mount(1.0, 1.0)];
    let linear = Installation::new(body, mounts).unwrap().system().linear();
    let drive = SlideDrive::crank(50.0, Crank::from_stroke(0.1, 4.0, 0.0).unwrap()).unwrap();
    let error = steady(&linear, &drive, 60.0, None).unwrap_err();
    let text = error.to_string();
    assert!(matches!(error, Error::Invalid { .. }), "{text}");
    assert!(text.contains("stroke_rate_spm = 60 strokes per minute (harmonic 2: 2 Hz)"), "{text}");
    let error = stroke_rate_map(&linear, &drive, &[50.0, 60.0], None, None).unwrap_err();
    assert!(error.to_string().contains("stroke_rates_spm[1] = 60 strokes"), "{error}");
    // Elsewhere the undamped machine has an answer, and says what it lacks.
    let map = stroke_rate_map(&linear, &drive, &[50.0, 61.0], None, None).unwrap();
    assert!(map.meetings.is_empty() && map.warnings[0].contains("modes without damping"));
}
