"""A good citizen of the process: threads, interpreter lock, forks, import, a pure core."""

import json
import multiprocessing
import os
import shutil
import subprocess
import sys
import threading
import time
import warnings
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import underfoot as uf

ROOT = Path(__file__).parents[2]
BODY = uf.RigidBody("42 t", (0, 0.05, 1.6), (60e3, 50e3, 40e3))
INST = uf.Installation(
    BODY,
    [
        uf.Mount((x, y, 0), (20e6, 20e6, 40e6), loss_factor=0.1)
        for x in (-1.3, 1.3)
        for y in (-0.9, 0.9)
    ],
)


def modes(_=0):
    return INST.modes().frequency.tobytes()


def test_eight_threads_get_the_same_bits():
    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(modes, range(64))) == {modes()}


def test_the_interpreter_goes_on_while_a_long_call_runs():
    frequency = np.linspace(1, 50, 300_000)
    beats, done = [], threading.Event()

    def beat():
        while not done.is_set():
            beats.append(time.perf_counter())
            time.sleep(0.001)

    thread = threading.Thread(target=beat)
    thread.start()
    start = time.perf_counter()
    INST.transmissibility(frequency)
    end = time.perf_counter()
    done.set()
    thread.join()
    during = [t for t in beats if start < t < end]
    assert len(during) > 5, f"{len(during)} beats in {end - start:.3f} s"


def send(pipe):
    pipe.send(modes())


def test_a_forked_child_computes():
    modes()
    ours, theirs = multiprocessing.Pipe()
    with warnings.catch_warnings():
        # Forking beside other tests' threads is what is tried here.
        warnings.simplefilter("ignore", DeprecationWarning)
        child = multiprocessing.get_context("fork").Process(target=send, args=(theirs,))
        child.start()
    assert ours.poll(30)
    assert ours.recv() == modes()
    child.join(30)
    assert child.exitcode == 0


def test_importing_loads_nothing_heavy():
    code = (
        "import sys, underfoot; "
        "print([m for m in ('matplotlib', 'pint', 'xarray', 'pandas') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_the_core_needs_no_python():
    command = ["cargo", "tree", "--edges", "normal", "--prefix", "none"]
    tree = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    names = {line.split()[0] for line in tree.splitlines() if line}
    assert "nalgebra" in names
    assert not names & {"pyo3", "numpy", "pyo3-ffi"}


def importing(module):
    """Processor seconds that a fresh interpreter spends on it, the least of some."""
    code = f"import time; t = time.process_time(); import {module}; print(time.process_time() - t)"
    run = [sys.executable, "-c", code]
    times = [subprocess.run(run, capture_output=True, text=True, check=True) for _ in range(5)]
    return min(float(done.stdout) for done in times)


def test_importing_costs_little_more_than_numpy():
    assert importing("underfoot") - importing("numpy") < 0.15


def instruction_set(name):
    """What a fresh interpreter says with UNDERFOOT_ISA set, and |T_zz| as it computes it."""
    code = (
        "import underfoot as uf, sys; sys.path.insert(0, 'tests/python')\n"
        "import test_process as t\n"
        "try: print(uf.instruction_set(), t.INST.vertical_transmissibility([3.0, 30.0]).tolist())\n"
        "except uf.InvalidError as e: print(e)"
    )
    environment = {**os.environ, "UNDERFOOT_ISA": name}
    run = [sys.executable, "-c", code]
    return subprocess.run(
        run, env=environment, cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout


def test_the_instruction_set_can_be_pinned():
    kind, _, values = instruction_set("baseline").partition(" ")
    assert kind == "baseline"
    best = INST.vertical_transmissibility([3.0, 30.0])
    np.testing.assert_allclose(json.loads(values), best, rtol=1e-13)


def test_an_unknown_instruction_set_is_an_error_and_no_panic():
    assert 'UNDERFOOT_ISA = "sse9": must be baseline, avx2' in instruction_set("sse9")


def test_no_kernel_stores_its_lanes_by_halves():
    # A branch on lanes becomes a masked store, which what is read next has to wait for. The
    # sixteen left sort modes and count steps, once for a block of designs; in the inner loops there
    # were 132. The matrix library has such stores of its own.
    if shutil.which("objdump") is None:
        pytest.skip("objdump is not there to read the extension")
    library = Path(uf._core.__file__)
    ours, seen, masked = False, 0, 0
    command = ["objdump", "-d", "--no-show-raw-insn", str(library)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as done:
        for line in done.stdout:
            if line.endswith(">:\n"):
                ours = "underfoot" in line
            seen += ours
            masked += ours and "vmaskmov" in line
    assert done.returncode == 0 and seen > 100_000
    assert masked <= 16


def test_many_modes_are_those_of_numpy():
    rng = np.random.default_rng(5)
    root = rng.normal(size=(2, 100, 6, 6))
    mass, stiffness = root @ root.transpose(0, 1, 3, 2) + 6 * np.eye(6)
    frequency, shape = uf.many_modes(mass, stiffness * 1e4)
    inverse = np.linalg.inv(np.linalg.cholesky(mass))
    square, vectors = np.linalg.eigh(inverse @ (stiffness * 1e4) @ inverse.transpose(0, 2, 1))
    np.testing.assert_allclose((2 * np.pi * frequency) ** 2, square, rtol=1e-11)
    expected = np.abs(inverse.transpose(0, 2, 1) @ vectors)
    np.testing.assert_allclose(np.abs(shape), expected, atol=1e-9)


def test_many_shock_peaks_are_those_of_the_installation():
    inertia = np.array([[60e3, 0, 100], [0, 50e3, -200], [100, -200, 40e3]])
    feet = [(x, y, 0.0) for x in (-1.0, 1.0) for y in (-0.8, 0.8)]
    pulse = uf.HalfSine(peak=30e3, duration=0.02)
    mass = np.zeros((6, 6))
    mass[range(3), range(3)] = 42e3
    mass[3:, 3:] = inertia
    ports = []
    for x, y, z in np.array(feet) - (0.0, 0.05, 1.6):
        ports.append(np.vstack([np.eye(3), [[0, -z, y], [z, 0, -x], [-y, x, 0]]]))
    stiffness, damping, expected = [], [], []
    for factor in np.linspace(0.8, 1.2, 11):
        k, c = factor * np.array([2e6, 2e6, 6e6]), np.array([1e4, 2e4, 3e4])
        mounts = [uf.Mount(r, k * (1 + 0.1 * i), damping=c * i) for i, r in enumerate(feet)]
        machine = uf.Installation(uf.RigidBody(42e3, (0.0, 0.05, 1.6), inertia), mounts)
        shock = machine.shock(pulse, "z", dt=10.0)
        wrench = [shock.peak("ground_wrench", c) for c in ("x", "y", "z", "rx", "ry", "rz")]
        expected.append([p.signed_value for p in wrench])
        stiffness.append(sum(b * k * (1 + 0.1 * i) @ b.T for i, b in enumerate(ports)))
        damping.append(sum(b * c * i @ b.T for i, b in enumerate(ports)))
    peak, time = uf.many_shock_peaks(
        mass[None], np.array(stiffness), pulse, [0, 0, 1.0, 0, 0, 0], damping=np.array(damping)
    )
    largest = np.abs(expected).max(axis=1, keepdims=True)
    np.testing.assert_array_less(np.abs(np.abs(peak) - np.abs(expected)) / largest, 1e-9)
    assert time.shape == (11, 6) and (time > 0).all()
    again = uf.many_shock_peaks(
        mass[None],
        np.array(stiffness),
        [pulse] * 11,
        np.tile([0, 0, 1.0, 0, 0, 0], (11, 1)),
        damping=np.array(damping),
        force=np.eye(6),
    )
    np.testing.assert_array_equal(peak, again[0])


def test_many_shock_peaks_refuse_what_does_not_fit():
    pulse = uf.HalfSine(peak=30e3, duration=0.02)
    mass = np.stack([np.eye(2), np.eye(2), -np.eye(2)])
    with pytest.raises(uf.InvalidError, match=r"design\[2\]"):
        uf.many_shock_peaks(mass, np.stack([1e3 * np.eye(2)] * 3), pulse, [1.0, 0.0])
    stiffness = 1e3 * np.ones((3, 1, 1))
    with pytest.raises(uf.ShapeError, match="direction"):
        uf.many_shock_peaks(np.ones((1, 1, 1)), stiffness, pulse, [1.0, 0.0])
    with pytest.raises(uf.ShapeError, match="damping"):
        uf.many_shock_peaks(np.ones((1, 1, 1)), stiffness, pulse, [1.0], damping=np.ones((2, 1, 1)))
    with pytest.raises(uf.InvalidError, match="loss_factor"):
        uf.many_shock_peaks(
            np.ones((1, 1, 1)), stiffness, pulse, [1.0], loss=stiffness, loss_factor=0.1
        )
    with pytest.raises(uf.InvalidError, match="pulse"):
        uf.many_shock_peaks(np.ones((1, 1, 1)), stiffness, 3.0, [1.0])


def test_many_modes_name_the_design_that_has_none():
    mass = np.stack([np.eye(2), np.eye(2), -np.eye(2)])
    with pytest.raises(uf.InvalidError, match=r"design\[2\]"):
        uf.many_modes(mass, np.stack([np.eye(2)] * 3))
    with pytest.raises(uf.ShapeError, match="mass"):
        uf.many_modes(np.ones((2, 3, 3)), np.ones((3, 3, 3)))
