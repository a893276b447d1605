"""`underfoot.axes` and `underfoot.sweep`."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from underfoot import _core
from underfoot.sweeps import plan as planning
from underfoot.sweeps.dataset import assemble
from underfoot.sweeps.plan import Sweep, invalid
from underfoot.sweeps.progress import Progress


class Axis(NamedTuple):
    """A legal axis of a base."""

    path: str
    label: str
    value: float | None
    """Present value in SI; None where it is not one number for all that moves."""
    unit: str
    dimension: str
    factor: bool
    """True if values multiply what the base says."""


class Output(NamedTuple):
    """An output of a sweep."""

    name: str
    unit: str
    long_name: str


def axes(base: Any, shocks: Mapping[str, Any] | None = None) -> list[Axis]:
    """Every input of a base that can be an axis, with its unit and present value.

    Parameters
    ----------
    base : Job or Installation
        A job has its inputs (`Job.inputs`) and its mounts; an installation its body, mounts, load
        cases, points and gravity.
    shocks : mapping of name -> (pulse, direction, point), optional
        Shocks on an installation, as for `sweep`; their parameters are axes too.

    Returns
    -------
    list of Axis

    Raises
    ------
    InvalidError

    Notes
    -----
    `.factor` after the path of an installation's axis multiplies in place of setting:
    "mass.factor", "mounts.stiffness[z].factor". "mounts[a, b].stiffness[z]" moves two mounts.
    """
    return [Axis(*row) for row in _core.sweep_axes(base, planning.shock_rows(shocks))]


def outputs() -> list[Output]:
    """Every output of a sweep, with its unit."""
    return [Output(*row) for row in _core.sweep_outputs()]


def sweep(
    base: Any,
    axes: Any,
    outputs: str | Sequence[str],
    *,
    frequencies: Any = (),
    shocks: Mapping[str, Any] | None = None,
    samples: int | None = None,
    method: str = "sobol",
    seed: int = 0,
    threads: int | None = None,
    chunk: int | None = None,
    store: str | os.PathLike[str] | None = None,
    client: Any = None,
    progress: bool | None = None,
) -> Any:
    """Computes many designs; returns them as an xarray.Dataset.

    Parameters
    ----------
    base : Job or Installation
        What every design starts from.
    axes : mapping of path -> values or distribution
        Every path with values is a dimension of the result (a grid); those with a distribution
        are drawn together along the dimension `sample`. A tuple of paths moves together. See
        `paired` for lists side by side and `correlated` for correlated inputs; a list of such
        groups joins them. Paths: `underfoot.axes(base)`. Values: SI, text with a unit, quantities.
    outputs : str or sequence of str
        What to compute: `underfoot.outputs()`.
    frequencies : (frequency,)
        Hz, for the transmissibility.
    shocks : mapping of name -> (pulse, direction, point) or BreakThrough
        Shocks on an installation; direction "z" and the center of mass where left out. On a press
        also work forces that break off, for the reverse load and what goes with it.
    samples : int
        Number of samples, if any axis has a distribution.
    method : "sobol" or "random"
        How samples are drawn. A power of two serves the Sobol sequence best.
    seed : int
        Seed of the samples; it is recorded.
    threads : int, optional
        Threads to use; by default one for each processor allowed to this process.
    chunk : int, optional
        Designs worked on at a time by a thread (4096, with a store 65536, at most 2^32).
    store : path, optional
        A Zarr store to write to, chunk by chunk. The same call resumes a store that is not whole
        and opens one that is; a store of something else is refused.
    client : dask.distributed.Client, optional
        Computes the chunks on its workers.
    progress : bool, optional
        A progress bar; by default where someone watches.

    Returns
    -------
    xarray.Dataset
        Outputs over the dimensions of the designs and their own, in SI; `failure` says why a
        design has no numbers (NaN), and is empty where it stands. Attributes: version, base as
        JSON, axes, seed, instruction set.

    Raises
    ------
    UnknownNameError
        An axis or output that is none, with the nearest names.
    InvalidError, ShapeError, UnitError
        Lists of unequal length in a pair, a spread that is not greater than zero, a foreign store,
        a client without workers.

    Notes
    -----
    Results are the same bits for any number of threads or workers and after any restart, on one
    instruction set. Memory: without a store, the results (8 bytes a number) and one chunk for
    each thread; with one, two chunks of results and no more. Ctrl-C stops it within 0.2 s; a
    store then holds whole chunks only.

    Designs of one rigid body on mounts of constant stiffness are computed eight at a time by
    kernels of their own; whatever else is asked is computed by the analyses themselves.

    Examples
    --------
    >>> import numpy as np
    >>> import underfoot as uf
    >>> body = uf.RigidBody("42 t", (0, 0, 1.6), (60e3, 50e3, 40e3))
    >>> feet = [(x, y, 0) for x in (-1.3, 1.3) for y in (-0.9, 0.9)]
    >>> inst = uf.Installation(body, [uf.Mount(r, (2e7, 2e7, 4e7), loss_factor=0.1) for r in feet])
    >>> found = uf.sweep(inst, {"mounts.stiffness[z]": np.linspace(2e7, 6e7, 5)}, "mode_frequency")
    >>> found.mode_frequency.sizes
    Frozen({'mounts.stiffness[z]': 5, 'mode': 6})
    """
    if chunk is None:
        chunk = planning.STORE_CHUNK if store is not None else planning.DEFAULT_CHUNK
    made = planning.make(
        base,
        axes,
        outputs,
        frequencies=frequencies,
        shocks=shocks,
        samples=samples,
        method=method,
        seed=seed,
        chunk=chunk,
    )
    workers = thread_count(threads)
    if store is not None:
        from underfoot.sweeps.store import stored

        return stored(made, os.fspath(store), workers, client, progress)
    if client is not None:
        from underfoot.sweeps.cluster import gathered

        return assemble(made, *gathered(made, client, progress))
    return assemble(made, *local(made, workers, progress))


def local(made: Sweep, threads: int, progress: bool | None) -> tuple[Any, Any]:
    """All chunks in memory: flat numbers of each output, and failures."""
    total = 1
    for length in made.plan.shape:
        total *= length
    with Progress(total, progress) as bar:
        found: tuple[Any, Any] = made.plan.run(0, made.plan.chunks, threads, bar.watch)
        bar.add(total)
    return found


def thread_count(threads: int | None) -> int:
    """Threads asked for, or the processors that this process may use."""
    if threads is None:
        try:
            return max(1, len(os.sched_getaffinity(0)))
        except AttributeError:  # not on this system
            return os.cpu_count() or 1
    if isinstance(threads, bool) or int(threads) != threads or threads < 1:
        raise invalid("threads", threads, "must be a whole number, at least 1", "leave it out")
    return int(threads)
