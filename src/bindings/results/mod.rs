//! Result classes: what the analyses return.

mod bridged;
mod frequency;
mod leveling;
mod leveling_plan;
mod shock;
mod snap_through;
mod statics;
mod steady;

pub use bridged::PyWhatIfBridged;
pub use frequency::{PyBaseTransmissibility, PyModes, PyResponse, PyTransmissibility};
pub use leveling::{PyLevelPlane, PyLevelState, PyLevelingInfluence};
pub use leveling_plan::{PlacedPlan, PyLevelingPlan};
pub use shock::{PyPeak, PyPointHistory, PyShock};
pub use snap_through::{PyCalibration, PyContactShock, PySnapThrough};
pub use statics::{
    NamedEnvelope, PlacedStatics, PyEnvelope, PyRailStep, PyStability, PyStatics, PyUnevenness,
};
pub use steady::{PySteady, PySteadyMotion, PyStrokeRateMap};
