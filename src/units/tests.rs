//! Is every text with a unit read exactly, and every wrong one refused?

use super::*;
use proptest::prelude::*;

fn read(text: &str, expected: Dimension) -> f64 {
    match parse("value", text, expected) {
        Ok(value) => value,
        Err(error) => panic!("{error}"),
    }
}

fn refusal(text: &str, expected: Dimension) -> String {
    match parse("value", text, expected) {
        Ok(value) => panic!("{text:?} was read as {value}"),
        Err(error) => error.to_string(),
    }
}

/// NIST Special Publication 811 (2008), appendix B.8, from memory: factors printed exact (bold) or
/// to seven digits; the tolerance is half the last printed digit.
#[test]
fn factors_agree_with_nist_sp_811() {
    let exact = [
        ("in", 2.54e-2),
        ("ft", 3.048e-1),
        ("yd", 9.144e-1),
        ("mil", 2.54e-5),
        ("bar", 1e5),
        ("kgf", 9.80665),
        ("g_n", 9.80665),
        ("Gal", 1e-2),
        ("lb", 0.453_592_37),
        ("lbf", 4.448_221_615_260_5),
    ];
    for (unit, printed) in exact {
        assert_eq!(factor(unit).map(|f| f.0), Ok(printed), "{unit}");
    }
    let seven_digits = [
        ("oz", 2.834952e-2, 5e-9),
        ("slug", 1.459390e1, 5e-6),
        ("short_ton", 9.071847e2, 5e-5),
        ("long_ton", 1.016047e3, 5e-4),
        ("ozf", 2.780139e-1, 5e-8),
        ("kip", 4.448222e3, 5e-4),
        ("tonf", 8.896443e3, 5e-4),
        ("psi", 6.894757e3, 5e-4),
        ("ksi", 6.894757e6, 5e-1),
        ("psf", 4.788026e1, 5e-6),
        ("deg", 1.745329e-2, 5e-9),
        ("arcmin", 2.908882e-4, 5e-11),
        ("arcsec", 4.848137e-6, 5e-13),
        ("rpm", 1.047198e-1, 5e-8),
        ("hp", 7.456999e2, 5e-5),
        ("lbf/in", 1.751268e2, 5e-5),
        ("lbf/ft", 1.459390e1, 5e-6),
        ("lbf in", 1.129848e-1, 5e-8),
        ("ft lbf", 1.355818, 5e-7),
        ("lb in^2", 2.926397e-4, 5e-11),
        ("lb ft^2", 4.214011e-2, 5e-9),
        ("lb/in^3", 2.767990e4, 5e-2),
        ("lb/ft^3", 1.601846e1, 5e-6),
        ("in^2", 6.4516e-4, 5e-9),
    ];
    for (unit, printed, half_digit) in seven_digits {
        let found = factor(unit).map_or(f64::NAN, |f| f.0);
        assert!((found - printed).abs() <= half_digit, "{unit}: {found} against {printed}");
    }
}

#[test]
fn every_spelling_of_the_table_stands_once_and_reads_itself() {
    let mut seen = std::collections::HashSet::new();
    for unit in table() {
        for spelling in std::iter::once(&unit.symbol).chain(unit.aliases) {
            assert!(seen.insert(*spelling), "{spelling} stands twice");
            assert_eq!(factor(spelling), Ok((unit.factor(), unit.exponents)), "{spelling}");
        }
    }
    assert!((60..80).contains(&table().count()), "{}", table().count());
}

#[test]
fn every_dimension_reads_its_own_units_and_its_own_examples() {
    for dimension in Dimension::ALL {
        for unit in [dimension.si, dimension.us] {
            let (_, exponents) = factor(unit).unwrap_or_else(|e| panic!("{e}"));
            assert_ne!(dimension.fit(exponents), Fit::No, "{} in {unit}", dimension.name);
        }
        assert_eq!(factor(dimension.si).map(|f| f.0), Ok(1.0), "{}", dimension.name);
        for example in dimension.example.split('"').skip(1).step_by(2) {
            assert!(read(example, *dimension) > 0.0);
        }
    }
}

#[test]
fn texts_give_the_nearest_double() {
    for (text, dimension, value) in [
        ("14 in", Dimension::LENGTH, 0.3556),
        ("92 000 lb", Dimension::MASS, 41_730.498_04),
        ("92_000 lb", Dimension::MASS, 41_730.498_04),
        ("92\u{2009}000\u{202f}lb", Dimension::MASS, 41_730.498_04),
        ("1 250 000.5 kg", Dimension::MASS, 1_250_000.5),
        ("1.2e6 N/m", Dimension::STIFFNESS, 1.2e6),
        ("5 kN/mm", Dimension::STIFFNESS, 5e6),
        ("1/4 in", Dimension::LENGTH, 0.006_35),
        ("2 3/8 in", Dimension::LENGTH, 0.060_325),
        ("2-3/8 in", Dimension::LENGTH, 0.060_325),
        ("-2 3/8 in", Dimension::LENGTH, -0.060_325),
        ("14 ft 6 in", Dimension::LENGTH, 4.4196),
        ("-14 ft 6 1/2 in", Dimension::LENGTH, -4.4323),
        ("10 %", Dimension::RATIO, 0.1),
        ("10%", Dimension::RATIO, 0.1),
        ("0.1", Dimension::RATIO, 0.1),
        ("\u{2212}.5 mm", Dimension::LENGTH, -0.0005),
        ("+5. mm", Dimension::LENGTH, 0.005),
        ("600 rpm", Dimension::FREQUENCY, 10.0),
        ("60 spm", Dimension::FREQUENCY, 1.0),
        ("10 /s", Dimension::FREQUENCY, 10.0),
        ("10 1/s", Dimension::FREQUENCY, 10.0),
        ("0.5 mm/m", Dimension::ANGLE, 0.0005),
        ("12 N m", Dimension::ROTATIONAL_STIFFNESS, 12.0),
        ("3 kN s/m", Dimension::DAMPING, 3000.0),
        ("3 N/(mm/s)", Dimension::DAMPING, 3000.0),
        ("7 kg m2", Dimension::INERTIA, 7.0),
        ("7 kg\u{b7}m\u{b2}", Dimension::INERTIA, 7.0),
        ("7 kg*m**2", Dimension::INERTIA, 7.0),
        ("2 m s^-2", Dimension::ACCELERATION, 2.0),
        ("2 m\u{b7}s\u{207b}\u{b2}", Dimension::ACCELERATION, 2.0),
        ("2 m/s/s", Dimension::ACCELERATION, 2.0),
        ("1 g_n", Dimension::ACCELERATION, 9.80665),
        ("100 kgf", Dimension::FORCE, 980.665),
        ("3 ft-lbf", Dimension::MOMENT, 4.067_453_844_994_201),
        ("0 mm", Dimension::LENGTH, 0.0),
    ] {
        assert_eq!(read(text, dimension), value, "{text}");
    }
    // pi is rounded once more: 1e-15.
    approx::assert_relative_eq!(
        read("30 deg", Dimension::ANGLE),
        std::f64::consts::FRAC_PI_6,
        max_relative = 1e-15
    );
    approx::assert_relative_eq!(
        read("10 Hz", Dimension::ANGULAR_VELOCITY),
        20.0 * std::f64::consts::PI,
        max_relative = 1e-15
    );
}

#[test]
fn refusals_say_what_is_wrong_and_what_to_write() {
    for (text, dimension, message) in [
        (
            "92,000 lb",
            Dimension::MASS,
            "value = \"92,000 lb\": a comma in a number is ambiguous; write \"92 000\" or \"92000\" for thousands or \"92.000\" for decimals",
        ),
        (
            "3,5 mm",
            Dimension::LENGTH,
            "value = \"3,5 mm\": a comma in a number is ambiguous; write \"3.5\" for decimals",
        ),
        (
            "30 000 lb/in",
            Dimension::STIFFNESS,
            "value = \"30 000 lb/in\": this is in kg m^-1, but a stiffness is expected; \"lb\" is a mass: write \"lbf\"",
        ),
        (
            "12 lbf in^2",
            Dimension::INERTIA,
            "value = \"12 lbf in^2\": this is in kg m^3 s^-2, but a moment of inertia is expected; \"lbf\" is a force: write \"lb\"",
        ),
        (
            "42 ton",
            Dimension::MASS,
            "value = \"42 ton\": \"ton\" is ambiguous; write \"short_ton\" (2000 lb), \"long_ton\" (2240 lb) or \"t\" (1000 kg) for mass, \"tonf\" (2000 lbf) or \"tf\" (1000 kgf) for force",
        ),
        (
            "5 Mn",
            Dimension::FORCE,
            "value = \"5 Mn\": \"Mn\" is not a unit (capital and small letters differ: MN is mega, mN is milli); did you mean mN (millinewton) or MN (meganewton)?",
        ),
        (
            "0.5 g",
            Dimension::ACCELERATION,
            "value = \"0.5 g\": this is a mass, but an acceleration is expected; \"g\" is the gram: write \"g_n\" for standard gravity",
        ),
        (
            "42",
            Dimension::MASS,
            "value = \"42\": a unit is missing; a mass is expected; write it with a unit, such as \"92 000 lb\" or \"42 t\"",
        ),
        (
            "12 kg",
            Dimension::LENGTH,
            "value = \"12 kg\": this is a mass, but a length is expected; write for example \"14 in\" or \"0.35 m\"",
        ),
        (
            "3 kN/m s",
            Dimension::DAMPING,
            "value = \"3 kN/m s\": a product by a space after \"/\" is ambiguous; write the product first (\"N s/m\") or use parentheses (\"N/(m s)\")",
        ),
    ] {
        assert_eq!(refusal(text, dimension), message);
    }
    for (text, dimension, part) in [
        ("5 hz", Dimension::FREQUENCY, "did you mean Hz (hertz)?"),
        ("5 KN", Dimension::FORCE, "did you mean kN (kilonewton)?"),
        ("5 lbs", Dimension::FORCE, "write \"lb\" for mass or \"lbf\" for force"),
        ("14\"", Dimension::LENGTH, "write \"in\""),
        ("14 furlong", Dimension::LENGTH, "\"furlong\" is not a unit"),
        ("5 arcse", Dimension::ANGLE, "did you mean arcsec (second of arc)?"),
        ("5 deg", Dimension::RATIO, "this is an angle or slope"),
        ("", Dimension::LENGTH, "there is no number"),
        ("in", Dimension::LENGTH, "there is no number before \"in\""),
        ("nan m", Dimension::LENGTH, "not a finite number"),
        ("-inf m", Dimension::LENGTH, "not a finite number"),
        ("1e400 m", Dimension::LENGTH, "outside the range"),
        ("1e-400 m", Dimension::LENGTH, "outside the range"),
        ("1e99999999999 m", Dimension::LENGTH, "outside the range"),
        ("9200 000 lb", Dimension::MASS, "not grouped in threes"),
        ("92 00 lb", Dimension::MASS, "not grouped in threes"),
        ("2 9/8 in", Dimension::LENGTH, "not a fraction of one"),
        ("1/0 in", Dimension::LENGTH, "not a fraction of one"),
        ("14 ft 13 in", Dimension::LENGTH, "inches below 12"),
        ("14 ft 6", Dimension::LENGTH, "inches below 12"),
        ("14 m 6 in", Dimension::LENGTH, "unexpected \"6\""),
        ("5 m^99", Dimension::LENGTH, "a power is too high"),
        ("5 ((m^9)^9)^9", Dimension::LENGTH, "a power is too high"),
        ("5 (((((((((m)))))))))", Dimension::LENGTH, "too many parentheses"),
        ("5 (m", Dimension::LENGTH, "a parenthesis is not closed"),
        ("5 m$", Dimension::LENGTH, "unexpected \"$\""),
        ("5 m/", Dimension::LENGTH, "ends too early"),
        ("1.2.3 m", Dimension::LENGTH, "unexpected \".\""),
    ] {
        let message = refusal(text, dimension);
        assert!(message.contains(part), "{message:?} lacks {part:?}");
    }
}

#[test]
fn rounded_text_keeps_the_digits_asked_for() {
    for (value, unit, digits, text) in [
        (0.3556, "in", 3, "14.0 in"),
        (41_730.498_04, "lb", 2, "92000 lb"),
        (1.234_56e-5, "mm", 3, "0.0123 mm"),
        (0.0, "N", 3, "0.00 N"),
        (-9.996, "m", 3, "-10.0 m"),
        (0.1234, "", 2, "0.12"),
        (3.2e12, "N/m", 2, "3.2e12 N/m"),
    ] {
        assert_eq!(format_rounded(value, unit, digits), Ok(text.to_string()));
    }
}

proptest! {
    #[test]
    fn format_then_parse_returns_the_value(mantissa in -1.0f64..1.0, power in -12i32..15, row in 0usize..200) {
        let value = mantissa * 10f64.powi(power);
        let dimension = Dimension::ALL[row % Dimension::ALL.len()];
        for unit in [dimension.si, dimension.us] {
            let text = format(value, unit).unwrap_or_else(|e| panic!("{e}"));
            let back = parse("value", &text, dimension).unwrap_or_else(|e| panic!("{e}"));
            prop_assert!((back - value).abs() <= 1e-15 * value.abs(), "{text}: {back} against {value}");
        }
    }

    #[test]
    fn no_text_panics(text in "[-+0-9 ,._/()*^a-zA-Z%°µ²⁻'\"]{0,24}") {
        let _ = parse("value", &text, Dimension::LENGTH);
        let _ = factor(&text);
    }

    #[test]
    fn no_quantity_like_text_panics(
        number in "[0-9]{0,45}[., ]?[0-9]{0,3}(e[-+]?[0-9]{1,12})?",
        unit in "(lb|in|m|s|deg|kN|ft|\\(|\\)|/| |\\^9|²){0,12}",
    ) {
        let _ = parse("value", &format!("{number} {unit}"), Dimension::STIFFNESS);
    }
}
