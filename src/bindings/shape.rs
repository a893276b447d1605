//! Outlines of rubber pads.

use pyo3::prelude::*;

use super::convert::scalar;
use super::error::to_py;
use super::stored::stored;
use crate::error::Error;
use crate::support::rubber::Shape;
use crate::units::Dimension;

/// One class per outline: constructor arguments with the field they become.
macro_rules! shapes {
    ($(
        $(#[doc = $doc:literal])+
        $class:ident $name:literal = $make:ident, $kind:ident {
            $($argument:ident: $meaning:literal),+
        }
    )+) => {
        $(
            $(#[doc = $doc])+
            #[pyclass(frozen, name = $name, module = "underfoot")]
            pub struct $class(pub Shape);

            #[pymethods]
            impl $class {
                #[new]
                fn new($($argument: &Bound<'_, PyAny>),+) -> PyResult<Self> {
                    Shape::$make(
                        $(scalar($argument, stringify!($argument), Dimension::LENGTH)?),+
                    )
                    .map(Self)
                    .map_err(to_py)
                }

                $(
                    #[doc = $meaning]
                    #[getter]
                    fn $argument(&self) -> f64 {
                        match self.0 {
                            Shape::$kind { $argument, .. } => $argument,
                            _ => f64::NAN,
                        }
                    }
                )+

                /// Loaded area, m^2.
                #[getter]
                fn area(&self) -> f64 {
                    self.0.area()
                }

                /// C of a thin bonded pad, Ec = C G S^2.
                #[getter]
                fn thin_pad_constant(&self) -> f64 {
                    self.0.thin_pad_constant()
                }

                /// Greatest over mean pressure of a thin bonded pad.
                #[getter]
                fn peak_over_mean(&self) -> f64 {
                    self.0.peak_over_mean()
                }

                /// Shape factor: loaded area over free area of a layer.
                ///
                /// Parameters
                /// ----------
                /// thickness : float, str or quantity
                ///     Of one layer, m.
                ///
                /// Returns
                /// -------
                /// float
                fn shape_factor(&self, thickness: &Bound<'_, PyAny>) -> PyResult<f64> {
                    let t = scalar(thickness, "thickness", Dimension::LENGTH)?;
                    let t = crate::error::positive("thickness", t, "m").map_err(to_py)?;
                    Ok(self.0.factor(t))
                }

                fn __repr__(&self) -> String {
                    let sides = [$(format!("{}={} m", stringify!($argument), self.$argument())),+];
                    format!("{}({})", $name, sides.join(", "))
                }
            }
            stored!($class, Shape);
        )+

        /// The outline behind any of these classes.
        pub fn outline(value: &Bound<'_, PyAny>) -> PyResult<Shape> {
            $(
                if let Ok(shape) = value.cast::<$class>() {
                    return Ok(shape.get().0);
                }
            )+
            Err(to_py(Error::invalid(
                "shape",
                value.repr()?,
                concat!("must be one of" $(, " ", $name)+),
                "build it with one of these",
            )))
        }
    };
}

shapes! {
    /// Round outline of a pad.
    ///
    /// Parameters
    /// ----------
    /// diameter : float, str or quantity
    ///     m.
    PyDisc "Disc" = disc, Disc { diameter: "Diameter, m." }

    /// Rectangular outline of a pad.
    ///
    /// Parameters
    /// ----------
    /// length, width : float, str or quantity
    ///     Sides along x and y, m.
    PyRectangle "Rectangle" = rectangle, Rectangle {
        length: "Side along x, m.", width: "Side along y, m."
    }

    /// Outline of a pad with a round hole, its edge free.
    ///
    /// Parameters
    /// ----------
    /// outer, inner : float, str or quantity
    ///     Diameters, m.
    PyRing "Ring" = ring, Ring { outer: "Outer diameter, m.", inner: "Inner diameter, m." }
}

/// The class of an outline.
pub fn shown(py: Python<'_>, shape: Shape) -> PyResult<Bound<'_, PyAny>> {
    Ok(match shape {
        Shape::Disc { .. } => Bound::new(py, PyDisc(shape))?.into_any(),
        Shape::Rectangle { .. } => Bound::new(py, PyRectangle(shape))?.into_any(),
        Shape::Ring { .. } => Bound::new(py, PyRing(shape))?.into_any(),
    })
}
