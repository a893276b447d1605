"""Labeled results: xarray, text and HTML, all from the list of fields that each result carries.

A result class of the core has `_fields`, a list of (name, dims, unit, long name), and `_coords()`,
labels along dims that are no arrays of numbers. A field named like its only dim is a coordinate.
"""

from __future__ import annotations

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
    head = "<tr><th>name</th><th>dims</th><th>values</th><th>unit</th><th></th></tr>"
    rows = []
    for name, dims, unit, long_name in result._fields:
        values = getattr(result, name)
        shape = ", ".join(f"{dim}: {size}" for dim, size in zip(dims, values.shape, strict=True))
        cells = (name, shape, _summary(values), unit, long_name)
        rows.append("<tr>" + "".join(f"<td>{escape(str(c))}</td>" for c in cells) + "</tr>")
    title = escape(type(result).__name__)
    return f"<table><caption>{title}</caption>{head}{''.join(rows)}</table>"


def study_html(study: Any) -> str:
    """A study as two small tables: verdicts, and key figures with bands."""
    from underfoot.scale import scale

    units = study.units

    def row(*cells: str, tag: str = "td") -> str:
        return "<tr>" + "".join(f"<{tag}>{escape(c)}</{tag}>" for c in cells) + "</tr>"

    checks = [row("verdict", "question", "value", "limit", "case", tag="th")]
    for c in study.checks:
        unit = scale(c.unit, units)
        limit = f"{c.sense} {unit.text(c.capacity)}"
        checks.append(row(c.verdict, c.question, unit.text(c.demand), limit, c.governing_case))
    figures = [row("figure", "value", "band", tag="th")]
    for f in study.figures:
        unit = scale(f.unit, units)
        band = "" if f.low == f.high else f"{unit.text(f.low)} ... {unit.text(f.high)}"
        figures.append(row(f.name, unit.text(f.value), band))
    verdict = study.verdict or "nothing to check"
    return (
        f"<p><b>{escape(study.title)}</b>: {escape(verdict)}</p>"
        f"<table><caption>Checks</caption>{''.join(checks)}</table>"
        f"<details><summary>Key figures</summary><table>{''.join(figures)}</table></details>"
    )


def _summary(values: np.ndarray) -> str:
    if values.size == 0:
        return "(empty)"
    if values.ndim == 1 and values.size <= 6:
        return "[" + ", ".join(f"{v:.4g}" for v in values) + "]"
    if np.iscomplexobj(values):
        return f"|.| up to {np.abs(values).max():.4g}"
    return f"{values.min():.4g} ... {values.max():.4g}"
