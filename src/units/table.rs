//! The table of units: symbol, name, exact factor to SI, dimension, and what defines it.
//!
//! Sources (from memory): A. Thompson and B. N. Taylor, Guide for the Use of the International
//! System of Units, NIST Special Publication 811, 2008, appendix B; the international yard and
//! pound agreement of 1959 (1 yd = 0.9144 m, 1 lb = 0.453 592 37 kg); standard gravity
//! 9.806 65 m/s^2 (3rd General Conference on Weights and Measures, 1901).

use super::dimension::Exponents;
use super::exact::Exact;

/// One row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    /// What is written: "lbf".
    pub symbol: &'static str,
    /// Other spellings that are read: "g_n" is also "gn".
    pub aliases: &'static [&'static str],
    /// Name in words: "pound-force".
    pub name: &'static str,
    /// Exact factor to SI.
    pub exact: Exact,
    /// Exponents of kilogram, meter, second and radian.
    pub exponents: Exponents,
    /// What defines the factor.
    pub definition: &'static str,
}

impl Unit {
    /// Factor to SI, the nearest double.
    pub fn factor(&self) -> f64 {
        self.exact.to_f64()
    }
}

/// 10^n.
const fn ten(n: u32) -> u128 {
    10u128.pow(n)
}

/// Pound, 10^-8 kg.
const LB: u128 = 45_359_237;
/// Standard gravity, 10^-5 m/s^2.
const GN: u128 = 980_665;
/// Pound-force = LB GN, 10^-13 N.
const LBF: u128 = LB * GN;
/// Inch, 10^-4 m.
const IN: u128 = 254;
/// Foot, 10^-4 m.
const FT: u128 = 3048;

const fn unit(
    symbol: &'static str,
    name: &'static str,
    exact: Exact,
    exponents: Exponents,
    definition: &'static str,
) -> Unit {
    Unit { symbol, aliases: &[], name, exact, exponents, definition }
}

const fn also(unit: Unit, aliases: &'static [&'static str]) -> Unit {
    Unit { aliases, ..unit }
}

const fn dim(mass: i8, length: i8, time: i8, angle: i8) -> Exponents {
    Exponents { mass, length, time, angle }
}

const LENGTH: Exponents = dim(0, 1, 0, 0);
const MASS: Exponents = dim(1, 0, 0, 0);
const TIME: Exponents = dim(0, 0, 1, 0);
const FORCE: Exponents = dim(1, 1, -2, 0);
const PRESSURE: Exponents = dim(1, -1, -2, 0);
const ANGLE: Exponents = dim(0, 0, 0, 1);
const RATIO: Exponents = dim(0, 0, 0, 0);
const RATE: Exponents = dim(0, 0, -1, 0);
const ANGULAR_RATE: Exponents = dim(0, 0, -1, 1);
const ACCELERATION: Exponents = dim(0, 1, -2, 0);
const ENERGY: Exponents = dim(1, 2, -2, 0);
const POWER: Exponents = dim(1, 2, -3, 0);

const SI: &str = "SI";

/// Every unit that is read and written.
pub static TABLE: &[Unit] = &[
    unit("m", "meter", Exact::ONE, LENGTH, SI),
    unit("mm", "millimeter", Exact::new(1, ten(3)), LENGTH, SI),
    unit("cm", "centimeter", Exact::new(1, ten(2)), LENGTH, SI),
    also(unit("um", "micrometer", Exact::new(1, ten(6)), LENGTH, SI), &["\u{b5}m", "\u{3bc}m"]),
    unit("km", "kilometer", Exact::new(ten(3), 1), LENGTH, SI),
    unit("in", "inch", Exact::new(IN, ten(4)), LENGTH, "0.0254 m"),
    unit("ft", "foot", Exact::new(FT, ten(4)), LENGTH, "12 in"),
    unit("yd", "yard", Exact::new(3 * FT, ten(4)), LENGTH, "0.9144 m"),
    unit("mil", "mil", Exact::new(IN, ten(7)), LENGTH, "0.001 in"),
    unit("thou", "thousandth of an inch", Exact::new(IN, ten(7)), LENGTH, "0.001 in"),
    unit("kg", "kilogram", Exact::ONE, MASS, SI),
    unit("g", "gram", Exact::new(1, ten(3)), MASS, SI),
    unit("mg", "milligram", Exact::new(1, ten(6)), MASS, SI),
    unit("t", "metric ton", Exact::new(ten(3), 1), MASS, "1000 kg"),
    unit("lb", "pound (mass)", Exact::new(LB, ten(8)), MASS, "0.45359237 kg"),
    unit("oz", "ounce (mass)", Exact::new(LB, 16 * ten(8)), MASS, "lb/16"),
    unit("slug", "slug", Exact::new(LBF, FT * ten(9)), MASS, "lbf s^2/ft"),
    unit("short_ton", "short ton (mass)", Exact::new(2000 * LB, ten(8)), MASS, "2000 lb"),
    unit("long_ton", "long ton (mass)", Exact::new(2240 * LB, ten(8)), MASS, "2240 lb"),
    unit("s", "second", Exact::ONE, TIME, SI),
    unit("ms", "millisecond", Exact::new(1, ten(3)), TIME, SI),
    also(unit("us", "microsecond", Exact::new(1, ten(6)), TIME, SI), &["\u{b5}s", "\u{3bc}s"]),
    unit("min", "minute", Exact::new(60, 1), TIME, "60 s"),
    unit("h", "hour", Exact::new(3600, 1), TIME, "3600 s"),
    unit("d", "day", Exact::new(86_400, 1), TIME, "24 h"),
    unit("N", "newton", Exact::ONE, FORCE, SI),
    unit("mN", "millinewton", Exact::new(1, ten(3)), FORCE, SI),
    unit("kN", "kilonewton", Exact::new(ten(3), 1), FORCE, SI),
    unit("MN", "meganewton", Exact::new(ten(6), 1), FORCE, SI),
    unit("GN", "giganewton", Exact::new(ten(9), 1), FORCE, SI),
    unit("lbf", "pound-force", Exact::new(LBF, ten(13)), FORCE, "lb g_n"),
    unit("ozf", "ounce-force", Exact::new(LBF, 16 * ten(13)), FORCE, "lbf/16"),
    unit("kip", "kip", Exact::new(1000 * LBF, ten(13)), FORCE, "1000 lbf"),
    unit("kgf", "kilogram-force", Exact::new(GN, ten(5)), FORCE, "kg g_n"),
    unit("tonf", "short ton-force", Exact::new(2000 * LBF, ten(13)), FORCE, "2000 lbf"),
    unit("tf", "metric ton-force", Exact::new(1000 * GN, ten(5)), FORCE, "1000 kgf"),
    unit("Pa", "pascal", Exact::ONE, PRESSURE, SI),
    unit("kPa", "kilopascal", Exact::new(ten(3), 1), PRESSURE, SI),
    unit("MPa", "megapascal", Exact::new(ten(6), 1), PRESSURE, SI),
    unit("GPa", "gigapascal", Exact::new(ten(9), 1), PRESSURE, SI),
    unit("bar", "bar", Exact::new(ten(5), 1), PRESSURE, "100 kPa"),
    unit(
        "psi",
        "pound-force per square inch",
        Exact::new(LBF, IN * IN * ten(5)),
        PRESSURE,
        "lbf/in^2",
    ),
    unit("ksi", "kip per square inch", Exact::new(LBF, IN * IN * ten(2)), PRESSURE, "1000 psi"),
    unit(
        "psf",
        "pound-force per square foot",
        Exact::new(LBF, FT * FT * ten(5)),
        PRESSURE,
        "lbf/ft^2",
    ),
    unit("rad", "radian", Exact::ONE, ANGLE, SI),
    unit("mrad", "milliradian", Exact::new(1, ten(3)), ANGLE, SI),
    also(unit("deg", "degree", Exact::times_pi(1, 180), ANGLE, "pi/180 rad"), &["\u{b0}"]),
    unit("arcmin", "minute of arc", Exact::times_pi(1, 180 * 60), ANGLE, "deg/60"),
    unit("arcsec", "second of arc", Exact::times_pi(1, 180 * 3600), ANGLE, "deg/3600"),
    unit("rev", "revolution", Exact::times_pi(2, 1), ANGLE, "2 pi rad"),
    unit("%", "percent", Exact::new(1, 100), RATIO, "1/100"),
    unit("ppm", "parts per million", Exact::new(1, ten(6)), RATIO, "1/1000000"),
    unit("Hz", "hertz", Exact::ONE, RATE, SI),
    unit("kHz", "kilohertz", Exact::new(ten(3), 1), RATE, SI),
    unit("spm", "strokes per minute", Exact::new(1, 60), RATE, "1/60 Hz"),
    unit("cpm", "cycles per minute", Exact::new(1, 60), RATE, "1/60 Hz"),
    unit("rpm", "revolutions per minute", Exact::times_pi(2, 60), ANGULAR_RATE, "2 pi rad/min"),
    also(
        unit("g_n", "standard gravity", Exact::new(GN, ten(5)), ACCELERATION, "9.80665 m/s^2"),
        &["gn"],
    ),
    unit("Gal", "gal", Exact::new(1, ten(2)), ACCELERATION, "0.01 m/s^2"),
    unit("J", "joule", Exact::ONE, ENERGY, SI),
    unit("kJ", "kilojoule", Exact::new(ten(3), 1), ENERGY, SI),
    unit("W", "watt", Exact::ONE, POWER, SI),
    unit("kW", "kilowatt", Exact::new(ten(3), 1), POWER, SI),
    unit("hp", "mechanical horsepower", Exact::new(550 * FT * LBF, ten(17)), POWER, "550 ft lbf/s"),
];

/// Unit of exactly that spelling.
pub fn find(symbol: &str) -> Option<&'static Unit> {
    TABLE.iter().find(|u| u.symbol == symbol || u.aliases.contains(&symbol))
}

/// Spellings that are refused because people mean different things by them, or that are not in
/// the table but often written: (spelling, what to do).
const REFUSED: &[(&str, &str)] = &[
    ("ton", TON),
    ("tons", TON),
    ("Ton", TON),
    ("Tons", TON),
    ("tonne", "write \"t\""),
    ("tonnes", "write \"t\""),
    ("mt", "write \"t\" for metric tons"),
    ("lbs", "write \"lb\" for mass or \"lbf\" for force"),
    ("lbm", "write \"lb\""),
    ("pound", "write \"lb\" for mass or \"lbf\" for force"),
    ("pounds", "write \"lb\" for mass or \"lbf\" for force"),
    ("#", "write \"lb\" for mass or \"lbf\" for force"),
    ("kips", "write \"kip\""),
    ("klbf", "write \"kip\""),
    ("klb", "write \"kip\" for force or \"1000 lb\" for mass"),
    ("inch", "write \"in\""),
    ("inches", "write \"in\""),
    ("\"", "write \"in\""),
    ("\u{2033}", "write \"in\""),
    ("'", "write \"ft\""),
    ("\u{2032}", "write \"ft\""),
    ("foot", "write \"ft\""),
    ("feet", "write \"ft\""),
    ("mils", "write \"mil\""),
    ("thous", "write \"thou\""),
    ("sec", "write \"s\""),
    ("secs", "write \"s\""),
    ("seconds", "write \"s\""),
    ("hr", "write \"h\""),
    ("degrees", "write \"deg\""),
    ("meter", "write \"m\""),
    ("meters", "write \"m\""),
    ("micron", "write \"um\""),
    ("microns", "write \"um\""),
    ("newton", "write \"N\""),
    ("hertz", "write \"Hz\""),
    ("cps", "write \"Hz\""),
    ("kgm", "write \"kg m\" with a space"),
    ("Nm", "write \"N m\" with a space for a moment"),
    ("kNm", "write \"kN m\" with a space"),
    ("Ns", "write \"N s\" with a space"),
];

const TON: &str = "write \"short_ton\" (2000 lb), \"long_ton\" (2240 lb) or \"t\" (1000 kg) for \
                   mass, \"tonf\" (2000 lbf) or \"tf\" (1000 kgf) for force";

/// What to do about a symbol that is not in the table: (what is wrong, remedy).
pub fn advice(symbol: &str) -> (String, String) {
    if let Some((_, remedy)) = REFUSED.iter().find(|(s, _)| *s == symbol) {
        let what = if *remedy == TON { "is ambiguous" } else { "is not a unit of this table" };
        return (format!("\"{symbol}\" {what}"), (*remedy).to_string());
    }
    let problem = format!("\"{symbol}\" is not a unit");
    let lower = symbol.to_lowercase();
    let by_case = near(|s| s.to_lowercase() == lower);
    if !by_case.is_empty() {
        return (
            format!("{problem} (capital and small letters differ: MN is mega, mN is milli)"),
            format!("did you mean {}?", by_case.join(" or ")),
        );
    }
    let close = near(|s| symbol.len() > 1 && s.len() > 1 && one_edit_apart(s, symbol));
    if close.is_empty() {
        (problem, "see the table of units (underfoot.units.table())".into())
    } else {
        (problem, format!("did you mean {}?", close.join(" or ")))
    }
}

fn near(test: impl Fn(&str) -> bool) -> Vec<String> {
    let hits = TABLE.iter().filter(|u| test(u.symbol));
    hits.map(|u| format!("{} ({})", u.symbol, u.name)).collect()
}

/// True if one insertion, deletion or replacement turns `a` into `b`.
fn one_edit_apart(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let head = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let tail = a.iter().rev().zip(b.iter().rev()).take_while(|(x, y)| x == y).count();
    let longest = a.len().max(b.len());
    a.len().abs_diff(b.len()) <= 1 && head + tail + 1 >= longest
}
