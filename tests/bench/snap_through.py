"""Snap-through against SciPy and vectorized NumPy, as ratios in one run on one thread.

- clearance: one press with a gap in the drive, `Installation.snap_through` (eight degrees of
  freedom, every peak solved for, the bolted press beside it) against `solve_ivp` (DOP853 with
  events, rtol 1e-9) on the three vertical masses alone, which yields samples.
- no gap: 10,000 presses on four mounts, eight degrees of freedom each, from (design, 8, 8) arrays
  of mass, stiffness and damping: `uf.many_shock_peaks` of drive, column, every mount and the floor,
  roots and inputs included, to 1e-9. NumPy: `linalg.eig` of the (design, 16, 16) states and the
  exact recurrence of the straight pieces of the force in 2000 samples, vectorized over 250 designs.
  Both get the same arrays and agree to what 2000 samples see.

Run it on the real wheel: `uv run --no-editable --group bench python tests/bench/snap_through.py`.
"""

from __future__ import annotations

import itertools
import os
import sys
import time
from pathlib import Path

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np
import underfoot as uf

sys.path.insert(0, str(Path(__file__).parents[1] / "python"))
from test_snap_through import F0, RELEASE, RISE, by_events, machine  # noqa: E402

END = 0.06
DESIGNS, AT_ONCE = 10_000, 250
LONG, STEPS = 0.2, 2000
SLIDE = np.eye(8)[7]


def best(work, rounds=5):
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def presses(designs):
    """M, K, C (design, 8, 8) of presses on four mounts, and rows of drive, column, mounts and floor
    on displacement and velocity: the body's six, then crown and slide against the body."""
    draw = np.random.default_rng(0)
    ends = [(15e3, 25e3), (5e3, 12e3), (2e3, 6e3), (1.5e9, 4e9), (1e9, 3e9), (4e7, 2e8)]
    bed, crown, slide, frame, drive, mounts = (draw.uniform(*e, designs) for e in ends)
    mass = np.zeros((designs, 8, 8))
    mass[:, [0, 1, 2], [0, 1, 2]] = (bed + crown + slide)[:, None]
    tensor = np.stack([1.0 * bed, 1.1 * bed, 0.7 * bed], axis=1)
    mass[:, [3, 4, 5], [3, 4, 5]] = tensor + 4 * crown[:, None]
    for row, inner in ((6, crown), (7, slide)):
        mass[:, row, row] = mass[:, 2, row] = mass[:, row, 2] = inner
    links = [(frame, np.eye(8)[6]), (drive, np.eye(8)[7] - np.eye(8)[6])]
    springs = [
        (k, 0.06 * np.sqrt(k * m), b) for (k, b), m in zip(links, (crown, slide), strict=True)
    ]
    for x in (-1, 1):
        for y in (-0.8, 0.8):
            for axis, share in ((0, 0.1), (1, 0.1), (2, 0.25)):
                push, at = np.eye(3)[axis], np.array([x, y, -1.2])
                b = np.concatenate([push, np.cross(at, push), [0, 0]])
                springs.append((share * mounts, 2e-3 * share * mounts, b))
    stiffness, damping = (
        sum(s[i][:, None, None] * np.outer(s[2], s[2]) for s in springs) for i in (0, 1)
    )
    asked = [springs[i] for i in (1, 0, 4, 7, 10, 13)]
    rows = [np.stack([s[i][:, None] * s[2] for s in asked], axis=1) for i in (0, 1)]
    floor = [sum(s[i][:, None] * s[2] for s in springs[4::3])[:, None] for i in (0, 1)]
    rows = [np.concatenate([r, f], axis=1) for r, f in zip(rows, floor, strict=True)]
    return mass, stiffness, damping, *rows


def recurrence(mass, stiffness, damping, on_x, on_v):
    """Greatest |output| among the samples of the exact motion."""
    designs, dt = len(mass), LONG / STEPS
    inverse = np.linalg.inv(mass)
    state = np.zeros((designs, 16, 16))
    state[:, :8, 8:] = np.eye(8)
    state[:, 8:, :8], state[:, 8:, 8:] = -inverse @ stiffness, -inverse @ damping
    roots, shapes = np.linalg.eig(state)
    upper = np.argsort(-roots.imag, axis=1)[:, :8]
    push = np.zeros((designs, 16, 1), complex)
    push[:, 8:, 0] = inverse @ SLIDE
    start = np.take_along_axis(np.linalg.solve(shapes, push)[:, :, 0], upper, axis=1)
    s = np.take_along_axis(roots, upper, axis=1)
    shapes = np.take_along_axis(shapes, upper[:, None, :], axis=2)
    rows = 2 * (on_x @ shapes[:, :8] + on_v @ shapes[:, 8:]) * start[:, None, :]
    turn = np.exp(s * dt)
    # Integral of exp(s (dt - t)) times a straight line from f0 to f1.
    to_end = (turn - 1 - s * dt) / (s * s * dt)
    to_start = (turn - 1) / s - to_end
    force = np.interp(dt * np.arange(STEPS + 1), [0, RISE, RISE + RELEASE], [0, F0, 0])
    q, greatest = np.zeros((designs, 8), complex), np.zeros(rows.shape[:2])
    for f0, f1 in itertools.pairwise(force):
        q = turn * q + (to_start * f0 + to_end * f1)
        np.maximum(greatest, np.abs((rows @ q[:, :, None])[:, :, 0].real), out=greatest)
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
    designs = presses(DESIGNS)
    mass, stiffness, damping, on_x, on_v = designs

    def many():
        return uf.many_shock_peaks(
            mass,
            stiffness,
            force,
            SLIDE,
            damping=damping,
            displacement=on_x,
            velocity=on_v,
            duration=LONG,
        )[0]

    few = [a[:AT_ONCE] for a in designs]
    sampled, exact = recurrence(*few), np.abs(many()[:AT_ONCE])
    assert np.all(sampled < exact * (1 + 1e-9)) and np.all(sampled > 0.95 * exact)
    a = min(best(many, 3) for _ in range(3)) / DESIGNS
    b = best(lambda: recurrence(*few), 3) / AT_ONCE
    print(
        f"no gap, per design        {1e6 * a:8.2f} us  NumPy     {1e6 * b:8.1f} us  x{b / a:7.1f}"
    )


if __name__ == "__main__":
    main()
