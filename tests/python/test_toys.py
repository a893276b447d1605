"""Checks that a toy would fail: peaks off the grid, loss factors in time, every key of a job."""

import json
import os
from functools import lru_cache

import numpy as np
import pytest
import underfoot as uf
from example_job import job, short_job

FEET = [(x, y, 0) for x in (-1.3, 1.3) for y in (-0.9, 0.9)]


def press(loss_factor):
    body = uf.RigidBody("42 t", (0, 0, 0), (60e3, 50e3, 40e3))
    mounts = [uf.Mount(r, (20e6, 20e6, 40e6), loss_factor=loss_factor) for r in FEET]
    return uf.Installation(body, mounts)


@pytest.mark.parametrize("loss_factor", [0.0, 0.2])
def test_a_peak_does_not_depend_on_the_step_of_the_history(loss_factor):
    inst = press(loss_factor)
    period = 1 / inst.modes().frequency[-1]
    pulse = uf.HalfSine(50e3, 0.008)
    coarse, fine = (
        inst.shock(pulse, "z", (0.4, 0.2, 1.0), duration=2.0, dt=period / n) for n in (4, 400)
    )
    for quantity in ("displacement", "acceleration", "mount_force", "ground_wrench"):
        a, b = coarse.peak(quantity), fine.peak(quantity)
        assert a.value == pytest.approx(b.value, rel=1e-9)
        assert a.time == pytest.approx(b.time, abs=1e-9)


def test_a_loss_factor_in_time_is_the_continuation_it_says_it_is():
    eta, pulse = 0.2, uf.HalfSine(50e3, 0.008)
    lossy, free = (
        press(eta).shock(pulse, "z", duration=1.0),
        press(0.0).shock(pulse, "z", duration=1.0),
    )
    assert "continuation" in lossy.time_model
    assert lossy.peak("displacement").value < 0.97 * free.peak("displacement").value
    # Heave alone: after the pulse z'' - 2 Re(s) z' + |s|^2 z = 0 with s = j omega sqrt(1 + j eta).
    s = 1j * np.sqrt(160e6 / 42e3) * np.sqrt(1 + 1j * eta)
    after = lossy.time > 0.01
    z, v, a = (x[after, 2] for x in (lossy.displacement, lossy.velocity, lossy.acceleration))
    np.testing.assert_allclose(a - 2 * s.real * v + abs(s) ** 2 * z, 0, atol=1e-9 * np.abs(a).max())


def results(study):
    found = json.loads(study.to_json())
    return {key: value for key, value in found.items() if key not in ("inputs", "title", "machine")}


def numbers(of):
    return {i.path: i.value for i in of.inputs if not i.informational}


# Numbers of events and of the press whose material breaks take seconds each: some of them, all if
# asked. That each of them is read and computed from is tested in Rust.
SHORT = {path: value for path, value in numbers(short_job()).items() if path[:6] != "press."}
# A vertical pair of forces is the same at every height.
HEIGHTS = [f"break_through[{i}].at[2]" for i in (0, 1)]
LONG = [path for path in numbers(job()) if path not in SHORT and path not in HEIGHTS]
STEP = 1 if os.environ.get("UNDERFOOT_LONG") == "1" else 16


@lru_cache(maxsize=2)
def base(of):
    return results(of().study(bands=False))


def moves(of, path):
    value = numbers(of())[path]
    moved = of().with_input(path, value * 1.01 if value else 1e-3)
    return results(moved.study(bands=False)) != base(of)


@pytest.mark.parametrize("path", list(SHORT))
def test_every_number_of_a_job_moves_its_study(path):
    assert moves(short_job, path)


@pytest.mark.parametrize("path", LONG[::STEP])
def test_numbers_of_events_move_the_study(path):
    assert moves(job, path)
