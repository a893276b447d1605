"""A good citizen of the process: threads, interpreter lock, forks, import, a pure core."""

import multiprocessing
import subprocess
import sys
import threading
import time
import warnings
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
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
