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
    coords.update({dim: (dim, values, {}) for dim, values in labels.items() if dim in used})
    # Texts that go with the numbers of a table, along its only dim.
    for name, values in getattr(result, "_labels", dict)().items():
        coords[name] = (next(iter(labels)), values, {})
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
    """Verdict of a study, its checks, and its key figures with their bands, as two tables."""
    from underfoot.scale import scale

    checks = []
    for c in study.checks:
        unit = scale(c.unit, study.units)
        limit = f"{c.sense} {unit.text(c.capacity)}"
        band = "" if c.band is None else unit.band(*c.band)
        verdict, condition = split_verdict(c.verdict)
        row = (verdict, c.question, unit.text(c.demand), band, limit, c.governing_case, condition)
        checks.append(row)
    figures = []
    for f in study.figures:
        unit = scale(f.unit, study.units)
        figures.append((f.name, unit.text(f.value), unit.band(f.low, f.high)))
    verdict = study.verdict or "nothing to check"
    head = ("verdict", "question", "value", "band", "limit", "case", "on condition that")
    return (
        f"<p><b>{escape(study.title)}</b>: {escape(verdict)}</p>"
        + (_table("Checks", head, checks) if checks else "")
        + "<details><summary>Key figures</summary>"
        + _table("Key figures", ("figure", "value", "band"), figures)
        + "</details>"
    )


def split_verdict(verdict: str) -> tuple[str, str]:
    """OK, OK IF or NO, and the condition.

    >>> split_verdict("OK IF pad: stiffness is confirmed")
    ('OK IF', 'pad: stiffness is confirmed')
    """
    short = "OK IF"
    if verdict.startswith(f"{short} "):
        return short, verdict.removeprefix(f"{short} ")
    return verdict, ""


def _table(caption: str, head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    def row(cells: tuple[str, ...], tag: str) -> str:
        return "<tr>" + "".join(f"<{tag}>{escape(c)}</{tag}>" for c in cells) + "</tr>"

    body = "".join(row(cells, "td") for cells in rows)
    return f"<table><caption>{escape(caption)}</caption>{row(head, 'th')}{body}</table>"


def _summary(values: np.ndarray) -> str:
    if values.size == 0:
        return "(empty)"
    if values.dtype == bool:
        return f"{np.count_nonzero(values)} of {values.size}"
    if values.ndim == 1 and values.size <= 6:
        return "[" + ", ".join(f"{v:.4g}" for v in values) + "]"
    if np.iscomplexobj(values):
        return f"|.| up to {np.abs(values).max():.4g}"
    if np.isnan(values).all():
        return "(none)"
    return f"{np.nanmin(values):.4g} ... {np.nanmax(values):.4g}"
