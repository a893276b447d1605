"""Snap-through against SciPy and vectorized NumPy, as ratios in one run on one thread.

- clearance: one press with a gap in the drive, `Installation.snap_through` (eight degrees of
  freedom,
  every peak solved for, the bolted press beside it) against `solve_ivp` (DOP853 with events,
  rtol 1e-9) on
  the three vertical masses alone, which yields samples.
- no gap: the same without a gap, per design, against NumPy's recurrence of the exact step over
  10,000
  designs side by side (1500 samples of eight degrees of freedom), whose peaks are those of samples.
  There is no batched kernel of snap-through yet: the row says what calls one by one cost.

Run it on the real wheel: `uv run --no-editable --group bench python tests/bench/snap_through.py`.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np
import underfoot as uf
from scipy.linalg import expm

sys.path.insert(0, str(Path(__file__).parents[1] / "python"))
from test_snap_through import F0, RELEASE, RISE, by_events, machine  # noqa: E402

END = 0.06
DESIGNS, STEPS = 10_000, 1500


def best(work, rounds=5):
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def recurrence():
    """Exact steps of (design, 16) states, and the peaks of ten outputs of them."""
    draw = np.random.default_rng(0)
    one = expm(1e-3 * draw.normal(size=(16, 16)))
    step = np.broadcast_to(one, (DESIGNS, 16, 16))
    out = np.broadcast_to(draw.normal(size=(16, 10)), (DESIGNS, 16, 10))
    state = draw.normal(size=(DESIGNS, 1, 16))
    greatest = np.full((DESIGNS, 1, 10), -np.inf)
    for _ in range(STEPS // 100):
        state = state @ step
        np.maximum(greatest, state @ out, out=greatest)
    return greatest


def main():
    force = uf.BreakThrough(F0, RISE, RELEASE)
    gap = 1.5e-4
    inst, numbers = machine(1, gap)
    ours = inst.snap_through(force, duration=END, dt=END, rule="geometric")
    low, _, _ = by_events(numbers, gap, END)
    assert abs(ours.least("drive_force").signed_value / low - 1) < 1e-3
    a = best(lambda: inst.snap_through(force, duration=END, dt=END, rule="geometric"))
    b = best(lambda: by_events(numbers, gap, END), 2)
    print(
        f"clearance, one press      {1e3 * a:8.3f} ms  solve_ivp {1e3 * b:8.1f} ms  x{b / a:7.1f}"
    )
    inst, _ = machine(1, 0.0)
    a = best(lambda: inst.snap_through(force, duration=END, dt=END))
    b = best(recurrence, 2) * 100 / DESIGNS
    print(
        f"no gap, per design        {1e3 * a:8.3f} ms  NumPy     {1e3 * b:8.3f} ms  x{b / a:7.2f}"
    )


if __name__ == "__main__":
    main()
