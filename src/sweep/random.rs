//! Where do random numbers come from? A word for any seed and place, so that a design's numbers do
//! not depend on which designs were drawn before it, or on which machine.
//!
//! Word n of seed s is output n of the generator SplitMix64 started at s: the counter
//! s + (n + 1) 0x9e3779b97f4a7c15, mixed.
//!
//! Source: G. L. Steele, D. Lea, C. H. Flood, Fast splittable pseudorandom number generators, OOPSLA
//! 2014, figure 16 (constants from memory, held against published outputs in the tests).
//!
//! The standard normal quantile is algorithm AS 241 (PPND16): M. J. Wichura, Applied Statistics 37
//! (1988), p. 477 (coefficients from memory, held against another library in the tests); relative
//! error about 1e-16.

/// Word `n` of a seed.
pub fn word(seed: u64, n: u64) -> u64 {
    let mut z = seed.wrapping_add(n.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Number `n` of a seed, in 0..1 without its ends.
pub fn uniform(seed: u64, n: u64) -> f64 {
    ((word(seed, n) >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
}

/// Standard normal distribution function.
pub fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// z with P(Z < z) = p for a standard normal Z; p in 0..1 without its ends.
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * ratio(&CENTER, r);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = libm::sqrt(-libm::log(tail));
    let z = if r <= 5.0 { ratio(&MIDDLE, r - 1.6) } else { ratio(&FAR, r - 5.0) };
    z.copysign(q)
}

/// Quotient of two polynomials, coefficients ascending.
fn ratio([above, below]: &[[f64; 8]; 2], r: f64) -> f64 {
    let polynomial = |c: &[f64; 8]| c.iter().rev().fold(0.0, |sum, &c| sum * r + c);
    polynomial(above) / polynomial(below)
}

#[rustfmt::skip]
const CENTER: [[f64; 8]; 2] = [
    [3.387_132_872_796_366_5, 1.331_416_678_917_843_8e2, 1.971_590_950_306_551_4e3,
     1.373_169_376_550_946e4, 4.592_195_393_154_987e4, 6.726_577_092_700_87e4,
     3.343_057_558_358_813e4, 2.509_080_928_730_122_7e3],
    [1.0, 4.231_333_070_160_091e1, 6.871_870_074_920_579e2, 5.394_196_021_424_751e3,
     2.121_379_430_158_659_7e4, 3.930_789_580_009_271e4, 2.872_908_573_572_194_3e4,
     5.226_495_278_852_854e3],
];

#[rustfmt::skip]
const MIDDLE: [[f64; 8]; 2] = [
    [1.423_437_110_749_683_5, 4.630_337_846_156_546, 5.769_497_221_460_691,
     3.647_848_324_763_204_5, 1.270_458_252_452_368_4, 2.417_807_251_774_506e-1,
     2.272_384_498_926_918_4e-2, 7.745_450_142_783_414e-4],
    [1.0, 2.053_191_626_637_759, 1.676_384_830_183_803_8, 6.897_673_349_851e-1,
     1.481_039_764_274_800_8e-1, 1.519_866_656_361_645_7e-2, 5.475_938_084_995_345e-4,
     1.050_750_071_644_416_9e-9],
];

#[rustfmt::skip]
const FAR: [[f64; 8]; 2] = [
    [6.657_904_643_501_103, 5.463_784_911_164_114, 1.784_826_539_917_291_3,
     2.965_605_718_285_048_7e-1, 2.653_218_952_657_612_4e-2, 1.242_660_947_388_078_4e-3,
     2.711_555_568_743_487_6e-5, 2.010_334_399_292_288_1e-7],
    [1.0, 5.998_322_065_558_88e-1, 1.369_298_809_227_358e-1, 1.487_536_129_085_061_5e-2,
     7.868_691_311_456_133e-4, 1.846_318_317_510_054_7e-5, 1.421_511_758_316_446e-7,
     2.044_263_103_389_939_8e-15],
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_those_published_for_the_generator() {
        // Outputs for the seed 1234567 as widely printed with the reference code (from memory).
        let known = [6457827717110365317, 3203168211198807973, 9817491932198370423];
        assert_eq!([0, 1, 2].map(|n| word(1_234_567, n)), known);
    }

    #[test]
    fn quantiles_are_those_of_the_table() {
        // Wichura 1988, section on accuracy (from memory): ppnd(0.25), ppnd(0.001), ppnd(1e-20).
        let known = [
            (0.25, -0.674_489_750_196_081_7),
            (0.001, -3.090_232_306_167_813_5),
            (1e-20, -9.262_340_089_798_408),
        ];
        for (p, z) in known {
            assert!((normal_quantile(p) / z - 1.0_f64).abs() < 4e-16, "{p}");
        }
    }

    #[test]
    fn the_quantile_undoes_the_distribution_function() {
        for i in -700..=400 {
            let z = f64::from(i) / 100.0;
            let back = normal_quantile(normal_below(z));
            assert!((back - z).abs() < 1e-11, "{z} {back}");
        }
    }
}
