"""Speed against vectorized NumPy and SciPy, as ratios in one run on one thread.

Each task starts from the same arrays that describe machine and mounts and ends in the same results;
both sides are checked to agree before they are timed. The best of several rounds counts, the two
sides in turn, since the machine may be shared.

- modes: assemble M, K, C, H; undamped frequencies and shapes, damped roots and shapes, energies.
  Once with one loss factor for all mounts, once with dashpots and loss factors that differ.
- transmissibility: |T_zz| at 400 frequencies; and the full 6 x 6 with every mount's force.
- shock: 2000 steps of displacement, velocity, acceleration, mount forces and ground wrench after a
  half-sine. SciPy side: `lsim` (first-order hold), and one `expm` step repeated in NumPy.

Run it on the real wheel: `uv run --no-editable --group bench python tests/bench/bench.py`.
"""

from __future__ import annotations

import os
import time

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np
import scipy.linalg as sl
import scipy.signal as ss

import underfoot as uf

MASS, CENTER = 42e3, np.array([0.0, 0.05, 1.6])
INERTIA = np.array([[60e3, 0, 100], [0, 50e3, -200], [100, -200, 40e3]])
POSITIONS = np.array([(x, y, 0.0) for x in (-1.0, 1.0) for y in (-0.8, 0.8)])
STIFFNESS = np.array([[2e6, 2e6, 6e6]] * 4) * np.linspace(0.9, 1.1, 4)[:, None]
FREQUENCY = np.linspace(1, 50, 400)
PULSE = uf.HalfSine(peak=30e3, duration=0.02)
TIME = np.arange(2000) * 1e-3
REQUIRED = {"modes": 3.0, "transmissibility": 8.0, "shock": 20.0}


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


def best(ours, theirs, rounds: int = 7, least: float = 0.05) -> tuple[float, float]:
    """Best time of each side in seconds, the two in turn."""

    def once(call) -> float:
        count, start = 0, time.perf_counter()
        while (spent := time.perf_counter() - start) < least or count < 3:
            call()
            count += 1
        return spent / count

    ours(), theirs()
    times = [(once(ours), once(theirs)) for _ in range(rounds)]
    return min(t[0] for t in times), min(t[1] for t in times)


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

    vertical = "|T_zz|, 400 frequencies"
    full = "6 x 6 and mounts, 400"
    tasks = [
        ("modes", "one loss factor", uniform.modes, lambda: numpy_modes(UNIFORM)),
        ("modes", "mixed damping", mixed.modes, lambda: numpy_modes(MIXED)),
        ("transmissibility", vertical, lambda: mixed.vertical_transmissibility(FREQUENCY),
         lambda: numpy_vertical(MIXED)),
        ("transmissibility", full, lambda: mixed.transmissibility(FREQUENCY),
         lambda: numpy_full(MIXED)),
        ("shock", "2000 steps, lsim", shock, lambda: numpy_lsim(VISCOUS)),
        ("shock", "2000 steps, expm steps", shock, lambda: numpy_expm(VISCOUS)),
    ]  # fmt: skip
    print(f"{'task':<18}{'case':<26}{'ours us':>9}{'NumPy us':>10}{'ratio':>8}{'wanted':>8}")
    missed = 0
    for task, case, ours, theirs in tasks:
        a, b = best(ours, theirs)
        # The ratio is wanted of the column, not of the whole matrix with every mount's force.
        wanted = 0.0 if case == full else REQUIRED[task]
        missed += b / a < wanted
        shown = f"{wanted:8.0f}" if wanted else f"{'-':>8}"
        print(f"{task:<18}{case:<26}{a * 1e6:9.1f}{b * 1e6:10.1f}{b / a:8.1f}{shown}")
    return missed


if __name__ == "__main__":
    raise SystemExit(main())
