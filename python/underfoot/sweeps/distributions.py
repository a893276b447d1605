"""What moves along an axis: distributions, paired lists, correlated inputs. No formulas: the core
draws.

>>> import underfoot as uf
>>> uf.normal("10 kN/mm", "1 kN/mm")
normal(mean='10 kN/mm', sd='1 kN/mm')
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from underfoot.errors import InvalidError

Paths = str | tuple[str, ...]


@dataclass(frozen=True)
class Distribution:
    """A distribution of one input; make one by `uniform`, `normal`, `lognormal` or `triangular`."""

    kind: str
    parameters: tuple[tuple[str, Any], ...]

    def __repr__(self) -> str:
        inside = ", ".join(f"{name}={value!r}" for name, value in self.parameters)
        return f"{self.kind}({inside})"


def uniform(low: Any, high: Any) -> Distribution:
    """Equally likely from `low` to `high` (SI, text with a unit, or a quantity)."""
    return Distribution("uniform", (("low", low), ("high", high)))


def normal(mean: Any, sd: Any) -> Distribution:
    """A bell curve of that mean and standard deviation."""
    return Distribution("normal", (("mean", mean), ("sd", sd)))


def lognormal(median: Any, sigma: float) -> Distribution:
    """A value whose natural logarithm is normal with standard deviation `sigma`; never negative.

    For small sigma, sigma is about the standard deviation as a part of the value: 0.1 is 10 %.
    """
    return Distribution("lognormal", (("median", median), ("sigma", sigma)))


def triangular(low: Any, mode: Any, high: Any) -> Distribution:
    """Most likely at `mode`, never outside `low` to `high`."""
    return Distribution("triangular", (("low", low), ("mode", mode), ("high", high)))


@dataclass(frozen=True)
class Paired:
    """Axes that move together, list by list; see `paired`."""

    axes: Mapping[Paths, Any]
    dim: str


def paired(axes: Mapping[Paths, Any], dim: str = "pair") -> Paired:
    """Axes whose values are taken one by one side by side, along one dimension.

    Parameters
    ----------
    axes : mapping of path -> values
        Lists of one length.
    dim : str
        Name of the dimension.
    """
    return Paired(dict(axes), dim)


@dataclass(frozen=True)
class Correlated:
    """Sampled axes that are correlated; see `correlated`."""

    axes: Mapping[Paths, Distribution]
    correlation: Any = field(compare=False)


def correlated(axes: Mapping[Paths, Distribution], correlation: Any) -> Correlated:
    """Sampled axes that are correlated, such as the stiffness of pads from one batch of rubber.

    Parameters
    ----------
    axes : mapping of path -> distribution
        Inputs; what moves wholly together is one axis with a tuple of paths instead.
    correlation : float or (n, n)
        Correlation of the normal scores: one number for every pair, or the matrix. For normal
        distributions that is the correlation of the values.
    """
    if any(not isinstance(d, Distribution) for d in axes.values()):
        raise InvalidError(
            "correlated: values must be distributions; list values go into paired",
            argument="correlated",
            value=repr(axes),
            requirement="values must be distributions",
            remedy="list values go into paired",
        )
    n = len(axes)
    matrix = np.asarray(correlation, float)
    if matrix.ndim == 0:
        matrix = np.where(np.eye(n, dtype=bool), 1.0, float(matrix))
    if matrix.shape != (n, n):
        raise InvalidError(
            f"correlation has shape {matrix.shape}: one number or ({n}, {n}) is required",
            argument="correlation",
            value=str(matrix.shape),
            requirement=f"one number or ({n}, {n})",
            remedy="give a row for each axis",
        )
    return Correlated(dict(axes), matrix)


Axes = Mapping[Paths, Any] | Paired | Correlated | Sequence[Any]
