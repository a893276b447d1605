"""Sweeps larger than a machine: chunks mapped over the workers of a Dask client.

Every chunk is a task by itself that needs the sweep's bytes and its number. A worker that dies
takes its chunk with it, which the scheduler gives to another; the bytes come out the same. Only a
few chunks for each thread are on their way at a time, so that memory stays flat.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from underfoot import _core
from underfoot.sweeps.plan import Sweep, invalid
from underfoot.sweeps.progress import Progress

AHEAD = 3
"""Chunks on their way for each thread of the workers."""


def gathered(
    made: Sweep, client: Any, progress: bool | None
) -> tuple[list[np.ndarray], list[tuple[int, str]]]:
    """All chunks in memory: flat numbers of each output, and failures."""
    plan = made.plan
    total = int(np.prod(plan.shape))
    widths = [
        int(np.prod(shape)) * (2 if is_complex else 1) for *_, shape, is_complex in plan.outputs
    ]
    values = [np.empty(total * width) for width in widths]
    failures: list[tuple[int, str]] = []
    with Progress(total, progress) as bar:
        for i, parts, failed in chunks(made, client, range(plan.chunks)):
            start, count = plan.range(i)
            for flat, part, width in zip(values, parts, widths, strict=True):
                flat[start * width : (start + count) * width] = part
            failures.extend((start + design, reason) for design, reason in failed)
            bar.add(count)
    return values, sorted(failures)


def chunks(
    made: Sweep, client: Any, wanted: Iterable[int]
) -> Iterator[tuple[int, list[np.ndarray], list[tuple[int, str]]]]:
    """Chunks as the workers finish them."""
    from distributed import as_completed

    threads = _threads(client)
    # A task of its own, so that it can be computed again if its worker dies.
    spec = client.submit(_spec, made.plan.to_bytes(), pure=False)
    rest = iter(wanted)
    numbers: dict[Any, int] = {}

    def submit() -> Any:
        i = next(rest, None)
        if i is None:
            return None
        future = client.submit(_core.run_chunk, spec, i, pure=False)
        numbers[future.key] = i
        return future

    first = [f for _ in range(AHEAD * threads) if (f := submit()) is not None]
    running = as_completed(first)
    seen: str | None = None
    try:
        for future in running:
            values, failures, isa = made.plan.read(numbers[future.key], future.result())
            seen = seen or isa
            if isa != seen or isa != made.provenance["instruction_set"]:
                here = made.provenance["instruction_set"] if isa == seen else seen
                what = f"workers compute with {isa}, others with {here}: last bits would differ"
                raise invalid("client", repr(client), what, "set UNDERFOOT_ISA alike everywhere")
            yield numbers.pop(future.key), values, failures
            future.release()
            if (more := submit()) is not None:
                running.add(more)
    finally:
        # What was not asked for any more, after an error or Ctrl-C.
        client.cancel(list(running.futures))


def _spec(spec: bytes) -> bytes:
    return spec


def _threads(client: Any) -> int:
    try:
        workers = client.scheduler_info(n_workers=-1)["workers"]
    except TypeError:  # older clients list all workers always
        workers = client.scheduler_info()["workers"]
    except AttributeError:
        what = "must be a dask.distributed.Client"
        raise invalid("client", repr(client), what, "from distributed import Client") from None
    if not workers:
        what = "has no workers"
        raise invalid("client", repr(client), what, "start some; client.wait_for_workers(1)")
    return sum(int(worker["nthreads"]) for worker in workers.values())
