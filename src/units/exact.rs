//! A positive rational times a power of pi: what a unit is exactly.
//!
//! A factor is kept as num/den until the last step, so "14 in" gives the double nearest to 0.3556
//! and not the product of two rounded numbers.

use std::f64::consts::PI;

/// `num / den * pi^pi`, with `num` and `den` in lowest terms where the constructor reduced them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exact {
    num: u128,
    den: u128,
    pi: i8,
}

impl Exact {
    /// The number one.
    pub const ONE: Self = Self::new(1, 1);

    /// `num / den`; `den` must not be zero.
    pub const fn new(num: u128, den: u128) -> Self {
        let divisor = gcd(num, den);
        Self { num: num / divisor, den: den / divisor, pi: 0 }
    }

    /// `num / den * pi`.
    pub const fn times_pi(num: u128, den: u128) -> Self {
        let Self { num, den, .. } = Self::new(num, den);
        Self { num, den, pi: 1 }
    }

    /// Product, or `None` where it outgrows 128 bits.
    pub fn product(self, other: Self) -> Option<Self> {
        // Cross-reduction first: the product of reduced fractions then overflows only if it must.
        let (a, b) = (gcd(self.num, other.den), gcd(other.num, self.den));
        Some(Self {
            num: (self.num / a).checked_mul(other.num / b)?,
            den: (self.den / b).checked_mul(other.den / a)?,
            pi: self.pi.checked_add(other.pi)?,
        })
    }

    /// Quotient, or `None` where it outgrows 128 bits or divides by zero.
    pub fn quotient(self, other: Self) -> Option<Self> {
        if other.num == 0 {
            return None;
        }
        self.product(Self { num: other.den, den: other.num, pi: other.pi.checked_neg()? })
    }

    /// Sum of two rationals without pi, or `None`.
    pub fn sum(self, other: Self) -> Option<Self> {
        if self.pi != 0 || other.pi != 0 {
            return None;
        }
        let (a, b) = (self.num.checked_mul(other.den)?, other.num.checked_mul(self.den)?);
        Some(Self::new(a.checked_add(b)?, self.den.checked_mul(other.den)?))
    }

    /// Integer power, or `None`.
    pub fn powi(self, power: i8) -> Option<Self> {
        let mut out = Self::ONE;
        for _ in 0..power.unsigned_abs() {
            out = if power > 0 { out.product(self)? } else { out.quotient(self)? };
        }
        Some(out)
    }

    /// The nearest double (of the rational part; pi adds one rounding).
    pub fn to_f64(self) -> f64 {
        let ratio = nearest(self.num, self.den);
        if self.pi == 0 { ratio } else { ratio * PI.powi(i32::from(self.pi)) }
    }
}

/// num/den correctly rounded: long division to 54 bits and a sticky bit.
fn nearest(num: u128, den: u128) -> f64 {
    const EXACT: u128 = 1 << 53;
    if num <= EXACT && den <= EXACT {
        return num as f64 / den as f64;
    }
    // Two bits of head room for the doublings below.
    if num >= 1 << 126 || den >= 1 << 126 {
        return num as f64 / den as f64;
    }
    let mut exponent = 0i32;
    let (mut n, mut d) = (num, den);
    while n >= d << 1 {
        d <<= 1;
        exponent += 1;
        if d >= 1 << 126 {
            return num as f64 / den as f64;
        }
    }
    while n < d {
        n <<= 1;
        exponent -= 1;
    }
    // d <= n < 2 d: the first of 54 quotient bits is one.
    let mut quotient = 0u64;
    for _ in 0..54 {
        quotient <<= 1;
        if n >= d {
            n -= d;
            quotient |= 1;
        }
        n <<= 1;
    }
    let (mut mantissa, half) = (quotient >> 1, quotient & 1 == 1);
    if half && (n != 0 || mantissa & 1 == 1) {
        mantissa += 1;
    }
    // Factors of 128-bit fractions stay far inside the range of doubles.
    mantissa as f64 * 2f64.powi(exponent - 52)
}

/// Greatest common divisor; gcd(0, n) = n.
const fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    if a == 0 { 1 } else { a }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn long_division_agrees_with_the_decimal_parser() {
        // The decimal parser of the standard library is correctly rounded: an outside judge.
        for (digits, power) in
            [(44_482_216_152_605_u128, 13_usize), (4_535_923_712_345_678_901, 10), (1, 30)]
        {
            let text = format!("{digits}e-{power}");
            let expected: f64 = text.parse().unwrap_or(f64::NAN);
            assert_eq!(nearest(digits, 10u128.pow(power as u32)), expected, "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_decimal_is_rounded_like_the_decimal_parser(digits in 1u128..10u128.pow(25), power in 0u32..30) {
            let expected: f64 = format!("{digits}e-{power}").parse().unwrap_or(f64::NAN);
            prop_assert_eq!(Exact::new(digits, 10u128.pow(power)).to_f64(), expected);
        }
    }
}
