//! Result classes: what the analyses return.

mod bridged;
mod frequency;
mod leveling;
mod shock;
mod snap_through;
mod statics;
mod steady;

pub use bridged::PyWhatIfBridged;
pub use frequency::{PyBaseTransmissibility, PyModes, PyResponse, PyTransmissibility};
pub use leveling::{
    PlacedPlan, PyLevelPlane, PyLevelState, PyLevelingInfluence, PyLevelingPlan, Settled,
};
pub use shock::{PyPeak, PyPointHistory, PyShock};
pub use snap_through::{PyCalibration, PyContactShock, PySnapThrough};
pub use statics::{
    NamedEnvelope, PlacedStatics, PyEnvelope, PyRailStep, PyStability, PyStatics, PyUnevenness,
};
pub use steady::{PySteady, PySteadyMotion, PyStrokeRateMap};
