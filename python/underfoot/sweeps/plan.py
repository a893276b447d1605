"""Axes as the user writes them -> the core's plan of a sweep."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from underfoot import _core, units
from underfoot.errors import InvalidError
from underfoot.sweeps.distributions import Correlated, Distribution, Paired

DEFAULT_CHUNK = 4096
STORE_CHUNK = 65_536
SAMPLE = "sample"


class Column(NamedTuple):
    """What one number of a design moves."""

    name: str
    paths: list[str]
    value: Any
    unit: str
    label: str
    """In words."""


class Dim(NamedTuple):
    """One dimension of the array of designs."""

    name: str
    columns: list[Column]
    sampled: bool


class Sweep(NamedTuple):
    """A plan of the core, with what its results are called."""

    plan: Any
    dims: list[Dim]
    provenance: dict[str, Any]


def invalid(argument: str, value: Any, requirement: str, remedy: str) -> InvalidError:
    """An error in the words of the core's."""
    return InvalidError(
        f"{argument} = {value}: {requirement}; {remedy}",
        argument=argument,
        value=str(value),
        requirement=requirement,
        remedy=remedy,
    )


def shock_rows(shocks: Mapping[str, Any] | None) -> list[tuple[Any, ...]]:
    """name -> (pulse, direction) or (pulse, direction, point), as the core takes them."""
    rows = []
    usual: list[Any] = ["z", None]
    for name, asked in (shocks or {}).items():
        parts = asked if isinstance(asked, tuple) else (asked,)
        if not 1 <= len(parts) <= 3:
            what = "must be (pulse, direction, point); direction and point may be left out"
            raise invalid(f"shocks[{name!r}]", repr(asked), what, "give a tuple")
        pulse, direction, at = *parts, *usual[len(parts) - 1 :]
        rows.append((name, pulse, direction, at))
    return rows


def make(
    base: Any,
    axes: Any,
    outputs: str | Sequence[str],
    *,
    frequencies: Any = (),
    shocks: Mapping[str, Any] | None = None,
    samples: int | None = None,
    method: str = "sobol",
    seed: int = 0,
    chunk: int | None = None,
) -> Sweep:
    """The plan of a sweep; every argument as in `underfoot.sweep`."""
    rows = shock_rows(shocks)
    known = {row[0]: row for row in _core.sweep_axes(base, rows)}
    dims: list[Dim] = []
    sampled: dict[Any, Distribution] = {}
    correlation: dict[tuple[Any, Any], float] = {}
    for group in [axes] if isinstance(axes, (Mapping, Paired, Correlated)) else list(axes):
        if isinstance(group, Paired):
            columns = [_column(paths, known, v) for paths, v in group.axes.items()]
            dims.append(Dim(group.dim, columns, False))
            continue
        if isinstance(group, Correlated):
            paths = list(group.axes)
            for i, a in enumerate(paths):
                for j, b in enumerate(paths):
                    correlation[(a, b)] = group.correlation[i, j]
        items = group.axes if isinstance(group, Correlated) else group
        if not isinstance(items, Mapping):
            what = "must be a mapping of path -> values or distribution, paired or correlated"
            raise invalid("axes", repr(group), what, "see underfoot.sweep")
        for path, value in items.items():
            if isinstance(value, Distribution):
                sampled[path] = value
            else:
                column = _column(path, known, value)
                dims.append(Dim(column.name, [column], False))
    described = [_describe(dim) for dim in dims]
    core_dims: list[Any] = [(d.name, [(c.name, c.paths, c.value) for c in d.columns]) for d in dims]
    if sampled:
        if samples is None:
            what = "must be given where axes have distributions"
            raise invalid("samples", None, what, "give the number of samples")
        drawn = [_drawn(path, known, d) for path, d in sampled.items()]
        matrix = None
        if correlation:
            matrix = [
                float(correlation.get((a, b), float(a == b))) for a in sampled for b in sampled
            ]
        told = [(c.name, c.paths, d.kind, c.value) for c, d in drawn]
        count = _whole("samples", samples)
        core_dims.append((SAMPLE, count, method, _whole("seed", seed), told, matrix))
        dims.append(Dim(SAMPLE, [c for c, _ in drawn], True))
        described.append(
            {
                "dim": SAMPLE,
                "samples": count,
                "method": method,
                "seed": int(seed),
                "correlation": matrix,
                "columns": [
                    {
                        "name": c.name,
                        "paths": c.paths,
                        "distribution": d.kind,
                        "parameters": c.value,
                    }
                    for c, d in drawn
                ],
            }
        )
    elif samples is not None:
        what = "has nothing to sample: no axis has a distribution"
        raise invalid("samples", samples, what, "leave it out, or give a distribution")
    names = [outputs] if isinstance(outputs, str) else list(outputs)
    hertz = np.atleast_1d(units.si(frequencies, "frequency", "frequencies")).astype(float).tolist()
    size = _whole("chunk", DEFAULT_CHUNK if chunk is None else chunk)
    plan = _core.SweepPlan(base, rows, core_dims, names, hertz, size)
    provenance = {
        "version": version(),
        "instruction_set": plan.instruction_set(),
        "base": plan.base_json(),
        "axes": described,
        "outputs": names,
        "frequencies": hertz,
        "chunk": size,
    }
    return Sweep(plan, dims, provenance)


def version() -> str:
    """Version of the installed package."""
    from importlib.metadata import version

    return version("underfoot")


def _whole(argument: str, value: Any) -> int:
    if isinstance(value, (bool, np.bool_)) or int(value) != value or value < 0:
        raise invalid(argument, value, "must be a whole number, not negative", "give a count")
    return int(value)


def _paths(key: Any) -> tuple[str, list[str]]:
    """Name of a column and its paths: one, or a tuple that moves together."""
    if isinstance(key, str):
        return key, [key]
    paths = [str(path) for path in key]
    return " & ".join(paths), paths


def _known(path: str, known: Mapping[str, Any]) -> tuple[str, str, str]:
    """Unit, kind of quantity and label; what is not listed is judged by the core."""
    if path in known:
        _, label, _, unit, dimension, _ = known[path]
        return unit, dimension, label
    if path.endswith(".factor"):
        return "", "ratio", path
    if path.startswith("mounts[") and "]." in path:
        # Several mounts by name or number: the same field of all mounts tells the unit.
        every = f"mounts.{path.split('].', 1)[1]}"
        if every in known:
            _, _, _, unit, dimension, _ = known[every]
            return unit, dimension, path
    return "", "", path


def _column(key: Any, known: Mapping[str, Any], values: Any) -> Column:
    name, paths = _paths(key)
    unit, dimension, label = _known(paths[0], known)
    plain = units.si(values, dimension, name) if dimension else values
    try:
        numbers = np.atleast_1d(np.asarray(plain, float))
    except (TypeError, ValueError):
        raise invalid(
            name, repr(values), "must be numbers", "give values or a distribution"
        ) from None
    if numbers.ndim != 1:
        raise invalid(name, f"shape {numbers.shape}", "must be one list of values", "ravel it")
    return Column(name, paths, numbers.tolist(), unit, label)


def _drawn(key: Any, known: Mapping[str, Any], d: Distribution) -> tuple[Column, Distribution]:
    name, paths = _paths(key)
    unit, dimension, label = _known(paths[0], known)
    parameters = []
    for parameter, value in d.parameters:
        kind = "ratio" if parameter == "sigma" else dimension
        si = units.si(value, kind, f"{name}.{parameter}") if kind else value
        parameters.append(float(si))
    return Column(name, paths, parameters, unit, label), d


def _describe(dim: Dim) -> dict[str, Any]:
    """A dimension for the record: short lists whole, long ones by their digest."""

    def values(column: Column) -> Any:
        if len(column.value) <= 1000:
            return column.value
        digest = hashlib.sha256(np.asarray(column.value).tobytes()).hexdigest()
        first, last = column.value[0], column.value[-1]
        return {"count": len(column.value), "first": first, "last": last, "sha256": digest}

    columns = [{"name": c.name, "paths": c.paths, "values": values(c)} for c in dim.columns]
    return {"dim": dim.name, "columns": columns}


def draws(
    base: Any,
    axes: list[tuple[tuple[str, Any], Distribution]],
    samples: int,
    seed: int,
    shocks: Any,
) -> np.ndarray:
    """Values (column, sample) of independent inputs, each named by a tag and a path."""
    known = {row[0]: row for row in _core.sweep_axes(base, shock_rows(shocks))}
    drawn = [_drawn(key, known, d) for (_, key), d in axes]
    columns = [(d.kind, c.value) for c, d in drawn]
    values: np.ndarray = _core.draw(
        _whole("samples", samples), "sobol", _whole("seed", seed), columns
    )
    return values


def percentiles(
    base: Any, key: Any, d: Distribution, parts: Sequence[float], shocks: Any
) -> list[float]:
    """Values below which those parts of a distribution lie."""
    known = {row[0]: row for row in _core.sweep_axes(base, shock_rows(shocks))}
    column, _ = _drawn(key, known, d)
    return [_core.quantile(d.kind, column.value, part) for part in parts]


def numbers(base: Any, key: Any, values: Any, shocks: Any) -> list[float]:
    """Values of an axis in SI."""
    known = {row[0]: row for row in _core.sweep_axes(base, shock_rows(shocks))}
    found = _column(key, known, list(values)).value
    if len(found) != 2:
        raise invalid(str(key), repr(values), "must be (low, high)", "give two bounds")
    return [float(v) for v in found]
