//! Many systems at once, and the instructions that are used.

use ndarray::{Array1, Array2, Array3, ArrayView3, Axis};
use numpy::{AllowTypeChange, PyArrayLike1, PyArrayLike2, PyArrayLike3};
use pyo3::prelude::*;

use super::convert;
use super::detached;
use super::error::to_py;
use super::labeled::array;
use super::pulse::pulse as pulse_of;
use super::snap_through::work_of;
use crate::analysis::modes::many;
use crate::analysis::transient::{ManyRows, ManyShocks, many_shocks};
use crate::error::Error;
use crate::excitation::Segment;
use crate::units::Dimension;

/// Name of the instruction set that the kernels use: "baseline", "avx2", "avx512" or "neon".
///
/// The best that the processor has, or the one that the environment variable UNDERFOOT_ISA names.
///
/// Returns
/// -------
/// str
///
/// Raises
/// ------
/// InvalidError
///     If UNDERFOOT_ISA names none, or one that the processor does not have.
#[pyfunction]
pub fn instruction_set() -> PyResult<&'static str> {
    crate::lanes::instruction_set().map(crate::lanes::Isa::name).map_err(to_py)
}

/// Natural frequencies (design, mode), Hz, and shapes (design, dof, mode) of many small systems.
///
/// K phi = omega^2 M phi, Phi' M Phi = 1, for each design; frequencies ascending, the largest entry
/// of each shape positive. Each solution is checked by its residual.
///
/// Parameters
/// ----------
/// mass : (design, dof, dof)
///     Symmetric and positive definite, kg, kg m, kg m^2; or one for all (1, dof, dof).
/// stiffness : (design, dof, dof)
///     Symmetric, N/m, N, N m.
///
/// Returns
/// -------
/// tuple of arrays: frequency, shape
///
/// Raises
/// ------
/// ShapeError, InvalidError
///     For a mass that is not positive definite or a system with a negative omega^2, with its index.
#[pyfunction]
pub fn many_modes<'py>(
    py: Python<'py>,
    mass: &Bound<'py, PyAny>,
    stiffness: &Bound<'py, PyAny>,
) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)> {
    let (m, k) = (matrices(mass, "mass")?, matrices(stiffness, "stiffness")?);
    let (m, k) = (m.as_array(), k.as_array());
    let (frequency, shape): (Array2<f64>, Array3<f64>) = detached(py, || many(m, k))?;
    Ok((array(py, frequency)?, array(py, shape)?))
}

fn matrices<'py>(
    value: &Bound<'py, PyAny>,
    argument: &str,
) -> PyResult<PyArrayLike3<'py, f64, AllowTypeChange>> {
    let expected = "(design, dof, dof)";
    let array: PyArrayLike3<'_, f64, AllowTypeChange> =
        value.extract().map_err(|_| convert::shape(value, argument, expected))?;
    let (_, rows, columns) = array.as_array().dim();
    if rows == columns && rows > 0 {
        return Ok(array);
    }
    Err(to_py(Error::Shape {
        argument: argument.into(),
        found: format!("{:?}", array.as_array().dim()),
        expected: expected.into(),
    }))
}

/// Peaks of the answers of many small systems to a shock, from rest: signed values (design, output)
/// and their times (design, output), s.
///
/// M x'' + C x' + K x (+ H) = g f(t) for each design. What has one design stands for all. Peaks are
/// solved for, not sampled, with the same model of damping in time as `Installation.shock`.
///
/// Parameters
/// ----------
/// mass : (design, dof, dof)
///     Symmetric and positive definite, kg, kg m, kg m^2.
/// stiffness : (design, dof, dof)
///     Symmetric, N/m, N, N m.
/// pulse : pulse, BreakThrough or TimeCurve, or sequence of them
///     f(t), of all designs or of each.
/// direction : (dof,) or (design, dof)
///     g, the generalized force of a unit load.
/// damping : (design, dof, dof), optional
///     C, N s/m, N s, N m s.
/// loss : (design, dof, dof), optional
///     H, loss factor times stiffness.
/// loss_factor : float or (design,), optional
///     In place of loss: of the whole stiffness.
/// displacement, velocity, acceleration, force : (output, dof) or (design, output, dof), optional
///     What an output is the sum of: these rows times x, x', x'' and the generalized force of all
///     springs and dashpots. By default the outputs are that force.
/// duration : quantity, optional
///     End of the motion, s; until it has died away if left out.
///
/// Returns
/// -------
/// tuple of arrays: peak, time
///
/// Raises
/// ------
/// ShapeError, InvalidError, UnitError
///     What does not fit, and designs that have no such motion, with their index.
#[pyfunction]
#[pyo3(signature = (mass, stiffness, pulse, direction, *, damping=None, loss=None, loss_factor=None,
                    displacement=None, velocity=None, acceleration=None, force=None,
                    duration=None))]
#[allow(clippy::too_many_arguments)] // one keyword each, as users write them
pub fn many_shock_peaks<'py>(
    py: Python<'py>,
    mass: &Bound<'py, PyAny>,
    stiffness: &Bound<'py, PyAny>,
    pulse: &Bound<'py, PyAny>,
    direction: &Bound<'py, PyAny>,
    damping: Option<&Bound<'py, PyAny>>,
    loss: Option<&Bound<'py, PyAny>>,
    loss_factor: Option<&Bound<'py, PyAny>>,
    displacement: Option<&Bound<'py, PyAny>>,
    velocity: Option<&Bound<'py, PyAny>>,
    acceleration: Option<&Bound<'py, PyAny>>,
    force: Option<&Bound<'py, PyAny>>,
    duration: Option<&Bound<'py, PyAny>>,
) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)> {
    let (m, k) = (matrices(mass, "mass")?, matrices(stiffness, "stiffness")?);
    let c = damping.map(|c| matrices(c, "damping")).transpose()?;
    let h = losses(loss, loss_factor, k.as_array())?;
    let g = directions(direction)?;
    let loads = pulses(pulse)?;
    let duration = duration.map(|d| convert::scalar(d, "duration", Dimension::TIME)).transpose()?;
    let rows = [
        (displacement, "displacement"),
        (velocity, "velocity"),
        (acceleration, "acceleration"),
        (force, "force"),
    ];
    let [x, v, a, mut f] = rows.map(|(value, name)| value.map(|v| by_output(v, name)).transpose());
    if matches!((&x, &v, &a, &f), (Ok(None), Ok(None), Ok(None), Ok(None))) {
        f = Ok(Some(Array2::eye(g.ncols()).insert_axis(Axis(0))));
    }
    let (x, v, a, f) = (x?, v?, a?, f?);
    let (mass, stiffness) = (m.as_array(), k.as_array());
    let asked = ManyShocks {
        mass,
        stiffness,
        loss: h.as_ref().map(|h| h.view()),
        damping: c.as_ref().map(|c| c.as_array()),
        direction: g.view(),
        loads: &loads,
        rows: ManyRows {
            displacement: x.as_ref().map(|r| r.view()),
            velocity: v.as_ref().map(|r| r.view()),
            acceleration: a.as_ref().map(|r| r.view()),
            force: f.as_ref().map(|r| r.view()),
        },
        duration,
    };
    let (peak, time) = detached(py, || many_shocks(&asked).map(|found| found.peaks()))?;
    Ok((array(py, peak)?, array(py, time)?))
}

fn pulses(value: &Bound<'_, PyAny>) -> PyResult<Vec<Vec<Segment>>> {
    if let Ok(list) = value.extract::<Vec<Bound<'_, PyAny>>>() {
        let one = |(i, p): (usize, &Bound<'_, PyAny>)| history(p, &format!("pulse[{i}]"));
        return list.iter().enumerate().map(one).collect();
    }
    Ok(vec![history(value, "pulse")?])
}

/// Segments of a pulse, or of a work force over time.
fn history(value: &Bound<'_, PyAny>, argument: &str) -> PyResult<Vec<Segment>> {
    match work_of(value) {
        Ok(work) => Ok(work.segments),
        Err(_) => Ok(pulse_of(value, argument)?.segments()),
    }
}

/// H as given, or a loss factor times K.
fn losses(
    loss: Option<&Bound<'_, PyAny>>,
    factor: Option<&Bound<'_, PyAny>>,
    k: ArrayView3<'_, f64>,
) -> PyResult<Option<Array3<f64>>> {
    let (None, Some(factor)) = (loss, factor) else {
        if let (Some(_), Some(factor)) = (loss, factor) {
            let requirement = "must be left out where loss is given";
            let error =
                Error::invalid("loss_factor", factor.repr()?, requirement, "give one of them");
            return Err(to_py(error));
        }
        return loss.map(|h| Ok(matrices(h, "loss")?.as_array().to_owned())).transpose();
    };
    let factors = convert::list(factor, "loss_factor", Dimension::RATIO)?;
    let designs = k.dim().0;
    if factors.len() != 1 && designs != 1 && factors.len() != designs {
        return Err(to_py(Error::Shape {
            argument: "loss_factor".into(),
            found: format!("({},)", factors.len()),
            expected: format!("one number or ({designs},)"),
        }));
    }
    let (_, n, _) = k.dim();
    let all = (designs.max(factors.len()), n, n);
    let factors = Array1::from_vec(factors).insert_axis(Axis(1)).insert_axis(Axis(2));
    let product = k.broadcast(all).zip(factors.broadcast(all)).map(|(k, eta)| &k * &eta);
    Ok(product)
}

/// (dof,) or (design, dof).
fn directions(value: &Bound<'_, PyAny>) -> PyResult<Array2<f64>> {
    if let Ok(one) = value.extract::<PyArrayLike1<'_, f64, AllowTypeChange>>() {
        return Ok(one.as_array().to_owned().insert_axis(Axis(0)));
    }
    let each: PyArrayLike2<'_, f64, AllowTypeChange> = value
        .extract()
        .map_err(|_| convert::shape(value, "direction", "(dof,) or (design, dof)"))?;
    Ok(each.as_array().to_owned())
}

/// (output, dof) or (design, output, dof).
fn by_output(value: &Bound<'_, PyAny>, argument: &str) -> PyResult<Array3<f64>> {
    if let Ok(one) = value.extract::<PyArrayLike2<'_, f64, AllowTypeChange>>() {
        return Ok(one.as_array().to_owned().insert_axis(Axis(0)));
    }
    let expected = "(output, dof) or (design, output, dof)";
    let each: PyArrayLike3<'_, f64, AllowTypeChange> =
        value.extract().map_err(|_| convert::shape(value, argument, expected))?;
    Ok(each.as_array().to_owned())
}
