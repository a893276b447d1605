//! Result classes: what the analyses return.

mod bridged;
mod frequency;
mod leveling;
mod shock;
mod statics;
mod steady;

pub use bridged::PyWhatIfBridged;
pub use frequency::{PyBaseTransmissibility, PyModes, PyResponse, PyTransmissibility};
pub use leveling::{
    PlacedPlan, PyLevelPlane, PyLevelState, PyLevelingInfluence, PyLevelingPlan, Settled,
};
pub use shock::{PyPeak, PyPointHistory, PyShock};
pub use statics::{
    NamedEnvelope, PlacedStatics, PyEnvelope, PyRailStep, PyStability, PyStatics, PyUnevenness,
};
pub use steady::{PySteady, PySteadyMotion, PyStrokeRateMap};
