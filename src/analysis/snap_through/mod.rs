//! The material breaks: what do drive, frame, bed, mounts and floor feel?
//!
//! The work force F(t) acts on the slide's freedom alone (see [`crate::machine::press`]): it is
//! internal, and what reaches the floor is the inertia of crown and slide as the stretched frame snaps
//! back. The frame and the drive store F^2 / (2 k), k their stiffness in series. The drive is first
//! compressed, then pulled: its least force is the reverse load, which is compared with a part of the
//! press's rating. The column (frame) has its own, and no fixed ratio to it.
//!
//! Without clearance, lift-off or stops the motion is the exact transient; with them the exact pieces
//! of [`super::hybrid`]. Forces of the drive include that at rest where a counterbalance is given.
//!
//! Assumptions: those of the press and of the laws of the mounts. A plain dashpot passes on ever more
//! force with frequency, and at 90 to 160 Hz, where frames swing, real mounts do not: the result
//! warns where dashpots carry more than half of the peak on the floor.
//!
//! Source: mechanics; the limit of 10 % of the rating is a trade figure with its
//! source ([`crate::machine::press::REVERSE_LIMIT`]).

mod bolted;
mod calibrate;
mod cautions;
mod equivalent;
mod gauge;
mod sources;
mod system;

pub use calibrate::{Calibration, CalibrationOptions, PARAMETERS, calibrate_snap_through};
pub use equivalent::equivalent_pulse;
pub use gauge::{Gauge, GaugeFilter};
pub use system::shaken;

use nalgebra::Vector3;
use ndarray::{Array1, Array2, Array3, Axis as Along};
use serde::{Deserialize, Serialize};

use cautions::{DASHPOTS, dashpots, ends_at_once, rings_on, within_rating};
use sources::by_source;

use super::hybrid::{Event, HybridOptions, Load};
use super::motion::{Motion, Quantity};
use super::transient::{self, Extrema, TimeModel};
use crate::error::{Error, Result, positive};
use crate::excitation::{BreakThrough, Cushion, Segment, SlideStop, Source, Work};
use crate::installation::{Installation, Point, port};
use crate::machine::Press;
use crate::machine::press::{CROWN, DRIVE, FRAME, SLIDE};
use crate::system::ContactRule;

/// Samples chosen without being asked, at most.
const MOST_SAMPLES: f64 = 20_000.0;
/// Samples in a period of the fastest vibration.
const PER_PERIOD: f64 = 20.0;

/// How it is computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
pub struct SnapThroughOptions {
    /// End of the motion, s; by default until it has died away.
    pub duration: Option<f64>,
    /// Step of the histories, s. Peaks do not depend on it.
    pub dt: Option<f64>,
    /// A force above the rating is a warning, not an error.
    pub overload: bool,
    /// When a contact touches.
    pub rule: ContactRule,
    /// Mounts only push.
    pub lift_off: bool,
    /// Reverse load that the press stands as a part of its rating, in place of the press's own.
    pub reverse_limit: Option<f64>,
    /// Cylinders and cushions that push back.
    pub cushions: Vec<Cushion>,
    /// Stop blocks and damper cylinders beside the tool.
    pub slide_stops: Vec<SlideStop>,
}

/// A force between slide and bed over time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WorkForce {
    /// In closed form.
    pub segments: Vec<Segment>,
    /// Greatest value, N.
    pub peak: f64,
    /// Where the tool is, m; `None`: below the slide.
    pub point: Option<Vector3<f64>>,
}

impl From<&BreakThrough> for WorkForce {
    fn from(force: &BreakThrough) -> Self {
        Self { segments: force.segments(), peak: force.force, point: force.point }
    }
}

impl From<&Work> for WorkForce {
    fn from(work: &Work) -> Self {
        Self { segments: work.segments(), peak: work.peak(), point: work.point() }
    }
}

/// What snap-through does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SnapThrough {
    /// Time of the samples, s.
    pub time: Vec<f64>,
    /// Work force, cushions left out (time), N.
    pub work_force: Array1<f64>,
    /// Force in the drive (time), N: positive where the slide pushes the crown up.
    pub drive_force: Array1<f64>,
    /// Force in the column (frame), N: positive where it is stretched.
    pub column_force: Array1<f64>,
    /// Vertical acceleration of the bed at the tool, m/s^2.
    pub bed_acceleration: Array1<f64>,
    /// Vertical acceleration of the crown, m/s^2.
    pub crown_acceleration: Array1<f64>,
    /// Vertical acceleration of the slide, m/s^2.
    pub slide_acceleration: Array1<f64>,
    /// (time, mount, 3): force of each mount on the ground, N.
    pub mount_force: Array3<f64>,
    /// (time, 6): wrench on the ground, N and N m.
    pub ground_wrench: Array2<f64>,
    /// Vertical force on the floor of the same press bolted to a rigid floor, N.
    pub bolted_force: Array1<f64>,
    /// (time, 2): couple of the guides on the body about x and y, N m.
    pub guide_moment: Array2<f64>,
    /// Names of the mounts.
    pub mount_names: Vec<String>,
    /// Greatest and least of each, in this order: see [`PEAKS`].
    pub peaks: Vec<Extrema>,
    /// Greatest and least force of each mount, x y z of each, N.
    pub mount_peaks: Vec<Extrema>,
    /// Greatest and least wrench on the ground, N and N m.
    pub ground_peaks: Vec<Extrema>,
    /// The same by source, the break and the cushions, each as if the other were silent: they peak at
    /// different times, and do not add up.
    pub sources: Vec<(Source, Vec<Extrema>)>,
    /// Greatest work force, N.
    pub force: f64,
    /// Energy in frame and drive under it, J.
    pub stored_energy: f64,
    /// Greatest pull in the drive, N, zero or more.
    pub reverse_load: f64,
    /// Greatest push in the column, N, zero or more.
    pub column_reverse_load: f64,
    /// Rated force, N.
    pub rated_force: Option<f64>,
    /// Reverse load that the press stands, as a part of its rating.
    pub reverse_limit: f64,
    /// Greatest force of dashpots on the floor over that of all, vertical.
    pub dashpot_share: f64,
    /// Greatest force of a pair at the ends of the gibs, N, where their length is known.
    pub guide_force: Option<f64>,
    /// What stands for the damping in time.
    pub time_model: TimeModel,
    /// Greatest relative error of its dynamic stiffness over its band.
    pub time_model_error: f64,
    /// Changes of contact.
    pub events: Vec<Event>,
    /// When contacts touch.
    pub rule: ContactRule,
    /// What to know before using the numbers.
    pub warnings: Vec<String>,
    /// The exact motion.
    pub motion: Motion,
}

/// Order of [`SnapThrough::peaks`].
pub const PEAKS: [&str; 8] = [
    "drive_force",
    "column_force",
    "bed_acceleration",
    "crown_acceleration",
    "slide_acceleration",
    "bolted_force",
    "guide_moment_x",
    "guide_moment_y",
];

impl SnapThrough {
    /// Greatest and least of a quantity of [`PEAKS`].
    pub fn peak(&self, name: &str) -> Option<&Extrema> {
        PEAKS.iter().position(|&n| n == name).and_then(|i| self.peaks.get(i))
    }

    /// Reverse load in the drive over the greatest work force.
    pub fn reverse_fraction(&self) -> f64 {
        self.reverse_load / self.force
    }

    /// Reverse load in the column over the greatest work force.
    pub fn column_reverse_fraction(&self) -> f64 {
        self.column_reverse_load / self.force
    }

    /// Reverse load in the drive over the rated force.
    pub fn reverse_of_rating(&self) -> Option<f64> {
        self.rated_force.map(|rated| self.reverse_load / rated)
    }

    /// What is left of the reverse load that the press stands, N; negative: too much.
    pub fn reverse_margin(&self) -> Option<f64> {
        self.rated_force.map(|rated| self.reverse_limit * rated - self.reverse_load)
    }
}

/// Snap-through of a press in a load case.
///
/// # Errors
/// [`Error::Invalid`] without a press or above its rating; those of the analyses.
pub fn snap_through(
    inst: &Installation,
    case: Option<&str>,
    work: &WorkForce,
    options: &SnapThroughOptions,
) -> Result<SnapThrough> {
    let press = press_of(inst)?;
    let mut warnings = Vec::new();
    let mut segments = work.segments.clone();
    segments.extend(options.cushions.iter().flat_map(Cushion::segments));
    let peak = if options.cushions.is_empty() { work.peak } else { greatest(&segments) };
    within_rating(press, peak, options.overload, &mut warnings)?;
    ends_at_once(work, &mut warnings);
    rings_on(press, &mut warnings);
    let system = shaken(inst, case, options)?;
    warnings.extend(system.warnings);
    let load = Load { segments, direction: press.work() };
    let run = HybridOptions { duration: options.duration, ..HybridOptions::default() };
    let motion = Motion::new(&system.hybrid, std::slice::from_ref(&load), &run)?;
    let bolted = bolted::bolted(&system.hybrid, &load, motion.duration())?;
    let (body, _) = inst.case(case)?;
    let tool = work.point.unwrap_or(Vector3::new(
        press.slide.position.x,
        press.slide.position.y,
        body.center().z,
    ));
    let all = quantities(&motion, press, &tool, body.center())?;
    let at_rest = press.drive_at_rest(inst.gravity).unwrap_or(0.0);
    let dt = step(&motion, options.dt, &mut warnings)?;
    let arrays = motion.sample(&all.each_ref(), dt)?;
    let count = arrays[0].nrows();
    let time: Vec<f64> = (0..count).map(|i| i as f64 * dt).collect();
    let work_force: Array1<f64> = time.iter().map(|&t| value(&work.segments, t)).collect();
    let column = |i: usize| arrays[i].index_axis(Along(1), 0).to_owned();
    let drive_force = column(0) + at_rest;
    let mounts: Vec<String> =
        motion.linear().grounded().map(|(e, _)| e.label.name.clone()).collect();
    let forces = arrays[5].clone().into_shape_with_order((count, mounts.len(), 3));
    let mount_force = forces.map_err(|e| Error::Shape {
        argument: "mount_force".into(),
        found: e.to_string(),
        expected: format!("({count}, {}, 3)", mounts.len()),
    })?;
    let bolted_samples = bolted.0.sample(&[&bolted.1], dt)?;
    let guides = guides(&all, press, &tool)?;
    let couples = motion.sample(&guides.each_ref(), dt)?;
    let still = press.drive_couple().map(|arm| arm * at_rest);
    let guide_moment =
        Array2::from_shape_fn((count, 2), |(i, axis)| couples[axis][[i, 0]] + still[axis]);
    let mut peaks: Vec<Extrema> = (0..5).map(|i| motion.extrema(&all[i]).remove(0)).collect();
    shift(&mut peaks[0], at_rest);
    peaks.push(bolted.0.extrema(&bolted.1).remove(0));
    for (couple, still) in guides.iter().zip(still) {
        let mut peak = motion.extrema(couple).remove(0);
        shift(&mut peak, still);
        peak.unit = "N m".into();
        peaks.push(peak);
    }
    for (peak, name) in peaks.iter_mut().zip(PEAKS) {
        peak.name = name.into();
    }
    let ground_peaks = motion.extrema(&all[6]);
    let dashpot_share = dashpots(&motion, &ground_peaks[2])?;
    if dashpot_share > DASHPOTS {
        warnings.push(format!(
            "dashpots carry {:.0} % of the peak vertical force on the floor: a plain dashpot \
             overstates it at frame frequencies; give the mounts a loss factor or a zener law",
            100.0 * dashpot_share
        ));
    }
    let stored = work.peak * work.peak / (2.0 * press.series_stiffness());
    let guide_force = press.guide_length.map(|length| {
        let most = |e: &Extrema| e.max.value.abs().max(e.min.value.abs());
        most(&peaks[6]).hypot(most(&peaks[7])) / length
    });
    let reverse_load = (-peaks[0].min.value).max(0.0);
    if press.rated_force.is_none() {
        warnings.push("no rated force: reverse load is not judged".into());
    }
    let sources = by_source(&system.hybrid, &load, work.segments.len(), &run, &ground_peaks)?;
    Ok(SnapThrough {
        sources,
        work_force,
        drive_force,
        column_force: column(1),
        bed_acceleration: column(2),
        crown_acceleration: column(3),
        slide_acceleration: column(4),
        mount_force,
        ground_wrench: arrays[6].clone(),
        bolted_force: bolted_samples[0].index_axis(Along(1), 0).to_owned(),
        guide_moment,
        mount_names: mounts,
        mount_peaks: motion.extrema(&all[5]),
        ground_peaks,
        force: work.peak,
        stored_energy: stored,
        reverse_load,
        column_reverse_load: (-peaks[1].min.value).max(0.0),
        rated_force: press.rated_force,
        reverse_limit: match options.reverse_limit {
            Some(limit) => positive("reverse_limit", limit, "")?,
            None => press.reverse_limit,
        },
        dashpot_share,
        guide_force,
        time_model: motion.at_rest().time_model,
        time_model_error: motion.at_rest().time_model_error,
        events: motion.events().to_vec(),
        rule: options.rule,
        warnings,
        time,
        peaks,
        motion,
    })
}

/// The press of an installation.
///
/// # Errors
/// [`Error::Invalid`] if it has none.
pub fn press_of(inst: &Installation) -> Result<&Press> {
    inst.press.as_ref().ok_or_else(|| {
        Error::invalid(
            "press",
            "one rigid body",
            "snap-through needs a press whose crown and slide move inside it",
            "give the installation a Press: the work force is internal, and a rigid body does not \
             feel it",
        )
    })
}

/// Greatest sum of forces between slide and bed, looked for between and at their ends.
fn greatest(segments: &[Segment]) -> f64 {
    const LOOKS: usize = 64;
    let inside = |s: &Segment| {
        let length = s.end.min(s.start + 10.0) - s.start;
        let start = s.start;
        (0..LOOKS).map(move |i| start + length * i as f64 / LOOKS as f64)
    };
    let times = segments.iter().flat_map(inside);
    times.map(|t| value(segments, t)).fold(0.0, f64::max)
}

/// Drive, column, bed, crown, slide, mounts, ground.
fn quantities(
    motion: &Motion,
    press: &Press,
    tool: &Vector3<f64>,
    center: &Vector3<f64>,
) -> Result<[Quantity; 7]> {
    let missing = || Error::invalid("press", "no drive", "the system has none", "give a press");
    let element = |kind: &str| motion.element_force(kind).ok_or_else(missing);
    let up = |port: &crate::system::Port| motion.point_acceleration(port)?.component(2);
    let bed = Point { name: "tool".into(), at: *tool };
    Ok([
        element(DRIVE)?,
        element(FRAME)?,
        up(&port(&bed, center))?,
        up(&press.port(CROWN, center))?,
        up(&press.port(SLIDE, center))?,
        motion.mount_force(),
        motion.ground_wrench(),
    ])
}

fn step(motion: &Motion, asked: Option<f64>, warnings: &mut Vec<String>) -> Result<f64> {
    if let Some(dt) = asked {
        return transient::step(dt, motion.duration());
    }
    let fine = motion.at_rest().shortest_period() / PER_PERIOD;
    let least = motion.duration() / MOST_SAMPLES;
    if fine < least {
        warnings.push(format!(
            "histories are sampled every {least:.3e} s, which is coarse for the fastest vibration; \
             peaks are exact all the same"
        ));
    }
    Ok(fine.max(least).min(motion.duration()))
}

/// A force in closed form at time t; just after a jump.
pub(super) fn value(segments: &[Segment], t: f64) -> f64 {
    segments.iter().filter(|s| s.start <= t && t < s.end).map(|s| s.value(t)).sum()
}

fn shift(peak: &mut Extrema, by: f64) {
    peak.max.value += by;
    peak.min.value += by;
}

/// Couple of the guides on the body about x and y beyond that at rest: of the tool's force, which is
/// m_s z_s'' + D, and of the drive's. Cushions and stops count as if they stood at the tool.
fn guides(all: &[Quantity; 7], press: &Press, tool: &Vector3<f64>) -> Result<[Quantity; 2]> {
    let both = all[0].joined(&all[4])?;
    let (of_tool, of_drive) = (press.tool_couple(tool), press.drive_couple());
    let about = |i: usize| {
        both.combined("guide", &[of_tool[i] + of_drive[i], of_tool[i] * press.slide.mass])
    };
    Ok([about(0)?, about(1)?])
}
