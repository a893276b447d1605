"""A vector of inputs -> objectives and check margins, at the speed of a sweep: for scipy.optimize,
pymoo and whatever else hands over vectors.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from underfoot.sweeps.distributions import paired
from underfoot.sweeps.plan import invalid
from underfoot.sweeps.sweep import sweep

Measure = str | Callable[[Any], Any]


class Objective:
    """Designs by vector; made by `objective`."""

    def __init__(
        self,
        base: Any,
        axes: Mapping[Any, tuple[float, float]],
        outputs: Sequence[str],
        minimize: Sequence[Measure],
        at_least_zero: Sequence[Measure],
        options: Mapping[str, Any],
    ) -> None:
        self.base = base
        self.axes = dict(axes)
        self._outputs = list(outputs)
        self._minimize = list(minimize)
        self._at_least_zero = list(at_least_zero)
        self._options = dict(options)

    @property
    def low(self) -> np.ndarray:
        """Lower bounds of the vector, SI."""
        return np.asarray([low for low, _ in self.axes.values()], float)

    @property
    def high(self) -> np.ndarray:
        """Upper bounds of the vector, SI."""
        return np.asarray([high for _, high in self.axes.values()], float)

    @property
    def bounds(self) -> list[tuple[float, float]]:
        """(low, high) of each entry, as scipy.optimize takes them."""
        return list(zip(self.low.tolist(), self.high.tolist(), strict=True))

    def designs(self, x: Any) -> Any:
        """The dataset of the designs x (design, input), or of one design (input,)."""
        x = np.atleast_2d(np.asarray(x, float))
        if x.ndim != 2 or x.shape[1] != len(self.axes):
            what = f"must have {len(self.axes)} columns, one for each axis"
            raise invalid("x", f"shape {x.shape}", what, "give (design, input)")
        values = {path: x[:, i] for i, path in enumerate(self.axes)}
        return sweep(self.base, paired(values, dim="design"), self._outputs, **self._options)

    def evaluate(self, x: Any) -> tuple[np.ndarray, np.ndarray]:
        """Objectives (design, objective) to be minimized and margins (design, margin) that must
        not be negative. A design that failed has infinite objectives and margins of -1.
        """
        found = self.designs(x)
        failed = (found.failure != "").values
        objectives = self._columns(found, self._minimize)
        margins = self._columns(found, self._at_least_zero)
        objectives[failed] = np.inf
        margins[failed] = -1.0
        return objectives, margins

    def __call__(self, x: Any) -> Any:
        """The first objective of x: a number for one vector, (design,) for several."""
        objectives, _ = self.evaluate(x)
        one = np.ndim(x) == 1
        return float(objectives[0, 0]) if one else objectives[:, 0]

    def margins(self, x: Any) -> Any:
        """What must not be negative: (margin,) for one vector, (design, margin) for several."""
        _, margins = self.evaluate(x)
        return margins[0] if np.ndim(x) == 1 else margins

    def problem(self) -> Any:
        """The same as a pymoo Problem; whole populations are computed in one sweep."""
        try:
            from pymoo.core.problem import Problem
        except ImportError:
            raise invalid("problem", "pymoo", "is not installed", "pip install pymoo") from None
        outer = self
        _, probe = self.evaluate(0.5 * (self.low + self.high))

        class Designs(Problem):  # type: ignore[misc]
            def __init__(self) -> None:
                super().__init__(
                    n_var=len(outer.axes),
                    n_obj=len(outer._minimize),
                    n_ieq_constr=probe.shape[1],
                    xl=outer.low,
                    xu=outer.high,
                )

            def _evaluate(self, x: Any, out: dict[str, Any], *_: Any, **__: Any) -> None:
                objectives, margins = outer.evaluate(x)
                out["F"] = np.where(np.isfinite(objectives), objectives, 1e300)
                if margins.shape[1]:
                    out["G"] = -margins

        return Designs()

    def _columns(self, found: Any, measures: Sequence[Measure]) -> np.ndarray:
        count = found.sizes["design"]
        columns = []
        for measure in measures:
            values = found[measure] if isinstance(measure, str) else measure(found)
            array = np.array(values, dtype=float)
            if array.shape[:1] != (count,):
                what = "must have the dim design first"
                raise invalid("measure", f"shape {array.shape}", what, "keep that dim")
            columns.append(array.reshape(count, -1))
        return np.concatenate(columns, axis=1) if columns else np.empty((count, 0))


def objective(
    base: Any,
    axes: Mapping[Any, tuple[Any, Any]],
    outputs: str | Sequence[str],
    minimize: Measure | Sequence[Measure],
    at_least_zero: Measure | Sequence[Measure] = (),
    **options: Any,
) -> Objective:
    """A vector of inputs -> objectives and margins, for optimizers.

    Parameters
    ----------
    base, outputs
        As for `sweep`.
    axes : mapping of path -> (low, high)
        What an optimizer may move, and between what bounds (SI, text with a unit, quantities).
    minimize : output or function of the dataset, or several
        Each gives (design,) or (design, ...) to be minimized.
    at_least_zero : output or function of the dataset, or several
        What must not be negative, such as "margin".
    options
        Further arguments of `sweep`: frequencies, shocks, threads.

    Returns
    -------
    Objective
        `f(x)`, `f.margins(x)`, `f.bounds` for scipy.optimize; `f.problem()` for pymoo;
        `f.designs(x)` for the whole dataset.
    """
    from underfoot.sweeps import plan

    many = [minimize] if isinstance(minimize, str) or callable(minimize) else list(minimize)
    one = isinstance(at_least_zero, str) or callable(at_least_zero)
    margins: list[Any] = [at_least_zero] if one else list(at_least_zero)  # type: ignore[arg-type]
    names = [outputs] if isinstance(outputs, str) else list(outputs)
    bounds = {}
    for key, ends in axes.items():
        low, high = plan.numbers(base, key, ends, options.get("shocks"))
        if not low < high:
            what = f"must be (low, high), and {low} is not less than {high}"
            raise invalid(str(key), repr(ends), what, "give the lower bound first")
        bounds[key] = (low, high)
    options.setdefault("progress", False)
    found = Objective(base, bounds, names, many, margins, options)
    found.evaluate(0.5 * (found.low + found.high))  # names and shapes are tried at once
    return found
