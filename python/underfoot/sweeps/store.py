"""Sweeps larger than memory and longer than a day: a Zarr store, written chunk by chunk.

Chunk i of the sweep is chunk i of every array. Each file is written under another name and renamed
(zarr's LocalStore), and the array `failure` is written last: where its chunk is, the whole chunk
is. A run killed at any instant therefore leaves whole chunks and perhaps one that is computed
again; the same bits come out. Arrays of numbers are stored as they are, without compression.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from underfoot.errors import FileError, InvalidError
from underfoot.sweeps.dataset import (
    FAILURE,
    FAILURE_ATTRS,
    RECORD,
    attributes,
    column_attributes,
    coordinates,
    reasons,
    shaped,
    variables,
)
from underfoot.sweeps.plan import STORE_CHUNK, Sweep, invalid
from underfoot.sweeps.progress import Progress

FORMAT = 1


def stored(made: Sweep, path: str, threads: int, client: Any, progress: bool | None) -> Any:
    """Runs or resumes a sweep in a store; the dataset opens it without loading it."""
    try:
        import zarr  # noqa: F401
    except ImportError:
        what = "needs the package zarr"
        raise invalid("store", path, what, "pip install 'underfoot[store]'") from None
    root = Path(path)
    with _quiet():
        _create(made, root)
        _complete(made, root, threads, client, progress)
        return opened(root)


def opened(root: Path) -> Any:
    """The dataset of a store, read when it is asked for."""
    import xarray as xr

    found = xr.open_zarr(root, chunks=None, consolidated=False)
    found.attrs.pop(RECORD, None)
    return found


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Texts in a store are not yet in zarr's specification, which zarr says each time."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*Zarr V3 specification.*")
        warnings.filterwarnings("ignore", message=".*does not have a Zarr V3 spec.*")
        yield


def record(made: Sweep) -> dict[str, Any]:
    """What a store must share with a sweep that writes to it."""
    digest = hashlib.sha256(made.plan.to_bytes()).hexdigest()
    return {"format": FORMAT, **made.provenance, "sha256": digest}


def _create(made: Sweep, root: Path) -> None:
    """The empty store, all of it at once; or a check of the one that is there."""
    if root.exists():
        _check(made, root)
        for rest in root.rglob("*.partial"):
            rest.unlink(missing_ok=True)
        return
    part = root.with_name(f".{root.name}.part")
    try:
        if part.exists():
            shutil.rmtree(part)
        _write_empty(made, part)
        os.replace(part, root)
    except OSError as error:
        problem = f"cannot be written: {error.strerror or error}"
        raise FileError(f"{root}: {problem}", path=str(root), problem=problem) from error


def _write_empty(made: Sweep, part: Path) -> None:
    import xarray as xr
    import zarr

    attrs = {**attributes(made), RECORD: json.dumps(record(made))}
    empty = xr.Dataset(coords=coordinates(made, samples=False), attrs=attrs)
    empty.to_zarr(part, zarr_format=3, consolidated=False, mode="w-")
    group = zarr.open_group(part, mode="r+")
    block = list(made.plan.block)
    settings = {"write_empty_chunks": True}
    for name, dims, shape, is_complex, attributes_of in variables(made):
        kind = np.dtype("complex128" if is_complex else "float64")
        group.create_array(
            name,
            shape=tuple(shape),
            chunks=tuple(block + shape[len(block) :]),
            dtype=kind,
            dimension_names=dims,
            attributes=attributes_of,
            fill_value=np.nan,
            compressors=None,
            config=settings,
        )
    _write_samples(made, group)
    group.create_array(
        FAILURE,
        shape=tuple(made.plan.shape),
        chunks=tuple(block),
        dtype="string",
        dimension_names=[dim.name for dim in made.dims],
        attributes=FAILURE_ATTRS,
        fill_value="",
        config=settings,
    )


def _write_samples(made: Sweep, group: Any) -> None:
    """Values of sampled axes, a part at a time: there may be more than memory holds."""
    names = []
    for dim, index in ((d, i) for i, d in enumerate(made.dims) if d.sampled):
        count, part = made.plan.shape[index], 16 * STORE_CHUNK
        arrays = []
        for column in dim.columns:
            names.append(column.name)
            arrays.append(
                group.create_array(
                    column.name,
                    shape=(count,),
                    chunks=(min(count, part),),
                    dtype=np.dtype("float64"),
                    dimension_names=[dim.name],
                    attributes=column_attributes(column),
                    fill_value=np.nan,
                    compressors=None,
                )
            )
        for start in range(0, count, part):
            drawn = made.plan.along(index, start, start + part)
            for array, values in zip(arrays, drawn, strict=True):
                array[start : start + part] = values
    if names:
        # What xarray takes for coordinates beside those named like their dim.
        others = str(group.attrs.get("coordinates", ""))
        group.attrs["coordinates"] = " ".join([*others.split(), *names])


def _check(made: Sweep, root: Path) -> None:
    """Refuses a store that another sweep made, with what differs."""
    theirs = _record_of(root)
    ours = json.loads(json.dumps(record(made)))
    differs = [key for key in ours if theirs.get(key) != ours[key] and key != "sha256"]
    if not differs and theirs.get("sha256") == ours["sha256"]:
        return
    what = "; ".join(_difference(key, theirs.get(key), ours[key]) for key in differs) or "its axes"
    remedy = "give another path, or repeat the call that made it"
    if "instruction_set" in differs:
        remedy += " on the same kind of processor (UNDERFOOT_ISA pins the instructions)"
    raise invalid("store", str(root), f"was made by another sweep: {what}", remedy)


def _difference(key: str, theirs: Any, ours: Any) -> str:
    if key == "axes" and isinstance(theirs, list) and isinstance(ours, list):
        pairs = [(t, o) for t, o in zip(theirs, ours, strict=False) if t != o]
        if len(theirs) == len(ours) and pairs:
            theirs, ours = pairs[0]
    return f"{key} is {_short(theirs)} there and {_short(ours)} here"


def _short(value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value)
    return text if len(text) <= 200 else f"{text[:197]}..."


def _record_of(root: Path) -> dict[str, Any]:
    foreign = invalid(
        "store", str(root), "is there already and is no store of a sweep", "give another path"
    )
    try:
        attributes_of = json.loads((root / "zarr.json").read_text())["attributes"]
        found = json.loads(attributes_of[RECORD])
    except (OSError, ValueError, KeyError, TypeError):
        raise foreign from None
    if not isinstance(found, dict):
        raise foreign
    return found


def _complete(made: Sweep, root: Path, threads: int, client: Any, progress: bool | None) -> None:
    import zarr

    plan = made.plan
    missing = [i for i in range(plan.chunks) if not _is_whole(root, _place(made, i))]
    if not missing:
        return
    group = zarr.open_group(root, mode="r+")
    arrays = [group[name] for name, *_ in variables(made)]
    failure = group[FAILURE].with_config({"write_empty_chunks": True})
    total = int(np.prod(plan.shape))
    waiting = sum(plan.range(i)[1] for i in missing)
    with Progress(total, progress, total - waiting) as bar:
        for i, values, failures in _chunks(made, missing, threads, client, bar):
            _write(made, i, arrays, failure, values, failures)
            bar.add(plan.range(i)[1])


def _chunks(
    made: Sweep, missing: list[int], threads: int, client: Any, bar: Progress
) -> Iterator[tuple[int, list[np.ndarray], list[tuple[int, str]]]]:
    """Chunks as they are done."""
    if client is not None:
        from underfoot.sweeps.cluster import chunks

        yield from chunks(made, client, missing)
        return
    for run in _runs(missing, threads):
        values, failures = made.plan.run(run[0], run[-1] + 1, threads, bar.watch)
        first = made.plan.range(run[0])[0]
        designs = sum(made.plan.range(i)[1] for i in run)
        for i in run:
            start, count = made.plan.range(i)
            begin, end = start - first, start - first + count
            widths = [flat.size // designs for flat in values]
            parts = [f[begin * w : end * w] for f, w in zip(values, widths, strict=True)]
            own = [(d - begin, reason) for d, reason in failures if begin <= d < end]
            yield i, parts, own


def _runs(missing: list[int], most: int) -> Iterator[list[int]]:
    """Runs of neighbors, at most so many: what the threads compute between two writes."""
    run: list[int] = []
    for i in missing:
        if run and (i != run[-1] + 1 or len(run) == most):
            yield run
            run = []
        run.append(i)
    if run:
        yield run


def _place(made: Sweep, i: int) -> list[int]:
    """Index of chunk i along every dimension."""
    start, _ = made.plan.range(i)
    places = np.unravel_index(start, tuple(made.plan.shape))
    return [int(p) // b for p, b in zip(places, made.plan.block, strict=True)]


def _is_whole(root: Path, place: list[int]) -> bool:
    return root.joinpath(FAILURE, "c", *map(str, place)).exists()


def _write(
    made: Sweep,
    i: int,
    arrays: list[Any],
    failure: Any,
    values: list[np.ndarray],
    failures: list[tuple[int, str]],
) -> None:
    start, count = made.plan.range(i)
    places = np.unravel_index(start, tuple(made.plan.shape))
    block = made.plan.block
    sizes = [min(b, n - p) for p, b, n in zip(places, block, made.plan.shape, strict=True)]
    region = tuple(slice(int(p), int(p) + s) for p, s in zip(places, sizes, strict=True))
    try:
        for array, flat, (_, _, shape, is_complex, _) in zip(
            arrays, values, variables(made), strict=True
        ):
            array[region] = shaped(flat, [*sizes, *shape[len(sizes) :]], is_complex)
        failure[region] = reasons(count, failures).reshape(sizes).astype(np.dtypes.StringDType())
    except OSError as error:
        problem = f"cannot be written: {error.strerror or error}"
        raise FileError(str(problem), path=str(failure.store_path), problem=problem) from error


__all__ = ["InvalidError", "opened", "stored"]
