"""Speed against vectorized NumPy, SciPy and pyyeti, as ratios in one run on one thread.

Both sides are checked to agree before they are timed. The best of several rounds counts, the two
sides in turn, since the machine may be shared. The wheel is the ordinary one, which chooses its
instructions at run time (`uf.instruction_set()` is printed).

What each row measures, ours against theirs:

- modes, one machine: all of `Installation.modes` (undamped and damped frequencies and shapes,
  energies, words) against SciPy `eigh` and `eig` of one machine from the same arrays.
- modes, many designs: `uf.many_modes`, frequencies and shapes of 10^5 designs from (design, 6, 6)
  arrays of mass and stiffness, against NumPy's batched `cholesky`, `inv` and `eigh`.
- transmissibility: from an `Installation` to |T_zz|, to the wrench on the ground of one vertical
  force (which brings motion and mount forces with it), and to the full 6 x 6 matrix, at 400
  frequencies, against NumPy's batched `linalg.solve` with the assembly of its matrices.
- shock, histories: 2000 steps of displacement, velocity, acceleration, mount forces and ground
  wrench. SciPy side: `lsim` (first-order hold), and one `expm` step repeated in NumPy.
- shock, six peaks: `uf.many_shock_peaks` of 4096 designs from (design, 6, 6) arrays: the six peaks
  of the ground wrench to 1e-9 over 1.999 s, modes and damped roots included, against NumPy's
  recurrence of 2000 samples of six modes and six outputs whose roots and rows are given, vectorized
  over 256 designs, both per design. Once with dashpots that couple the modes, once with one loss
  factor, whose modes stay apart.
- shock, one machine: the same six peaks from one `Installation`.
- spectrum: 10^5 samples, 200 frequencies, against `pyyeti.srs.srs`.

Below the table the cost of one frequency and of one design from 10^3 to 10^6: flat where it grows
linearly.

Run it on the real wheel: `uv run --no-editable --group bench python tests/bench/bench.py`. The exit
code is the number of rows that miss what is wanted.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time

from pathlib import Path

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np
import scipy.linalg as sl
import scipy.signal as ss

from pyyeti import srs

import underfoot as uf

MASS, CENTER = 42e3, np.array([0.0, 0.05, 1.6])
INERTIA = np.array([[60e3, 0, 100], [0, 50e3, -200], [100, -200, 40e3]])
POSITIONS = np.array([(x, y, 0.0) for x in (-1.0, 1.0) for y in (-0.8, 0.8)])
STIFFNESS = np.array([[2e6, 2e6, 6e6]] * 4) * np.linspace(0.9, 1.1, 4)[:, None]
FREQUENCY = np.linspace(1, 50, 400)
PULSE = uf.HalfSine(peak=30e3, duration=0.02)
TIME = np.arange(2000) * 1e-3
# Ratio wanted of each row; the machine alone and its histories have their own. Nothing is wanted of
# the peaks of one machine: lanes need eight.
REQUIRED = {
    "one machine, one loss factor": 3.0,
    "one machine, mixed damping": 3.0,
    "1e5 designs": 10.0,
    "|T_zz|": 65.0,
    "one column": 45.0,
    "full 6 x 6": 25.0,
    "histories, lsim": 20.0,
    "histories, expm steps": 20.0,
    "six peaks, dashpots": 60.0,
    "six peaks, one loss factor": 60.0,
    "six peaks, one machine": 0.0,
    "1e5 samples x 200": 20.0,
}


DOFS = ("x", "y", "z", "rx", "ry", "rz")
VERTICAL = uf.Wrench(force=(0, 0, 1), moment=(0, 0, 0))


class Damping:
    """Loss factors (mount,) and dashpots (mount, 3)."""

    def __init__(self, loss: np.ndarray, dashpot: np.ndarray) -> None:
        self.loss, self.dashpot = loss, dashpot


DASHPOTS = np.array([1.0, 2.0, 0.0, 1.0])[:, None] * np.array([1e4, 2e4, 3e4])
UNIFORM = Damping(np.full(4, 0.1), np.zeros((4, 3)))
MIXED = Damping(np.array([0.05, 0.1, 0.15, 0.1]), DASHPOTS)
VISCOUS = Damping(np.zeros(4), DASHPOTS)


def installation(damping: Damping) -> uf.Installation:
    rows = zip(POSITIONS, STIFFNESS, damping.dashpot, damping.loss, strict=True)
    mounts = [uf.Mount(r, k, damping=c, loss_factor=eta) for r, k, c, eta in rows]
    return uf.Installation(uf.RigidBody(MASS, CENTER, INERTIA), mounts)


# The other side: NumPy, vectorized over mounts and frequencies.


def ports() -> np.ndarray:
    """Wrench transfer of every mount, (mount, 6, 3)."""
    r = POSITIONS - CENTER
    b = np.zeros((len(r), 6, 3))
    b[:, range(3), range(3)] = 1.0
    b[:, 3, 1], b[:, 3, 2] = -r[:, 2], r[:, 1]
    b[:, 4, 0], b[:, 4, 2] = r[:, 2], -r[:, 0]
    b[:, 5, 0], b[:, 5, 1] = -r[:, 1], r[:, 0]
    return b


def matrices(damping: Damping) -> list[np.ndarray]:
    """M, K, H, C."""
    b = ports()
    bt = b.transpose(0, 2, 1)
    m = np.zeros((6, 6))
    m[range(3), range(3)] = MASS
    m[3:, 3:] = INERTIA
    laws = (STIFFNESS, STIFFNESS * damping.loss[:, None], damping.dashpot)
    return [m, *(((b * law[:, None, :]) @ bt).sum(0) for law in laws)]


def numpy_modes(damping: Damping):
    m, k, h, c = matrices(damping)
    square, phi = sl.eigh(k, m)
    inverse = np.linalg.inv(m)
    a = np.zeros((12, 12), complex)
    a[:6, 6:] = np.eye(6)
    a[6:, :6], a[6:, 6:] = -inverse @ (k + 1j * h), -inverse @ c
    s, vectors = sl.eig(a)
    upper = s.imag > 0
    s, vectors = s[upper], vectors[:6, upper]
    moments, axes = np.linalg.eigh(INERTIA)
    psi = phi.copy()
    psi[3:] = axes.T @ phi[3:]
    mu = np.concatenate([np.full(3, MASS), moments])
    energy = mu[:, None] * psi**2
    return np.sqrt(square) / (2 * np.pi), phi, s, vectors, energy / energy.sum(0)


def numpy_transfer(damping: Damping, columns: slice) -> tuple[np.ndarray, np.ndarray]:
    """D and Z^-1 F at every frequency."""
    m, k, h, c = matrices(damping)
    w = 2 * np.pi * FREQUENCY[:, None, None]
    d = k + 1j * h + 1j * w * c
    load = np.eye(6)[:, columns].astype(complex)
    load = np.broadcast_to(load, (len(FREQUENCY), *load.shape))
    return d, np.linalg.solve(d - w**2 * m, load)


def numpy_vertical(damping: Damping) -> np.ndarray:
    d, x = numpy_transfer(damping, slice(2, 3))
    return np.abs((d[:, 2:3] @ x)[:, 0, 0])


def numpy_matrix(damping: Damping) -> np.ndarray:
    d, x = numpy_transfer(damping, slice(0, 6))
    return d @ x


def numpy_full(damping: Damping) -> tuple[np.ndarray, np.ndarray]:
    d, x = numpy_transfer(damping, slice(0, 6))
    law = STIFFNESS * (1 + 1j * damping.loss[:, None])
    law = law + 2j * np.pi * FREQUENCY[:, None, None] * damping.dashpot
    return d @ x, law[..., None] * (ports().transpose(0, 2, 1) @ x[:, None])


def state_space(damping: Damping) -> tuple[np.ndarray, ...]:
    m, k, _, c = matrices(damping)
    inverse = np.linalg.inv(m)
    a = np.zeros((12, 12))
    a[:6, 6:] = np.eye(6)
    a[6:, :6], a[6:, 6:] = -inverse @ k, -inverse @ c
    load = np.zeros((12, 1))
    load[6:, 0] = inverse[:, 2]
    bt = ports().transpose(0, 2, 1)
    force = np.concatenate([STIFFNESS[..., None] * bt, damping.dashpot[..., None] * bt], axis=2)
    ground = np.concatenate([k, c], axis=1)
    out = np.concatenate([np.eye(12), a[6:], force.reshape(12, 12), ground])
    feed = np.zeros((len(out), 1))
    feed[12:18] = load[6:]
    return a, load, out, feed


def numpy_lsim(damping: Damping) -> np.ndarray:
    return ss.lsim(state_space(damping), PULSE.value(TIME), TIME)[1]


def numpy_expm(damping: Damping) -> np.ndarray:
    a, b, c, d = state_space(damping)
    dt = TIME[1]
    augmented = np.zeros((14, 14))
    augmented[:12, :12], augmented[:12, 12:13], augmented[12, 13] = a, b, 1.0
    step = sl.expm(augmented * dt)
    f = PULSE.value(TIME)
    drive = f[:-1, None] * step[:12, 12] + np.diff(f)[:, None] * (step[:12, 13] / dt)
    states = np.zeros((len(TIME), 12))
    for i in range(len(TIME) - 1):
        states[i + 1] = step[:12, :12] @ states[i] + drive[i]
    return states @ c.T + f[:, None] * d.T


def agree(inst: uf.Installation, damping: Damping) -> None:
    """Both sides give the same numbers."""
    modes, (frequency, _, s, _, energy) = inst.modes(), numpy_modes(damping)
    np.testing.assert_allclose(modes.frequency, frequency, rtol=1e-9)
    upper = modes.eigenvalue[modes.eigenvalue.imag > 0]
    np.testing.assert_allclose(np.sort(upper.imag), np.sort(s.imag), rtol=1e-8)
    np.testing.assert_allclose(modes.energy[:, 2], energy[2], rtol=1e-7, atol=1e-12)
    vertical = inst.vertical_transmissibility(FREQUENCY)
    np.testing.assert_allclose(vertical, numpy_vertical(damping), rtol=1e-9)
    found, (matrix, forces) = inst.transmissibility(FREQUENCY), numpy_full(damping)
    np.testing.assert_allclose(found.matrix, matrix, atol=1e-9 * np.abs(matrix).max())
    np.testing.assert_allclose(found.mount, forces, atol=1e-9 * np.abs(forces).max())
    column = inst.response(FREQUENCY, VERTICAL).ground_wrench
    np.testing.assert_allclose(column, matrix[:, :, 2], atol=1e-9 * np.abs(matrix).max())


def best(ours, theirs, rounds: int = 7, least: float = 0.05) -> tuple[float, float]:
    """Best time of each side in seconds of the processor, the two in turn."""

    def once(call) -> float:
        count, start = 0, time.process_time()
        while (spent := time.process_time() - start) < least or count < 1:
            call()
            count += 1
        return spent / count

    ours(), theirs()
    times = [(once(ours), once(theirs)) for _ in range(rounds)]
    return min(t[0] for t in times), min(t[1] for t in times)


def many(designs: int) -> tuple[np.ndarray, np.ndarray]:
    """Mass (1, 6, 6) and stiffness (design, 6, 6): every mount's stiffness drawn by itself."""
    rng = np.random.default_rng(1)
    b = ports()
    outer = np.einsum("mia,mja->maij", b, b).reshape(-1, 36)
    drawn = STIFFNESS * rng.uniform(0.8, 1.2, (designs, 4, 3))
    return matrices(MIXED)[0][None], (drawn.reshape(designs, -1) @ outer).reshape(-1, 6, 6)


def numpy_many(mass: np.ndarray, stiffness: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    inverse = np.linalg.inv(np.linalg.cholesky(mass))
    transposed = inverse.transpose(0, 2, 1)
    square, vectors = np.linalg.eigh(inverse @ stiffness @ transposed)
    return np.sqrt(square) / (2 * np.pi), transposed @ vectors


def numpy_peaks(designs: int = 256):
    """Greatest |output| of six outputs of six modes over 2000 samples, for many designs at once."""
    rng = np.random.default_rng(2)
    omega = rng.uniform(8, 40, (designs, 6))
    turn = np.exp((-0.05 * omega + 1j * omega) * TIME[1])
    drive = PULSE.value(TIME)
    rows = rng.normal(size=(designs, 6, 6)) + 1j * rng.normal(size=(designs, 6, 6))

    def run() -> np.ndarray:
        q = np.zeros((designs, 6), complex)
        best = np.zeros((designs, 6))
        for f in drive:
            q = turn * q + f
            best = np.maximum(best, np.abs((rows @ q[:, :, None])[:, :, 0].real))
        return best

    return run


def spectrum_record() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(3)
    return rng.normal(size=100_000), np.geomspace(20, 2000, 200)


def growth() -> None:
    """Time of one frequency and one design against their number."""
    inst, sizes = installation(MIXED), (1_000, 10_000, 100_000, 1_000_000)
    print("\ncost of one, ns" + "".join(f"{n:>12,}" for n in sizes))
    tasks = [("|T_zz|, frequency", lambda n: (lambda f: inst.vertical_transmissibility(f),
                                              (np.linspace(1, 50, n),))),
             ("modes, design", lambda n: (uf.many_modes, many(n)))]  # fmt: skip
    for name, task in tasks:
        costs = []
        for n in sizes:
            call, arguments = task(n)
            call(*arguments)
            least = float("inf")
            for _ in range(5):
                start = time.perf_counter()
                call(*arguments)
                least = min(least, time.perf_counter() - start)
            costs.append(least / n * 1e9)
        print(f"{name:<15}" + "".join(f"{cost:12.1f}" for cost in costs))


KERNELS = """
import sys, time
sys.path.insert(0, {folder!r})
import bench, numpy as np, underfoot as uf
inst, designs, f = bench.installation(bench.MIXED), bench.many(4096), np.linspace(1, 50, 500)
pulse, axis = bench.PULSE, np.eye(6)[2]
tasks = [lambda: inst.vertical_transmissibility(f), lambda: uf.many_modes(*designs),
         lambda: uf.many_shock_peaks(*designs, pulse, axis, loss_factor=0.1)]
for task in tasks:
    task()
    times = []
    for _ in range(15):
        start = time.process_time()
        task()
        times.append(time.process_time() - start)
    print(min(times))
"""


def instructions() -> int:
    """The baseline against the best instruction set; gives how many kernels gain too little."""

    def times(**pinned: str) -> list[float]:
        code = KERNELS.format(folder=str(Path(__file__).parent))
        environment = {k: v for k, v in os.environ.items() if k != "UNDERFOOT_ISA"} | pinned
        done = subprocess.run(
            [sys.executable, "-c", code],
            env=environment,
            capture_output=True,
            text=True,
            check=True,
        )
        return [float(line) for line in done.stdout.split()]

    gains = [a / b for a, b in zip(times(UNDERFOOT_ISA="baseline"), times(), strict=True)]
    print("\nbaseline over best instruction set (wanted 1.7): "
          "|T_zz| {:.1f}, modes {:.1f}, peaks {:.1f}"
          .format(*gains))  # fmt: skip
    return sum(gain < 1.7 for gain in gains)


def main() -> int:
    uniform, mixed, viscous = installation(UNIFORM), installation(MIXED), installation(VISCOUS)
    agree(uniform, UNIFORM)
    agree(mixed, MIXED)

    def shock():
        return viscous.shock(PULSE, "z", duration=1.999, dt=1e-3)

    exact, held = shock(), numpy_lsim(VISCOUS)
    assert exact.time.size == len(TIME)
    # The hold makes a polygon of the half-sine: the two agree as well as that allows.
    np.testing.assert_allclose(exact.displacement[:, 2], held[:, 2], atol=3e-3 * held[:, 2].max())

    mass, stiffness = many(100_000)
    found, expected = uf.many_modes(mass, stiffness), numpy_many(mass, stiffness)
    np.testing.assert_allclose(found[0], expected[0], rtol=1e-10)
    np.testing.assert_allclose(np.abs(found[1]), np.abs(expected[1]), atol=1e-8)
    record, natural = spectrum_record()

    def pyyeti_spectrum():
        return srs.srs(record, 20_000, natural, 10, ic="zero", peak="abs", getresp=False)

    ours = uf.shock_response_spectrum(record, 20_000, natural, 0.05).maximax
    print(f"instructions: {uf.instruction_set()}")
    print(f"spectrum apart from pyyeti: {np.abs(ours / pyyeti_spectrum() - 1).max():.1e}")

    def peaks():
        # Two samples are as few as there can be: peaks do not depend on them.
        found = viscous.shock(PULSE, "z", duration=1.999, dt=1.999)
        return [found.peak("ground_wrench", dof).value for dof in DOFS]

    recurrence = numpy_peaks()
    struck = many(4096)
    dashpots, axis = matrices(VISCOUS)[3][None], np.eye(6)[2]

    def many_peaks(**damping):
        return uf.many_shock_peaks(*struck, PULSE, axis, duration=1.999, **damping)

    m, k = (a[None] for a in matrices(VISCOUS)[:2])
    found = uf.many_shock_peaks(m, k, PULSE, axis, duration=1.999, damping=dashpots)[0][0]
    one_by_one = peaks()
    np.testing.assert_allclose(np.abs(found), one_by_one, atol=1e-9 * max(one_by_one))
    tasks = [
        ("modes", "one machine, one loss factor", uniform.modes, lambda: numpy_modes(UNIFORM), 1),
        ("modes", "one machine, mixed damping", mixed.modes, lambda: numpy_modes(MIXED), 1),
        ("modes", "1e5 designs", lambda: uf.many_modes(mass, stiffness),
         lambda: numpy_many(mass, stiffness), 1),
        ("transmissibility", "|T_zz|", lambda: mixed.vertical_transmissibility(FREQUENCY),
         lambda: numpy_vertical(MIXED), 1),
        ("transmissibility", "one column",
         lambda: mixed.response(FREQUENCY, VERTICAL).ground_wrench,
         lambda: numpy_transfer(MIXED, slice(2, 3))[1], 1),
        ("transmissibility", "full 6 x 6", lambda: mixed.transmissibility(FREQUENCY).matrix,
         lambda: numpy_matrix(MIXED), 1),
        ("shock", "histories, lsim", shock, lambda: numpy_lsim(VISCOUS), 1),
        ("shock", "histories, expm steps", shock, lambda: numpy_expm(VISCOUS), 1),
        ("shock", "six peaks, dashpots", lambda: many_peaks(damping=dashpots), recurrence,
         256 / 4096),
        ("shock", "six peaks, one loss factor", lambda: many_peaks(loss_factor=0.1), recurrence,
         256 / 4096),
        ("shock", "six peaks, one machine", peaks, recurrence, 256),
        ("spectrum", "1e5 samples x 200",
         lambda: uf.shock_response_spectrum(record, 20_000, natural, 0.05), pyyeti_spectrum, 1),
    ]  # fmt: skip
    print(f"{'task':<18}{'case':<30}{'ours us':>11}{'theirs us':>11}{'ratio':>8}{'wanted':>8}")
    missed = 0
    for task, case, ours, theirs, share in tasks:
        a, b = best(ours, theirs)
        ratio, wanted = b / share / a, REQUIRED[case]
        missed += ratio < wanted
        print(
            f"{task:<18}{case:<30}{a * 1e6:11.1f}{b / share * 1e6:11.1f}{ratio:8.1f}{wanted:8.0f}"
        )
    growth()
    return missed + instructions()


if __name__ == "__main__":
    raise SystemExit(main())
