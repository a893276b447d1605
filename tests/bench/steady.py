"""Speed of the map of stroke rates against vectorized NumPy, as ratios in one run on one thread.

Both sides solve for the same 200 stroke rates and 16 harmonics: assembly of
Z = K + jH + j omega C - omega^2 M, motion of the center of mass, and force on the floor.

- solves: `Installation.stroke_rate_map` with all that it returns (phasors, from which peaks are
  solved for when asked, meetings, carry-over, modes) against NumPy's batched `linalg.solve` and
  the same sums, without any peak.
- map: the same against NumPy that also samples 128 instants of each stroke by an inverse FFT and
  takes the greatest of them, which is no peak yet.

The odd harmonics of this crank are not zero (it has an offset), so that nothing is left out.

Run it on the real wheel: `uv run --no-editable --group bench python tests/bench/steady.py`.
The exit code is the number of rows that miss what is wanted.
"""

from __future__ import annotations

import os
import time

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np
from bench import CENTER, INERTIA, MASS, MIXED, installation, matrices

import underfoot as uf

RATES = np.linspace(20, 219, 200)
HARMONICS = 16
SLIDE = uf.SlideDrive(4200, 0.25, 4.5, 0.03, at=(0.15, 0.05, 3.9))
REQUIRED = {"solves": 50.0, "map": 50.0}
INSTANTS = 128


def numpy_solves(k, h, c, m, unit):
    omega = np.outer(RATES, np.arange(1, HARMONICS + 1)) * (2 * np.pi / 60)
    z = k + 1j * (h + omega[..., None, None] * c) - omega[..., None, None] ** 2 * m
    load = unit * (RATES[:, None, None] * (2 * np.pi / 60)) ** 2
    x = np.linalg.solve(z, load[..., None])
    rows = k[:3] + 1j * (h[:3] + omega[..., None, None] * c[:3])
    return x[..., :3, 0], (rows @ x)[..., 0]


def numpy_map(k, h, c, m, unit):
    peaks = []
    for phasors in numpy_solves(k, h, c, m, unit):
        spectrum = np.zeros((len(RATES), INSTANTS // 2 + 1, 3), complex)
        spectrum[:, 1 : HARMONICS + 1] = phasors * (INSTANTS / 2)
        history = np.fft.irfft(spectrum, axis=1)
        peaks.append(np.abs(history).max(axis=1))
    return peaks


def best(call, rounds=9, least=0.05):
    """Seconds of one call: the best of several rounds, in processor time."""
    count = 1
    while True:
        start = time.process_time()
        for _ in range(count):
            call()
        if time.process_time() - start > least:
            break
        count *= 2
    times = []
    for _ in range(rounds):
        start = time.process_time()
        for _ in range(count):
            call()
        times.append((time.process_time() - start) / count)
    return min(times)


def main() -> int:
    inst = installation(MIXED)
    m, k, h, c = matrices(MIXED)
    # The wrench of the drive about the center of mass, over omega^2 of the crank.
    wrench = SLIDE.harmonics(60, HARMONICS)[1:] / (2 * np.pi) ** 2
    arm = np.asarray(SLIDE.at) - CENTER
    unit = np.hstack([wrench[:, :3], wrench[:, 3:] + np.cross(arm, wrench[:, :3])])
    found = inst.stroke_rate_map(SLIDE, RATES, harmonics=HARMONICS)
    motion, floor = numpy_solves(k, h, c, m, unit)
    np.testing.assert_allclose(found.motion, motion, atol=1e-10 * abs(motion).max())
    np.testing.assert_allclose(found.floor_force, floor, atol=1e-10 * abs(floor).max())
    print(f"instructions: {uf.instruction_set()}; {MASS:.0f} kg, {INERTIA[0][0]:.0f} kg m2")
    ours = best(lambda: inst.stroke_rate_map(SLIDE, RATES, harmonics=HARMONICS))
    missed = 0
    for name, other in (("solves", numpy_solves), ("map", numpy_map)):
        theirs = best(lambda other=other: other(k, h, c, m, unit))
        ratio = theirs / ours
        missed += ratio < REQUIRED[name]
        print(
            f"{name:8} ours {ours * 1e3:8.3f} ms  NumPy {theirs * 1e3:8.3f} ms  "
            f"ratio {ratio:6.1f}  wanted {REQUIRED[name]:.0f}"
        )
    return missed


if __name__ == "__main__":
    raise SystemExit(main())
