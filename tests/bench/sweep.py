"""`uf.sweep` end to end from Python against the same outputs by vectorized NumPy, in one run.

Modes, vertical transmissibility at three frequencies and static mount loads of designs in which
stiffness, mass and the height of the center of mass move. Both sides run on one thread; then the
sweep on two. Time is that of the processor (`process_time`), so that what else the machine does
matters less; for two threads it is the wall clock, and the ratio is only shown on an idle machine.

Run it on the real wheel:
`uv run --no-editable --group bench python tests/bench/sweep.py [designs]`.
"""

import os
import sys
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np
import underfoot as uf

REQUIRED = 15.0
FREQUENCY = np.array([10.0, 20.0, 30.0])
FEET = np.array([(-1.4, -1.0, 0.0), (1.4, -1.0, 0.0), (-1.4, 1.0, 0.0), (1.4, 1.0, 0.0)])
STIFFNESS, LOSS = np.array([6e6, 6e6, 15e6]), 0.1
INERTIA = np.array([[82e3, 0, 0], [0, 76e3, -1500], [0, -1500, 30e3]])
AXES = {
    "mounts.stiffness[z]": uf.uniform(1e7, 4e7),
    "mass": uf.uniform(3e4, 5e4),
    "center[z]": uf.uniform(1.5, 2.5),
}
OUTPUTS = ["mode_frequency", "transmissibility", "mount_load"]


def installation():
    body = uf.RigidBody(42e3, (0, 0.05, 2.1), INERTIA)
    return uf.Installation(body, [uf.Mount(r, STIFFNESS, loss_factor=LOSS) for r in FEET])


def swept(designs, threads):
    return uf.sweep(
        installation(),
        AXES,
        OUTPUTS,
        frequencies=FREQUENCY,
        samples=designs,
        method="random",
        threads=threads,
        progress=False,
    )


def by_numpy(kz, mass, height, part=20_000):
    """Frequencies, |T_zz| and loads, vectorized over designs, in parts that stay in the cache."""
    results = [
        _by_numpy(kz[i : i + part], mass[i : i + part], height[i : i + part])
        for i in range(0, len(kz), part)
    ]
    return [np.concatenate(r) for r in zip(*results, strict=True)]


def _by_numpy(kz, mass, height):
    n = len(kz)
    d = np.broadcast_to(FEET, (n, 4, 3)).copy()
    d[..., 1] -= 0.05
    d[..., 2] -= height[:, None]
    b = np.zeros((n, 4, 6, 3))
    b[..., range(3), range(3)] = 1.0
    b[..., 3, 1], b[..., 3, 2] = -d[..., 2], d[..., 1]
    b[..., 4, 0], b[..., 4, 2] = d[..., 2], -d[..., 0]
    b[..., 5, 0], b[..., 5, 1] = -d[..., 1], d[..., 0]
    law = np.broadcast_to(STIFFNESS, (n, 3)).copy()
    law[:, 2] = kz
    # Four mounts beside each other make one (6, 12) port: a single product for each design.
    ports = b.transpose(0, 2, 1, 3).reshape(n, 6, 12)
    k = (ports * np.tile(law, 4)[:, None, :]) @ ports.transpose(0, 2, 1)
    m = np.zeros((n, 6, 6))
    m[:, range(3), range(3)] = mass[:, None]
    m[:, 3:, 3:] = INERTIA
    inverse = np.zeros((n, 6, 6))
    inverse[:, range(3), range(3)] = 1 / np.sqrt(mass)[:, None]
    inverse[:, 3:, 3:] = np.linalg.inv(np.linalg.cholesky(INERTIA))
    a = inverse @ k @ inverse.transpose(0, 2, 1)
    frequency = np.sqrt(np.linalg.eigvalsh(a)) / (2 * np.pi)
    z_load = np.zeros((n, 6, 1), complex)
    z_load[:, 2] = 1.0
    dynamic = k * (1 + 1j * LOSS)
    vertical = np.empty((n, 3))
    for i, f in enumerate(FREQUENCY):
        x = np.linalg.solve(dynamic - (2 * np.pi * f) ** 2 * m, z_load)
        vertical[:, i] = np.abs((dynamic[:, 2:3] @ x)[:, 0, 0])
    weight = np.zeros((n, 6, 1))
    weight[:, 2, 0] = -mass * 9.80665
    x = np.linalg.solve(k, weight)
    load = -kz[:, None] * (ports.transpose(0, 2, 1) @ x)[:, 2::3, 0]
    return frequency, vertical, load


def main():
    designs = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    few = swept(1000, 1)
    values = [few[name].values for name in AXES]
    for ours, theirs in zip(OUTPUTS, by_numpy(*values), strict=True):
        found = few[ours].values.reshape(theirs.shape)
        np.testing.assert_allclose(found, theirs, rtol=1e-9)
    some = swept(100_000, 1)
    values = [some[name].values for name in AXES]

    def processor(call):
        start = time.process_time()
        call()
        return time.process_time() - start

    def wall(call):
        start = time.perf_counter()
        call()
        return time.perf_counter() - start

    theirs = min(processor(lambda: by_numpy(*values)) for _ in range(3)) / 100_000
    print(f"{'designs':>10}{'us a design':>14}{'ratio to NumPy':>16}")
    count, ratio = 1000, 0.0
    while count <= designs:
        best = min(processor(lambda n=count: swept(n, 1)) for _ in range(5)) / count
        ratio = theirs / best
        print(f"{count:10d}{best * 1e6:14.3f}{ratio:16.1f}")
        count *= 10
    print(f"{'NumPy':>10}{theirs * 1e6:14.3f}{1.0:16.1f}   wanted {REQUIRED}")
    one, two = (min(wall(lambda t=t: swept(designs, t)) for _ in range(5)) for t in (1, 2))
    print(f"two threads: {one / two:.2f} times one   wanted 1.8 (load {os.getloadavg()[0]:.1f})")
    return int(ratio < REQUIRED)


if __name__ == "__main__":
    raise SystemExit(main())
