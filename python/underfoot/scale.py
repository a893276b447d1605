"""Reading units: what people of the trade read on a plot or in a table, in SI or US units.

>>> import underfoot as uf
>>> from underfoot.scale import scale
>>> scale("N"), scale("N", "us").of(4448.2216152605)
(Scale(unit='kN', si='N'), 1000.0)
"""

from __future__ import annotations

from typing import Any, NamedTuple

from underfoot import _core
from underfoot.units import convert

__all__ = ["Scale", "number", "scale"]


class Scale(NamedTuple):
    """A reading unit for values in an SI unit."""

    unit: str
    """Unit to read in; empty for a ratio."""
    si: str
    """SI unit of the values."""

    def of(self, values: Any) -> Any:
        """SI number or array in the reading unit."""
        return convert(values, self.unit) if self.unit else values

    def label(self, name: str) -> str:
        """Name with its unit, for an axis or a column: "load (kN)"."""
        return f"{name} ({self.unit})" if self.unit else name

    def text(self, value: float) -> str:
        """SI number as text with its unit, to three digits."""
        return f"{number(self.of(value))} {self.unit}".rstrip()

    def band(self, low: float, high: float) -> str:
        """A band of SI numbers as text; empty if its ends read alike."""
        ends = [number(self.of(value)) for value in (low, high)]
        return "" if ends[0] == ends[1] else f"{' ... '.join(ends)} {self.unit}".rstrip()


def scale(si: str, units: str = "si") -> Scale:
    """The reading unit for an SI unit; `units` is "si" or "us", as in a job file.

    Units without a customary reading unit stay as they are.
    """
    return Scale(_core.reading_unit(si, units), si)


def number(value: float, digits: int = 3) -> str:
    """A number to significant digits, without exponent where that reads well.

    >>> number(123456.0), number(0.01234), number(12.0)
    ('123000', '0.0123', '12.0')
    """
    text = f"{value:#.{digits}g}"
    return f"{float(text):.0f}" if "e+" in text or text.endswith(".") else text
