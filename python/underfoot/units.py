"""Units: text such as "92 000 lb" and pint quantities come in, SI numbers go on.

>>> import underfoot as uf
>>> uf.units.si("14 in", "length", "stroke")
0.3556
>>> uf.units.text(41730.49804, "lb")
'92000 lb'
"""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from math import pi
from numbers import Real
from typing import Any, NamedTuple

import numpy as np

from underfoot import _core
from underfoot.errors import ShapeError, UnitError, UnknownNameError

__all__ = ["Dimension", "Unit", "convert", "dimensions", "si", "table", "text"]


class Unit(NamedTuple):
    """One row of the table of units."""

    symbol: str
    name: str
    factor: float
    """Factor to SI."""
    exponents: tuple[int, int, int, int]
    """Exponents of kilogram, meter, second, radian."""
    definition: str


class Dimension(NamedTuple):
    """A kind of quantity."""

    name: str
    words: str
    exponents: tuple[int, int, int, int]
    """Exponents of kilogram, meter, second, radian."""
    si: str
    """SI unit."""
    us: str
    """Unit of reports in US customary units."""
    example: str


@lru_cache(maxsize=1)
def table() -> tuple[Unit, ...]:
    """Every unit that is read, with its exact factor to SI.

    >>> import underfoot as uf
    >>> next(u.factor for u in uf.units.table() if u.symbol == "in")
    0.0254
    """
    return tuple(Unit(*row) for row in _core.unit_table())


@lru_cache(maxsize=1)
def dimensions() -> dict[str, Dimension]:
    """Every kind of quantity, by name.

    >>> import underfoot as uf
    >>> uf.units.dimensions()["stiffness"].us
    'lbf/in'
    """
    return {row[0]: Dimension(*row) for row in _core.dimension_table()}


def convert(value: Any, unit: str) -> Any:
    """SI number or array in another unit.

    >>> import underfoot as uf
    >>> uf.units.convert(0.0508, "in")
    2.0
    """
    factor, _ = _core.unit_factor(unit)
    array = np.asarray(value)
    return value / factor if array.ndim == 0 else array / factor


def text(value: float, unit: str, digits: int | None = None) -> str:
    """SI number as text in another unit, rounded to significant digits if given.

    >>> import underfoot as uf
    >>> uf.units.text(5.0e6, "lbf/in", digits=3)
    '28600 lbf/in'
    """
    return str(_core.format_quantity(float(value), unit, digits))


def si(value: Any, dimension: str, argument: str) -> Any:
    """Number or array in SI.

    Parameters
    ----------
    value : number, array, text, pint quantity, or a sequence of these
        Plain numbers are SI already and come back as they are.
    dimension : str
        Kind of quantity, see `dimensions()`.
    argument : str
        Name of the argument, for the message.

    Returns
    -------
    float or numpy.ndarray

    Raises
    ------
    UnitError
        A text that cannot be read, or another dimension than the expected one.

    Notes
    -----
    An angular velocity where a frequency is expected is divided by 2 pi: 600 rpm is 10 Hz,
    whether it comes as text or from pint (whose own `to("Hz")` says 62.8).
    """
    expected = dimensions().get(dimension)
    if expected is None:
        names = ", ".join(dimensions())
        raise UnknownNameError(
            f'dimension: "{dimension}" is not known; use one of {names}',
            argument="dimension",
            value=dimension,
            allowed=names,
        )
    return _si(value, expected, argument)


def _si(value: Any, expected: Dimension, argument: str) -> Any:
    if isinstance(value, str):
        return _core.parse_quantity(argument, value, expected.name)
    if isinstance(value, (bool, np.bool_)):
        what = f"a truth value, but {expected.words} is expected"
        raise _refused(value, what, expected, argument)
    if hasattr(value, "magnitude") and hasattr(value, "to_root_units"):
        return _from_pint(value, expected, argument)
    if isinstance(value, float):
        return value
    if isinstance(value, np.ndarray):
        if value.dtype == bool:
            what = f"truth values, but {expected.words} is expected"
            raise _refused(value, what, expected, argument)
        if value.dtype.kind in "iuf":
            return value
        if value.dtype.kind in "OU":
            return _si(value.tolist(), expected, argument)
    if isinstance(value, (list, tuple)):
        return _sequence(value, expected, argument)
    if isinstance(value, (Real, Decimal)):
        return _float(value)
    return _array(value, expected, argument)


def _float(value: Real | Decimal) -> float:
    try:
        return float(value)
    except OverflowError:  # an integer too great for a float: refused later as not finite
        return float("inf") if abs(value) == value else float("-inf")


def _array(value: Any, expected: Dimension, argument: str) -> Any:
    """Anything else that NumPy reads as real numbers (range, a series of a table)."""
    array = np.asarray(value)
    if array.dtype.kind not in "iuf":
        # Complex numbers, dates and whatever is no number: NumPy would cast some in silence.
        what = f"no real number ({type(value).__name__}), but {expected.words} is expected"
        raise _refused(value, what, expected, argument)
    return array


def _sequence(value: Any, expected: Dimension, argument: str) -> Any:
    items = [_si(item, expected, f"{argument}[{i}]") for i, item in enumerate(value)]
    try:
        return np.asarray(items)
    except ValueError as ragged:
        raise ShapeError(
            f"{argument} has shape ragged: rows of one length are required",
            argument=argument,
            found="ragged",
            expected="rows of one length",
        ) from ragged


def _from_pint(quantity: Any, expected: Dimension, argument: str) -> Any:
    """A quantity of any pint registry, by its methods alone: pint need not be imported here."""
    root = quantity.to_root_units()
    powers = {str(unit): power for unit, power in root.unit_items()}
    radians = powers.pop("radian", 0)
    for counted in ("count", "bit"):
        powers.pop(counted, None)
    kilograms, meters, seconds, angle = expected.exponents
    # Every registry has its own root units (gram or kilogram): ask for SI by name.
    wanted = {"[mass]": kilograms, "[length]": meters, "[time]": seconds}
    found = {str(base): power for base, power in quantity.dimensionality.items()}
    if {k: v for k, v in wanted.items() if v} != found:
        what = f"{quantity.units} is {_words(found)}, but {expected.words} is expected"
        raise _refused(quantity, what, expected, argument)
    is_rate = expected.name in ("frequency", "angular_velocity")
    if not is_rate and radians not in (0, angle):
        what = f"{quantity.units} is an angle, but {expected.words} is expected"
        raise _refused(quantity, what, expected, argument)
    magnitude = quantity.to(_pint_si(kilograms, meters, seconds, radians)).magnitude
    value = _si(magnitude, expected, argument)
    if is_rate and radians != angle:
        value = value / (2 * pi) if radians else value * (2 * pi)
    return value


def _pint_si(kilograms: int, meters: int, seconds: int, radians: int) -> str:
    bases = {"kilogram": kilograms, "meter": meters, "second": seconds, "radian": radians}
    return " * ".join(f"{b} ** ({p})" for b, p in bases.items() if p) or "dimensionless"


def _words(dimensionality: dict[str, float]) -> str:
    order = ("[mass]", "[length]", "[time]")
    powers = tuple(dimensionality.get(base, 0) for base in order)
    if set(dimensionality) <= set(order):
        for kind in dimensions().values():
            if kind.exponents[:3] == powers:
                return kind.words
    return " ".join(f"{base}^{power:g}" for base, power in dimensionality.items())


def _refused(value: Any, problem: str, expected: Dimension, argument: str) -> UnitError:
    remedy = f"write for example {expected.example}"
    return UnitError(
        f'{argument} = "{value}": {problem}; {remedy}',
        argument=argument,
        text=str(value),
        problem=problem,
        remedy=remedy,
    )
