//! How is it set level, and brought back after the foundation settles?
//!
//! From readings to the plane (`readings`), from settlement to level and load (`settlement`,
//! `standing`), what one turn of each screw does (`influence`, `one_turn`), the plan (`plan`,
//! `limits`, `best`, `solve`, `quantize`, `sequence`), whether it is the best (`conditions`) or why
//! there is none (`infeasible`), how level is level enough (`tolerance`), and the sheet for the
//! millwright (`setting`, `sheet`).
//!
//! Settlement counts down positive, adjustment up positive. All lengths are meters, all levels
//! radians (1 mm/m is 0.001).

mod best;
pub mod conditions;
pub mod infeasible;
pub mod influence;
pub mod limits;
mod nnls;
pub mod one_turn;
pub mod plan;
pub mod quantize;
pub mod readings;
pub mod request;
pub mod sequence;
pub mod setting;
pub mod settlement;
pub mod sheet;
pub mod solve;
pub mod standing;
pub mod tolerance;
mod vertex;

pub use conditions::Conditions;
pub use infeasible::{Conflict, Give};
pub use influence::{Frame, Influence};
pub use limits::{Group, LimitKind};
pub use one_turn::{OneTurn, one_turn_lift, one_turn_words};
pub use plan::{CaseLevel, Later, LevelingPlan, Outcome, leveling_plan};
pub use quantize::Quantized;
pub use readings::{Fitted, Plane, Quantity, Reading, ReadingOptions, divisions, plane};
pub use request::{Request, Start};
pub use sequence::{Sequence, Step};
pub use settlement::{Drift, State, Subgrade, from_subgrade};
pub use sheet::{SheetUnits, sheet_html, sheet_text};
pub use solve::Objective;
pub use standing::{Settled, settled};
pub use tolerance::{StationLevel, Surfaces, parallelism};
