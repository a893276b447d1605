//! A machine without and with a short circuit.

use pyo3::prelude::*;

use super::super::labeled::labeled;
use crate::analysis::WhatIfBridged;

labeled! {
    /// What a short circuit left in does to modes and floor force; see
    /// `Installation.what_if_bridged`.
    PyWhatIfBridged "WhatIfBridged" (WhatIfBridged)
    coords {
        "mode" => |r| (1..=r.mode_frequency_before.len()).collect::<Vec<_>>();
    }
    fields {
        frequency: ["frequency"] "Hz" "frequency" => |r| r.frequency;
        floor_force_before: ["frequency"] "1" "vertical force on the floor per unit force at the center of mass, without the bridge" => |r| r.floor_force_before;
        floor_force_after: ["frequency"] "1" "vertical force on the floor per unit force at the center of mass, with the bridge" => |r| r.floor_force_after;
        mode_frequency_before: ["mode"] "Hz" "natural frequency without the bridge" => |r| r.mode_frequency_before;
        mode_frequency_after: ["mode"] "Hz" "natural frequency with the bridge" => |r| r.mode_frequency_after;
        damping_ratio_before: ["mode"] "1" "damping ratio of each mode without the bridge" => |r| r.damping_ratio_before;
        damping_ratio_after: ["mode"] "1" "damping ratio of each mode with the bridge" => |r| r.damping_ratio_after;
    }
}

#[pymethods]
impl PyWhatIfBridged {
    /// Name of the bridge.
    #[getter]
    fn bridge(&self) -> &str {
        &self.0.bridge
    }

    /// The damping ratio asked for in every mode; None: the damping of the parts.
    #[getter]
    fn damping_ratio(&self) -> Option<f64> {
        self.0.damping_ratio
    }
}
