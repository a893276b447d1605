//! Which instructions do the kernels use?
//!
//! Every kernel is compiled several times (baseline of the platform, AVX2 with FMA, AVX-512, NEON)
//! and the best version that the processor has is called. `UNDERFOOT_ISA=baseline`, `avx2`,
//! `avx512` or `neon` pins one version: tests run them all that way, and runs on unlike machines
//! give the same bits. The variable is read once.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::sync::OnceLock;

use crate::error::{Error, Result};

/// The variable that pins the instruction set.
pub const VARIABLE: &str = "UNDERFOOT_ISA";

/// A set of instructions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Isa {
    /// What every processor of the platform has.
    Baseline,
    /// AVX2 and FMA: four numbers at a time.
    Avx2,
    /// AVX-512 F, VL and DQ: eight numbers at a time.
    Avx512,
    /// NEON: two numbers at a time.
    Neon,
}

impl Isa {
    const ALL: [Self; 4] = [Self::Baseline, Self::Avx2, Self::Avx512, Self::Neon];

    /// Its name, as `UNDERFOOT_ISA` takes it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Baseline => "baseline",
            Self::Avx2 => "avx2",
            Self::Avx512 => "avx512",
            Self::Neon => "neon",
        }
    }

    /// True if this processor has it.
    pub fn is_supported(self) -> bool {
        match self {
            Self::Baseline => true,
            Self::Avx2 => has_avx2(),
            Self::Avx512 => has_avx512(),
            Self::Neon => cfg!(target_arch = "aarch64"),
        }
    }

    /// The widest that this processor has.
    pub fn best() -> Self {
        let widest = [Self::Avx512, Self::Avx2, Self::Neon];
        widest.into_iter().find(|isa| isa.is_supported()).unwrap_or(Self::Baseline)
    }

    /// The one of that name, if this processor has it.
    fn named(name: &str) -> Result<Self> {
        let supported = || {
            let names: Vec<_> =
                Self::ALL.iter().filter(|isa| isa.is_supported()).map(|isa| isa.name()).collect();
            names.join(", ")
        };
        let refused = |requirement: &str| {
            let requirement = format!("{requirement}; this processor has {}", supported());
            Error::invalid(VARIABLE, format!("{name:?}"), requirement, "unset it to use the best")
        };
        match Self::ALL.into_iter().find(|isa| isa.name() == name) {
            None => Err(refused("must be baseline, avx2, avx512 or neon")),
            Some(isa) if !isa.is_supported() => Err(refused("must be one the processor has")),
            Some(isa) => Ok(isa),
        }
    }
}

impl fmt::Display for Isa {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// The instruction set of this process: the best there is, or the one `UNDERFOOT_ISA` names.
///
/// # Errors
/// A name that is not known, or a set that the processor does not have.
pub fn instruction_set() -> Result<Isa> {
    static CHOSEN: OnceLock<Result<Isa>> = OnceLock::new();
    CHOSEN
        .get_or_init(|| match std::env::var_os(VARIABLE) {
            None => Ok(Isa::best()),
            Some(name) => Isa::named(&name.to_string_lossy()),
        })
        .clone()
}

#[cfg(target_arch = "x86_64")]
fn has_avx2() -> bool {
    is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma")
}

#[cfg(target_arch = "x86_64")]
fn has_avx512() -> bool {
    has_avx2()
        && is_x86_feature_detected!("avx512f")
        && is_x86_feature_detected!("avx512vl")
        && is_x86_feature_detected!("avx512dq")
}

#[cfg(not(target_arch = "x86_64"))]
fn has_avx2() -> bool {
    false
}

#[cfg(not(target_arch = "x86_64"))]
fn has_avx512() -> bool {
    false
}

/// `versions! { fn name(a: A) -> B = kernel }` makes `name(isa, a)` out of the generic
/// `#[inline(always)] fn kernel<const FUSED: bool>(a: A) -> B`, compiled for each instruction set.
/// FUSED tells whether a fused multiply-add is one instruction there (elsewhere it is a slow call).
/// A version that the processor lacks is never entered: each checks for itself.
macro_rules! versions {
    (
        $(#[$doc:meta])*
        $vis:vis fn $name:ident($($arg:ident: $type:ty),* $(,)?) $(-> $out:ty)? = $kernel:ident
    ) => {
        $(#[$doc])*
        #[allow(clippy::too_many_arguments)]
        $vis fn $name(isa: $crate::lanes::Isa, $($arg: $type),*) $(-> $out)? {
            fn baseline($($arg: $type),*) $(-> $out)? {
                if cfg!(target_arch = "aarch64") {
                    $kernel::<true>($($arg),*)
                } else {
                    $kernel::<false>($($arg),*)
                }
            }
            #[multiversion::multiversion(targets("x86_64+avx2+fma"))]
            fn avx2($($arg: $type),*) $(-> $out)? {
                if multiversion::target::target_cfg_f!(target_feature = "fma") {
                    $kernel::<true>($($arg),*)
                } else {
                    baseline($($arg),*)
                }
            }
            #[multiversion::multiversion(targets("x86_64+avx512f+avx512vl+avx512dq+avx2+fma"))]
            fn avx512($($arg: $type),*) $(-> $out)? {
                if multiversion::target::target_cfg_f!(target_feature = "fma") {
                    $kernel::<true>($($arg),*)
                } else {
                    baseline($($arg),*)
                }
            }
            match isa {
                $crate::lanes::Isa::Avx512 => avx512($($arg),*),
                $crate::lanes::Isa::Avx2 => avx2($($arg),*),
                // NEON is part of the baseline of its platform.
                $crate::lanes::Isa::Baseline | $crate::lanes::Isa::Neon => baseline($($arg),*),
            }
        }
    };
}
pub(crate) use versions;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_best_is_supported_and_found_by_its_name() {
        let best = Isa::best();
        assert!(best.is_supported());
        assert_eq!(Isa::named(best.name()), Ok(best));
        assert_eq!(Isa::named("baseline"), Ok(Isa::Baseline));
    }

    #[test]
    fn a_name_that_is_not_known_and_a_set_that_is_not_there_are_refused() {
        let message = Isa::named("sse9").unwrap_err().to_string();
        assert!(
            message.starts_with("UNDERFOOT_ISA = \"sse9\": must be baseline, avx2"),
            "{message}"
        );
        let missing = Isa::ALL.into_iter().find(|isa| !isa.is_supported());
        let missing = missing.expect("no processor has both AVX and NEON");
        let message = Isa::named(missing.name()).unwrap_err().to_string();
        assert!(message.contains("must be one the processor has"), "{message}");
    }
}
