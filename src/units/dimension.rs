//! What kind of quantity an argument expects: its exponents, its words, its units for reports.

use std::fmt;

/// Exponents of kilogram, meter, second and radian.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Exponents {
    /// Exponent of the kilogram.
    pub mass: i8,
    /// Exponent of the meter.
    pub length: i8,
    /// Exponent of the second.
    pub time: i8,
    /// Exponent of the radian. It has no dimension in SI; it is kept because "125 rad/s" is not
    /// 125 Hz, and because 5 deg is no loss factor.
    pub angle: i8,
}

impl Exponents {
    /// `self * other^power`, or `None` where an exponent outgrows eight bits.
    pub fn times(self, other: Self, power: i8) -> Option<Self> {
        let step = |a: i8, b: i8| a.checked_add(b.checked_mul(power)?);
        Some(Self {
            mass: step(self.mass, other.mass)?,
            length: step(self.length, other.length)?,
            time: step(self.time, other.time)?,
            angle: step(self.angle, other.angle)?,
        })
    }

    fn without_angle(self) -> Self {
        Self { angle: 0, ..self }
    }
}

impl fmt::Display for Exponents {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bases = [("kg", self.mass), ("m", self.length), ("s", self.time), ("rad", self.angle)];
        let mut words = Vec::new();
        for (symbol, power) in bases {
            match power {
                0 => {}
                1 => words.push(symbol.to_string()),
                p => words.push(format!("{symbol}^{p}")),
            }
        }
        if words.is_empty() { f.write_str("a plain number") } else { f.write_str(&words.join(" ")) }
    }
}

/// A kind of quantity. Two kinds may share exponents (a moment and an energy).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Dimension {
    /// Name as used from Python: "rotational_stiffness".
    pub name: &'static str,
    /// With its article, for messages: "a rotational stiffness".
    pub words: &'static str,
    /// Exponents of the base units.
    pub exponents: Exponents,
    /// Coherent SI unit; empty for a ratio.
    pub si: &'static str,
    /// Unit of reports in US customary units.
    pub us: &'static str,
    /// Example for messages, with quotation marks.
    pub example: &'static str,
}

/// How a found dimension meets the expected one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fit {
    /// As it is.
    Yes,
    /// An angular rate where cycles are expected: divide by 2 pi.
    PerTurn,
    /// Cycles where an angular rate is expected: multiply by 2 pi.
    Turns,
    /// Not at all.
    No,
}

macro_rules! dimensions {
    ($($name:ident, $text:literal, $words:literal, ($m:literal $l:literal $t:literal $a:literal), $si:literal, $us:literal, $example:literal;)*) => {
        impl Dimension {
            $(
                #[doc = concat!("Kind of quantity: ", $words, "; SI unit \"", $si, "\".")]
                pub const $name: Self = Self {
                    name: $text,
                    words: $words,
                    exponents: Exponents { mass: $m, length: $l, time: $t, angle: $a },
                    si: $si,
                    us: $us,
                    example: $example,
                };
            )*

            /// Every kind of quantity.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];
        }
    };
}

dimensions! {
    LENGTH, "length", "a length", (0 1 0 0), "m", "in", "\"14 in\" or \"0.35 m\"";
    AREA, "area", "an area", (0 2 0 0), "m^2", "in^2", "\"100 in^2\" or \"0.06 m^2\"";
    VOLUME, "volume", "a volume", (0 3 0 0), "m^3", "in^3", "\"60 in^3\" or \"0.001 m^3\"";
    MASS, "mass", "a mass", (1 0 0 0), "kg", "lb", "\"92 000 lb\" or \"42 t\"";
    DENSITY, "density", "a density", (1 -3 0 0), "kg/m^3", "lb/in^3", "\"0.284 lb/in^3\" or \"7850 kg/m^3\"";
    MASS_MOMENT, "mass_moment", "a mass times an arm", (1 1 0 0), "kg m", "lb in", "\"40 lb in\" or \"0.5 kg m\"";
    INERTIA, "inertia", "a moment of inertia", (1 2 0 0), "kg m^2", "lb in^2", "\"3.1e8 lb in^2\" or \"90 000 kg m^2\"";
    TIME, "time", "a time", (0 0 1 0), "s", "s", "\"5 ms\" or \"0.02 s\"";
    FREQUENCY, "frequency", "a frequency", (0 0 -1 0), "Hz", "Hz", "\"3.5 Hz\" or \"40 spm\"";
    ANGULAR_VELOCITY, "angular_velocity", "an angular velocity", (0 0 -1 1), "rad/s", "rpm", "\"600 rpm\" or \"63 rad/s\"";
    ANGULAR_ACCELERATION, "angular_acceleration", "an angular acceleration", (0 0 -2 1), "rad/s^2", "rad/s^2", "\"2 rad/s^2\"";
    VELOCITY, "velocity", "a velocity", (0 1 -1 0), "m/s", "in/s", "\"0.2 in/s\" or \"5 mm/s\"";
    ACCELERATION, "acceleration", "an acceleration", (0 1 -2 0), "m/s^2", "g_n", "\"0.5 g_n\" or \"5 m/s^2\"";
    FORCE, "force", "a force", (1 1 -2 0), "N", "lbf", "\"200 tonf\" or \"1.8 MN\"";
    IMPULSE, "impulse", "an impulse", (1 1 -1 0), "N s", "lbf s", "\"200 lbf s\" or \"900 N s\"";
    MOMENT, "moment", "a moment", (1 2 -2 0), "N m", "lbf in", "\"2000 lbf in\" or \"230 N m\"";
    ENERGY, "energy", "an energy", (1 2 -2 0), "J", "ft lbf", "\"3 kJ\" or \"2200 ft lbf\"";
    POWER, "power", "a power", (1 2 -3 0), "W", "hp", "\"75 hp\" or \"55 kW\"";
    PRESSURE, "pressure", "a pressure or modulus", (1 -1 -2 0), "Pa", "psi", "\"800 psi\" or \"5.5 MPa\"";
    STIFFNESS, "stiffness", "a stiffness", (1 0 -2 0), "N/m", "lbf/in", "\"30 000 lbf/in\" or \"5 kN/mm\"";
    ROTATIONAL_STIFFNESS, "rotational_stiffness", "a rotational stiffness", (1 2 -2 -1), "N m/rad", "lbf in/rad", "\"2e6 lbf in/rad\" or \"230 kN m/rad\"";
    SUBGRADE_MODULUS, "subgrade_modulus", "a stiffness per area", (1 -2 -2 0), "N/m^3", "lbf/in^3", "\"200 lbf/in^3\" or \"50 MN/m^3\"";
    DAMPING, "damping", "a viscous damping", (1 0 -1 0), "N s/m", "lbf s/in", "\"170 lbf s/in\" or \"30 kN s/m\"";
    ROTATIONAL_DAMPING, "rotational_damping", "a rotational damping", (1 2 -1 -1), "N m s/rad", "lbf in s/rad", "\"5 kN m s/rad\"";
    ANGLE, "angle", "an angle or slope", (0 0 0 1), "rad", "deg", "\"30 deg\", \"0.5 mm/m\" or \"0.006 in/ft\"";
    RATIO, "ratio", "a plain ratio", (0 0 0 0), "", "", "\"10 %\" or 0.1";
}

impl Dimension {
    /// The kind of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|d| d.name == name)
    }

    /// Does a quantity of these exponents serve, and how?
    pub(crate) fn fit(&self, found: Exponents) -> Fit {
        let expected = self.exponents;
        if found.without_angle() != expected.without_angle() {
            return Fit::No;
        }
        let is_rate = self.name == Self::FREQUENCY.name || self.name == Self::ANGULAR_VELOCITY.name;
        match (found.angle, expected.angle) {
            (1, 0) if is_rate => Fit::PerTurn,
            (0, 1) if is_rate => Fit::Turns,
            (a, b) if a == b => Fit::Yes,
            // N m for N m/rad, mm/m for rad.
            (0, _) => Fit::Yes,
            _ => Fit::No,
        }
    }

    /// Unit of reports: "si" or "us".
    pub fn unit(&self, us: bool) -> &'static str {
        if us { self.us } else { self.si }
    }
}
