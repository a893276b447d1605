"""Many designs: sweeps over axes, uncertainty, and search. See `underfoot.sweep`.

The package is not called `sweep` because `underfoot.sweep` is the function.
"""

from __future__ import annotations

from underfoot.sweeps.distributions import (
    Distribution,
    correlated,
    lognormal,
    normal,
    paired,
    triangular,
    uniform,
)
from underfoot.sweeps.search import Objective, objective
from underfoot.sweeps.sweep import axes, outputs, sweep
from underfoot.sweeps.uncertainty import bands, probability, sobol_indices, tolerances, tornado

__all__ = [
    "Distribution",
    "Objective",
    "axes",
    "bands",
    "correlated",
    "lognormal",
    "normal",
    "objective",
    "outputs",
    "paired",
    "probability",
    "sobol_indices",
    "sweep",
    "tolerances",
    "tornado",
    "triangular",
    "uniform",
]
