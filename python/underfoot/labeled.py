"""Labeled results: xarray, text and HTML, all from the list of fields that each result carries.

A result class of the core has `_fields`, a list of (name, dims, unit, long name), and `_coords()`,
labels along dims that are no arrays of numbers. A field named like its only dim is a coordinate.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

import numpy as np

Field = tuple[str, list[str], str, str]


def dataset(result: Any) -> Any:
    """The result as an xarray.Dataset with dims, `units` and `long_name`."""
    import xarray as xr

    variables, coords = {}, {}
    for name, dims, unit, long_name in result._fields:
        values = getattr(result, name)
        entry = (dims, values, {"units": unit, "long_name": long_name})
        if list(dims) == [name]:
            coords[name] = entry
        else:
            # A field may share its name with one of its dims (a mode shape over modes is fine, but
            # `mount` over dim `mount` is not): the variable is then the plural, the dim stays.
            variables[f"{name}_transfer" if name in dims else name] = entry
    labels = result._coords()
    used = {dim for dims, *_ in variables.values() for dim in dims}
    coords.update({dim: (dim, values) for dim, values in labels.items() if dim in used})
    attrs = {"title": type(result).__name__}
    return xr.Dataset(variables, coords=coords, attrs=attrs)


def text(result: Any) -> str:
    """Class name, and one line for each array: name, shape, range and unit."""
    lines = [f"{type(result).__name__}:"]
    for name, dims, unit, _ in result._fields:
        values = getattr(result, name)
        shape = ", ".join(f"{dim} {size}" for dim, size in zip(dims, values.shape, strict=True))
        lines.append(f"  {name:<18} ({shape})  {_summary(values)} {'' if unit == '1' else unit}")
    return "\n".join(line.rstrip() for line in lines)


def html(result: Any) -> str:
    """The same as a small table."""
    rows = []
    for name, dims, unit, long_name in result._fields:
        values = getattr(result, name)
        shape = ", ".join(f"{dim}: {size}" for dim, size in zip(dims, values.shape, strict=True))
        rows.append((name, shape, _summary(values), unit, long_name))
    return _table(type(result).__name__, ("name", "dims", "values", "unit", ""), rows)


def study_html(study: Any) -> str:
    """Verdict, checks and key figures of a study as tables."""
    checks = [
        (c.question, f"{c.demand:.4g}", c.sense, f"{c.capacity:.4g}", c.unit, c.verdict)
        for c in study.checks
    ]
    figures = [
        (f.name, f"{f.value:.4g}", f"{f.low:.4g}", f"{f.high:.4g}", f.unit) for f in study.figures
    ]
    title = f"{study.title}: {study.verdict or 'nothing checked'}"
    return _table(title, ("check", "demand", "", "capacity", "unit", "verdict"), checks) + _table(
        "Key figures", ("name", "value", "low", "high", "unit"), figures
    )


def _table(caption: str, head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    def row(cells: tuple[str, ...], tag: str) -> str:
        return "<tr>" + "".join(f"<{tag}>{escape(c)}</{tag}>" for c in cells) + "</tr>"

    body = "".join(row(cells, "td") for cells in rows)
    return f"<table><caption>{escape(caption)}</caption>{row(head, 'th')}{body}</table>"


def _summary(values: np.ndarray) -> str:
    if values.size == 0:
        return "(empty)"
    if values.ndim == 1 and values.size <= 6:
        return "[" + ", ".join(f"{v:.4g}" for v in values) + "]"
    if np.iscomplexobj(values):
        return f"|.| up to {np.abs(values).max():.4g}"
    return f"{values.min():.4g} ... {values.max():.4g}"
