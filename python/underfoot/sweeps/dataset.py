"""Numbers of a sweep -> xarray.Dataset with dims, units, long names and provenance."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

import numpy as np

from underfoot.sweeps.plan import Column, Sweep

FAILURE = "failure"
FAILURE_ATTRS = {"long_name": "why the design has no numbers; empty where it stands"}
RECORD = "underfoot_sweep"


def column_attributes(column: Column) -> dict[str, str]:
    """Unit and long name of the values of an axis."""
    return {"units": column.unit or "1", "long_name": column.label}


def coordinates(sweep: Sweep, samples: bool = True) -> dict[str, Any]:
    """Coordinates: values of axes along their dims, labels of the outputs' dims."""
    coords: dict[str, Any] = {}
    for i, dim in enumerate(sweep.dims):
        if dim.sampled and not samples:
            continue
        columns = sweep.plan.along(i, 0, sweep.plan.shape[i])
        for column, values in zip(dim.columns, columns, strict=True):
            coords[column.name] = (dim.name, values, column_attributes(column))
    for dim, (labels, unit) in sweep.plan.labels().items():
        if dim == "mode":
            labels = np.asarray(labels, int)
        coords[dim] = (dim, np.asarray(labels), {"units": unit} if unit else {})
    for dim, of in sweep.plan.units:
        coords[f"{dim}_unit"] = (dim, np.asarray([u or "1" for u in of]))
    return coords


def variables(sweep: Sweep) -> Iterable[tuple[str, list[str], list[int], bool, dict[str, str]]]:
    """Name, dims, shape, complex, attributes of every output."""
    lead, designs = [dim.name for dim in sweep.dims], list(sweep.plan.shape)
    for name, unit, long_name, dims, shape, is_complex in sweep.plan.outputs:
        attrs = {"units": unit, "long_name": long_name}
        yield name, [*lead, *dims], [*designs, *shape], is_complex, attrs


def attributes(sweep: Sweep) -> dict[str, Any]:
    """Provenance: a short title, and the whole record as JSON."""
    return {
        "title": "underfoot sweep",
        "underfoot_version": sweep.provenance["version"],
        "instruction_set": sweep.provenance["instruction_set"],
        "base": sweep.provenance["base"],
        "axes": json.dumps(sweep.provenance["axes"]),
        "seed": json.dumps([d["seed"] for d in sweep.provenance["axes"] if "seed" in d]),
    }


def shaped(flat: np.ndarray, shape: list[int], is_complex: bool) -> np.ndarray:
    """Flat doubles in their shape, without a copy."""
    return (flat.view(complex) if is_complex else flat).reshape(shape)


def reasons(count: int, failures: Iterable[tuple[int, str]]) -> np.ndarray:
    """A text for each design."""
    texts = np.full(count, "", dtype=object)
    for design, reason in failures:
        texts[design] = reason
    return texts


def assemble(sweep: Sweep, values: list[np.ndarray], failures: list[tuple[int, str]]) -> Any:
    """The dataset of a sweep in memory."""
    import xarray as xr

    shape = list(sweep.plan.shape)
    data: dict[str, Any] = {}
    for (name, dims, size, is_complex, attrs), flat in zip(variables(sweep), values, strict=True):
        data[name] = (dims, shaped(flat, size, is_complex), attrs)
    texts = reasons(int(np.prod(shape)), failures).reshape(shape)
    data[FAILURE] = ([dim.name for dim in sweep.dims], texts, FAILURE_ATTRS)
    return xr.Dataset(data, coords=coordinates(sweep), attrs=attributes(sweep))
