//! Axes inside a press: crown, slide, frame and drive, and the work force that breaks off.

use super::numbers::PressNumbers;
use crate::excitation::Work;
use crate::units::Dimension;

/// Numbers of a press that can be axes.
pub const PRESS: [(&str, Dimension); 10] = [
    ("crown_mass", Dimension::MASS),
    ("slide_mass", Dimension::MASS),
    ("frame_stiffness", Dimension::STIFFNESS),
    ("frame_damping", Dimension::DAMPING),
    ("frame_loss_factor", Dimension::RATIO),
    ("drive_stiffness", Dimension::STIFFNESS),
    ("drive_damping", Dimension::DAMPING),
    ("drive_loss_factor", Dimension::RATIO),
    ("clearance", Dimension::LENGTH),
    ("counterbalance", Dimension::FORCE),
];

/// Numbers of a work force that can be axes.
pub const BREAK: [(&str, Dimension); 8] = [
    ("force", Dimension::FORCE),
    ("rise", Dimension::TIME),
    ("dwell", Dimension::TIME),
    ("softened_to", Dimension::RATIO),
    ("softening_time", Dimension::TIME),
    ("release", Dimension::TIME),
    ("residual", Dimension::RATIO),
    ("residual_time", Dimension::TIME),
];

/// A number of crown, slide, frame or drive, if the press has it.
pub fn of_press<'a>(press: &'a mut PressNumbers, name: &str) -> Option<&'a mut f64> {
    match name {
        "crown_mass" => Some(&mut press.crown_mass),
        "slide_mass" => Some(&mut press.slide_mass),
        "frame_stiffness" => Some(&mut press.frame.stiffness),
        "frame_damping" => Some(&mut press.frame.damping),
        "frame_loss_factor" => Some(&mut press.frame.loss_factor),
        "drive_stiffness" => Some(&mut press.drive.stiffness),
        "drive_damping" => Some(&mut press.drive.damping),
        "drive_loss_factor" => Some(&mut press.drive.loss_factor),
        "clearance" => Some(&mut press.clearance),
        "counterbalance" => press.counterbalance.as_mut(),
        _ => None,
    }
}

/// A number of a work force; a curve has none.
pub fn of_force<'a>(work: &'a mut Work, name: &str) -> Option<&'a mut f64> {
    let Work::BreakThrough(force) = work else { return None };
    match name {
        "force" => Some(&mut force.force),
        "rise" => Some(&mut force.rise),
        "dwell" => Some(&mut force.dwell),
        "softened_to" => Some(&mut force.softened_to),
        "softening_time" => Some(&mut force.softening_time),
        "release" => Some(&mut force.release),
        "residual" => Some(&mut force.residual),
        "residual_time" => Some(&mut force.residual_time),
        _ => None,
    }
}
