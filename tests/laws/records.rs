//! Sampled records: what stands between the samples, and what is refused.

use approx::assert_relative_eq;
use std::f64::consts::TAU;
use underfoot::excitation::Record;

fn wave(rate: f64, turns: f64, seconds: f64) -> Record {
    let n = (rate * seconds).round() as usize;
    let values = (0..=n).map(|i| (TAU * turns * i as f64 / rate).sin()).collect();
    Record::new(1.0 / rate, values).unwrap()
}

#[test]
fn resampling_keeps_what_lies_within_the_band_exactly() {
    let coarse = wave(50.0, 7.0, 2.0);
    for rate in [500.0, 333.0, 75.0, 30.0] {
        let other = coarse.resampled(rate).unwrap();
        let count = (2.0 * rate).round();
        assert_eq!(other.values.len() as f64, count + 1.0);
        for (i, y) in other.values.iter().enumerate() {
            let t = i as f64 * other.interval;
            assert!((y - (TAU * 7.0 * t).sin()).abs() < 1e-12, "{rate} Hz at {t}");
        }
        assert!(other.notes[0].contains("Fourier"), "{:?}", other.notes);
    }
    // Beyond the band of the new rate nothing is left, nor folded back.
    let low = coarse.resampled(10.0).unwrap();
    assert!(low.values.iter().all(|y| y.abs() < 1e-12), "{:?}", low.values);
}

#[test]
fn a_straight_record_stays_straight_at_any_rate() {
    let line = Record::new(0.1, (0..11).map(|i| 3.0 + 0.5 * f64::from(i)).collect()).unwrap();
    for (i, y) in line.resampled(37.0).unwrap().values.iter().enumerate() {
        assert_relative_eq!(*y, 3.0 + 5.0 * i as f64 / 37.0, epsilon = 1e-12);
    }
}

#[test]
fn the_spline_of_a_displacement_is_a_floor_that_starts_from_rest() {
    // u = A (1 - cos w t): u'' = A w^2 cos w t; a spline through samples meets it to second order.
    let w = TAU * 2.0;
    let error = |rate: f64| {
        let n = rate as usize;
        let values = (0..=n).map(|i| 1.0 - (w * i as f64 / rate).cos()).collect();
        let record = Record::new(1.0 / rate, values).unwrap();
        let parts = record.spline_acceleration();
        let at = |t: f64| parts.iter().find(|s| s.end > t).unwrap().value(t);
        [0.0, 0.13, 0.3, 0.5].map(|t| (at(t) / (w * w) - (w * t).cos()).abs())
    };
    for (coarse, fine) in error(100.0).into_iter().zip(error(400.0)) {
        assert!(coarse < 2e-3 && fine < 2e-4, "{coarse:e} {fine:e}");
    }
}

#[test]
fn a_rate_that_is_too_low_for_the_highest_mode_is_told_with_the_needed_one() {
    let record = wave(100.0, 1.0, 1.0);
    assert_eq!(record.warning(5.0), None);
    let near = record.warning(10.0).unwrap();
    assert!(near.contains("asks for 200.0000") && near.contains("96.8 %"), "{near}");
    assert!(record.warning(60.0).unwrap().contains("cannot contain"));
}

#[test]
fn gaps_uneven_times_and_what_is_no_number_are_refused_with_their_place() {
    let refused = |times: &[f64]| {
        let values = vec![0.0; times.len()];
        Record::from_times(times, values).unwrap_err().to_string()
    };
    let gap = refused(&[0.0, 0.1, 0.2, 0.5, 0.6]);
    assert!(gap.starts_with("time[3]") && gap.contains("without a sample after 0.2 s"), "{gap}");
    assert!(refused(&[0.0, 0.1, 0.1]).contains("ascend"));
    assert!(refused(&[0.0, 0.1, 0.22, 0.3, 0.4]).contains("evenly sampled"));
    assert!(refused(&[0.0, f64::NAN]).starts_with("time[1]"));
    let error = Record::new(0.1, vec![1.0, f64::INFINITY]).unwrap_err().to_string();
    assert!(error.starts_with("values[1]") && error.contains("0.1 s"), "{error}");
    assert!(Record::new(0.0, vec![1.0, 2.0]).is_err() && Record::new(0.1, vec![1.0]).is_err());
    assert!(wave(10.0, 1.0, 1.0).resampled(0.0).is_err());
    assert!(wave(10.0, 1.0, 1.0).resampled(1e12).is_err());
    let csv = |text: &str| Record::from_csv(text, "floor.csv", 0, 1);
    assert_eq!(csv("t;a\n0;1\n0.5;2\n").unwrap().values, [1.0, 2.0]);
    assert_eq!(csv("# a\n0 1\n0.5  2\n").unwrap().interval, 0.5);
    assert!(csv("t,a\n0,1\n1,x\n").unwrap_err().to_string().starts_with("floor.csv, line 3"));
    // A comma is decimal where something else separates, and only if no number has a point.
    let comma = csv("Zeit;Kraft\n0,000;1,5\n0,001;-2,25\n").unwrap();
    assert_eq!((comma.interval, comma.values), (0.001, vec![1.5, -2.25]));
    assert_eq!(csv("0,0\t1,5\n0,5\t2,5\n").unwrap().values, [1.5, 2.5]);
    let mixed = csv("t;a\n0.0;1,500\n0.5;2\n").unwrap_err().to_string();
    assert!(mixed.starts_with("floor.csv, line 2") && mixed.contains("\"1,500\""), "{mixed}");
    let spaces = csv("0,000 1,5\n0,001 2,5\n").unwrap_err().to_string();
    assert!(spaces.contains("line 1") && spaces.contains("decimal commas"), "{spaces}");
    assert!(csv("t,a\n").unwrap_err().to_string().contains("no line with numbers"));
}
