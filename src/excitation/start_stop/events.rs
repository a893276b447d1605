//! Start, stop, emergency stop, inching, stuck and freed: which speeds does the crank go through?

use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::speed::{Coupling, Phase, change};
use super::{DriveTrain, Side, shorter};
use crate::error::{Error, Result, finite, positive};

/// Something that the drive does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum DriveEvent {
    /// The clutch takes the crank from rest at the top to its working speed; it then runs on for one
    /// turn.
    Start {
        /// Time in which the clutch slips, s.
        clutch_time: f64,
        /// Part of it in which the torque rises, s.
        torque_rise: f64,
    },
    /// The clutch opens and the brake on the frame brings the crank to rest.
    Stop {
        /// Time from working speed to rest, s.
        brake_time: f64,
        /// Part of it in which the torque rises, s.
        torque_rise: f64,
        /// Angle of the crank at which braking begins, rad; `None`: so that it ends at the top.
        angle: Option<f64>,
    },
    /// Short runs one after the other: clutch, then brake, then a pause.
    Inch {
        /// Speed that is reached over the working speed, 0 to 1.
        speed_share: f64,
        /// Time in which the clutch slips, s.
        clutch_time: f64,
        /// Time from that speed to rest, s.
        brake_time: f64,
        /// Time at rest before the next run, s.
        pause: f64,
        /// How many runs.
        count: u32,
    },
    /// The slide sticks at the bottom: the crank stops within a short time, and the clutch slips on it
    /// with its full torque until it opens.
    Stick {
        /// Time in which the crank comes to rest, s.
        stop_time: f64,
        /// Torque of the slipping clutch on the crank, N m.
        clutch_torque: f64,
        /// How long it slips, s.
        slip_time: f64,
    },
    /// The stuck crank is freed backward: the clutch pulls against the crank, with the flywheel turning
    /// backward, until it lets go.
    Free {
        /// Torque on the crank at which it lets go, N m.
        clutch_torque: f64,
        /// Time in which the torque rises, s.
        rise: f64,
        /// Time at full torque before it lets go, s.
        hold: f64,
    },
}

/// Where the crank is and which phases follow.
pub(super) struct Plan {
    pub angle: f64,
    /// rad/s.
    pub speed: f64,
    pub phases: Vec<Phase>,
    /// The machine has been running for long.
    pub after_running: bool,
}

impl DriveEvent {
    /// Name in tables.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Start { .. } => "start",
            Self::Stop { .. } => "stop",
            Self::Inch { .. } => "inching",
            Self::Stick { .. } => "stuck at the bottom",
            Self::Free { .. } => "freed at the bottom",
        }
    }

    pub(super) fn plan(&self, drive: &DriveTrain) -> Result<Plan> {
        let omega = TAU * drive.speed;
        let (top, bottom) =
            (drive.top(), drive.slide.as_ref().map_or(0.0, |s| s.bottom_dead_center()));
        match *self {
            Self::Start { clutch_time, torque_rise } => {
                positive("clutch_time", clutch_time, "s")?;
                shorter("torque_rise", torque_rise, clutch_time, "the clutch time")?;
                let mut phases = change(omega, clutch_time, torque_rise, Coupling::Slipping);
                phases.push(Phase::new(1.0 / drive.speed, [0.0; 2], Coupling::Locked));
                Ok(Plan { angle: top, speed: 0.0, phases, after_running: false })
            }
            Self::Stop { brake_time, torque_rise, angle } => {
                positive("brake_time", brake_time, "s")?;
                shorter("torque_rise", torque_rise, brake_time, "the brake time")?;
                finite("angle", angle.unwrap_or(0.0), "rad")?;
                let phases = change(-omega, brake_time, torque_rise, Coupling::Open);
                // The angle through which it brakes.
                let end = super::speed::runs(0.0, omega, &phases);
                let turned = end.last().map_or(0.0, |run| run.at(run.end())[0]);
                let angle = angle.unwrap_or(top - turned);
                Ok(Plan { angle, speed: omega, phases, after_running: true })
            }
            Self::Inch { speed_share, clutch_time, brake_time, pause, count } => {
                if !(speed_share > 0.0 && speed_share <= 1.0) {
                    return Err(Error::invalid(
                        "speed_share",
                        speed_share,
                        "must be above 0 and at most 1",
                        "give the speed reached while inching over the working speed",
                    ));
                }
                positive("clutch_time", clutch_time, "s")?;
                positive("brake_time", brake_time, "s")?;
                positive("pause", pause, "s")?;
                if !(1..=1000).contains(&count) {
                    return Err(Error::invalid(
                        "count",
                        count,
                        "must be 1 to 1000",
                        "two or three runs show whether they build up",
                    ));
                }
                let top_speed = speed_share * omega;
                let mut phases = Vec::new();
                for _ in 0..count {
                    phases.extend(change(top_speed, clutch_time, 0.0, Coupling::Slipping));
                    phases.extend(change(-top_speed, brake_time, 0.0, Coupling::Open));
                    phases.push(Phase::new(pause, [0.0; 2], Coupling::Open));
                }
                Ok(Plan { angle: top, speed: 0.0, phases, after_running: false })
            }
            Self::Stick { stop_time, clutch_torque, slip_time } => {
                positive("stop_time", stop_time, "s")?;
                positive("slip_time", slip_time, "s")?;
                let held = held(drive, clutch_torque)?;
                let mut phases = change(-omega, stop_time, 0.0, Coupling::Open);
                phases.iter_mut().for_each(|phase| phase.held = [held; 2]);
                phases.push(Phase {
                    held: [held; 2],
                    ..Phase::new(slip_time, [0.0; 2], Coupling::Open)
                });
                let angle = bottom - 0.5 * omega * stop_time;
                Ok(Plan { angle, speed: omega, phases, after_running: true })
            }
            Self::Free { clutch_torque, rise, hold } => {
                positive("rise", rise, "s")?;
                positive("hold", hold, "s")?;
                let held = held(drive, clutch_torque)?;
                // Backward: the flywheel turns the other way.
                let still = |duration, held| Phase {
                    held,
                    ..Phase::new(duration, [0.0; 2], Coupling::Open)
                };
                let phases = vec![still(rise, [0.0, -held]), still(hold, [-held; 2])];
                Ok(Plan { angle: bottom, speed: 0.0, phases, after_running: false })
            }
        }
    }
}

/// Torque on the frame of a clutch that slips on a crank at rest, the driving side losing its
/// momentum at the rate R_f alpha_f = -T: J_f T / R_f, N m.
fn held(drive: &DriveTrain, torque: f64) -> Result<f64> {
    positive("clutch_torque", torque, "N m")?;
    let driving = drive.sums(Side::Driving);
    if driving.reflected == 0.0 {
        return Err(Error::invalid(
            "rotors",
            "none on the driving side",
            "a clutch needs something that turns on its driving side",
            "give the flywheel: inertia, ratio and side",
        ));
    }
    Ok(torque * driving.signed / driving.reflected)
}
