//! Dynamic stiffness of rubber: fractional Zener sets, their 17-term Maxwell fit, WLF shift
//! factors and Kraus' fall with amplitude (sources in the file).

use num_complex::Complex64;
use serde_json::Value;
use std::f64::consts::TAU;
use underfoot::law::{
    AmplitudeReduction, ComplexStiffness, Dynamic, FractionalZener, Maxwell, MaxwellTerm, Wlf,
    maxwell_fit,
};

use crate::close::printed;
use crate::reference::{load, number, numbers};

fn laws() -> Value {
    load("mounts/dynamic_laws")
}

fn fractional(set: &Value) -> Dynamic {
    let p = |key: &str| number(&set["params"][key]);
    let law = FractionalZener::new(p("G0"), p("Ginf"), p("tau"), p("alpha")).unwrap();
    Dynamic::FractionalZener(law)
}

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance * expected.abs(), "{found} {expected}");
}

#[test]
fn fractional_zener_storage_and_loss_factor_agree_to_twelve_digits() {
    let laws = laws();
    for name in ["fractional_zener", "fractional_zener_low_damping"] {
        let law = fractional(&laws[name]);
        let rows = laws[name]["table"].as_array().unwrap();
        assert_eq!(rows.len(), 12);
        let first = law.at(number(&rows[0]["f"]) * TAU).unwrap();
        for row in rows {
            let d = law.at(number(&row["f"]) * TAU).unwrap();
            near(d.re, number(&row["Gp"]), 1e-12);
            near(d.im / d.re, number(&row["eta"]), 1e-12);
            near(d.re / first.re, number(&row["kdyn_over_1mHz"]), 1e-12);
        }
    }
}

#[test]
fn the_seventeen_term_maxwell_fit_is_as_near_as_it_says() {
    let laws = laws();
    let law = fractional(&laws["fractional_zener"]);
    let given = &laws["gen_maxwell_fit"];
    let term =
        |t: &Value| MaxwellTerm { stiffness: number(&t["G"]), relaxation_time: number(&t["tau"]) };
    let terms: Vec<_> = given["terms"].as_array().unwrap().iter().map(term).collect();
    assert_eq!(terms.len(), 17);
    let fit = Dynamic::Maxwell(Maxwell::new(number(&given["Ge"]), terms).unwrap());
    let [low, high] = numbers(&given["band_Hz"])[..] else { panic!("a band") };
    let (mut storage, mut loss) = (0.0_f64, 0.0_f64);
    for i in 0..=600 {
        let omega = TAU * low * (high / low).powf(f64::from(i) / 600.0);
        let (a, b) = (fit.at(omega).unwrap(), law.at(omega).unwrap());
        storage = storage.max((a.re / b.re - 1.0).abs());
        loss = loss.max((a.im / b.im - 1.0).abs());
    }
    // Printed: 0.04 % and 0.07 %.
    printed(100.0 * storage, 0.04, 2);
    printed(100.0 * loss, 0.07, 2);
    near(storage, number(&given["max_rel_err_Gp"]), 0.02);
    near(loss, number(&given["max_rel_err_Gpp"]), 0.02);
}

#[test]
fn our_maxwell_fit_has_the_same_times_and_is_no_worse() {
    let laws = laws();
    let law = fractional(&laws["fractional_zener"]);
    let given = &laws["gen_maxwell_fit"];
    let fit = maxwell_fit(&law, [1e-3, 1e3], 2).unwrap();
    assert_eq!(fit.law.terms.len(), 17);
    for (found, expected) in fit.law.terms.iter().zip(given["terms"].as_array().unwrap()) {
        near(found.relaxation_time, number(&expected["tau"]), 1e-12);
    }
    assert!(100.0 * fit.storage_error < 0.045 && 100.0 * fit.loss_error < 0.075, "{fit:?}");
}

#[test]
fn wlf_shift_factors_agree_to_twelve_digits() {
    let given = &laws()["WLF"];
    let seen = &given["SciRep2021_seen"];
    // The source writes log aT = c1 (T - Tref) / ..., with c1 negative.
    let wlf = Wlf::new(-number(&seen["c1"]), number(&seen["c2"]), number(&seen["Tref_C"])).unwrap();
    let converted = wlf.with_reference(20.0).unwrap();
    let [c1, c2] = numbers(&seen["converted_Tref20"])[..] else { panic!("two") };
    near(converted.c1, c1, 1e-12);
    near(converted.c2, c2, 1e-12);
    let at_20 = wlf.shift(20.0).unwrap().log10();
    for (t, log) in seen["logaT"].as_object().unwrap() {
        let t: f64 = t.parse().unwrap();
        let found = wlf.shift(t).unwrap().log10();
        assert!((found - number(log)).abs() < 1e-12, "{t} C: {found}");
        let other = converted.shift(t).unwrap().log10();
        assert!((other + at_20 - found).abs() < 1e-12, "another reference, {t} C");
    }
    let ferry = numbers(&given["Ferry_NR_Tg200K"]);
    let kelvin = -273.15;
    let glass = Wlf::new(ferry[0], ferry[1], 200.0 + kelvin).unwrap();
    for (key, at) in [("converted_to_248K", 248.0), ("NR_ref293K", 293.15)] {
        let [c1, c2] = numbers(&given[key])[..] else { panic!("two") };
        let moved = glass.with_reference(at + kelvin).unwrap();
        near(moved.c1, c1, 1e-12);
        near(moved.c2, c2, 1e-12);
    }
    let rubber = glass.with_reference(20.0).unwrap();
    for (t, log) in given["logaT_NR_ref20C"].as_object().unwrap() {
        let found = rubber.shift(t.parse().unwrap()).unwrap().log10();
        assert!((found - number(log)).abs() < 1e-12, "{t} C: {found}");
    }
}

#[test]
fn kraus_set_agrees_to_twelve_digits() {
    let given = &laws()["kraus"];
    let p = |key: &str| number(&given["params"][key]);
    let small = ComplexStiffness::new(p("G0"), p("Gli") / p("G0")).unwrap();
    for row in given["table"].as_array().unwrap() {
        let law = AmplitudeReduction::new(
            Dynamic::Complex(small),
            number(&row["gamma"]),
            p("gc"),
            p("Gi") / p("G0"),
            p("m"),
            Some(p("Gm") / p("Gli")),
        );
        let d: Complex64 = Dynamic::Reduced(law.unwrap()).at(TAU).unwrap();
        near(d.re, number(&row["Gp"]), 1e-12);
        near(d.im, number(&row["Gpp"]), 1e-12);
        near(d.im / d.re, number(&row["eta"]), 1e-12);
    }
}
