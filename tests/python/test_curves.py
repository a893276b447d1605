"""Curves, stops and bridges against SciPy, a general-purpose library, and numbers of others."""

import json
from pathlib import Path

import numpy as np
import pytest
import underfoot as uf
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, fsolve

REFERENCE = Path(__file__).parents[1] / "reference"
FEET = [(-1.4, -1.0, 0.1), (1.4, -1.0, 0.0), (-1.4, 1.0, 0.0), (1.4, 1.0, 0.05)]
ROWS = (
    [0.0, 2e-3, 5e-3, 9e-3, 14e-3],
    [0.0, 14e3, 41e3, 90e3, 170e3],
)


def read(name):
    return json.loads((REFERENCE / f"{name}.json").read_text())


def rubber(thickness=0.04, stiff=70e3):
    return uf.Curve.compression(thickness, [(stiff, -2, 1), (0.3 * stiff, -4, 0)])


def machine(mass=18e3, **given):
    curves = [uf.Curve(*ROWS), rubber(), rubber(0.05, 90e3), uf.Curve(*ROWS)]
    mounts = [
        uf.Mount(foot, (4e6, 5e6, 0), loss_factor=0.1, curve=curve, dynamic_ratio=1.3)
        for foot, curve in zip(FEET, curves, strict=True)
    ]
    body = uf.RigidBody(mass, (0.1, 0.05, 1.4), (2e4, 2.5e4, 2.2e4))
    return uf.Installation(body, mounts, **given)


def test_a_table_is_the_monotone_cubic_of_scipy():
    curve, other = uf.Curve(*ROWS), PchipInterpolator(*ROWS)
    u = np.linspace(0, 14e-3, 301)
    np.testing.assert_allclose(curve.force(u), other(u), rtol=1e-12, atol=1e-7)
    np.testing.assert_allclose(curve.tangent(u), other(u, 1), rtol=1e-11)
    work = [other.integrate(0, x) for x in u]
    np.testing.assert_allclose(curve.energy(u), work, rtol=1e-11, atol=1e-12)


def test_the_deflection_under_a_load_is_the_root_of_brentq():
    for curve in (uf.Curve(*ROWS), rubber()):
        start, end = curve.range
        for load in (1e3, 30e3, 80e3):
            root = brentq(lambda u, f=load, c=curve: c.force(u)[0] - f, start, end, xtol=1e-15)
            assert curve.deflection(load)[0] == pytest.approx(root, rel=1e-11)


def residual(inst, x, case_load, gravity_of=None):
    """Forces and moments on the machine at a displacement, written from the mounts alone."""
    center = inst.body.center
    shift, turn = x[:3], x[3:]
    force, moment = np.array(case_load[:3], float), np.array(case_load[3:], float)
    for mount in inst.mounts:
        arm = mount.position - center
        top = shift + np.cross(turn, arm)
        kx, ky, _ = mount.static_stiffness
        push = np.array([-kx * top[0], -ky * top[1], mount.curve.force(-top[2])[0]])
        force += push
        moment += np.cross(arm, push)
        if gravity_of is not None:
            # Second-order work of a force that keeps its direction at an arm that turns.
            f, r = gravity_of[mount.name], arm
            k_g = np.dot(f, r) * np.eye(3) - (np.outer(f, r) + np.outer(r, f)) / 2
            moment -= k_g @ turn
    return np.concatenate([force, moment])


def scaled_root(inst, load, start, **given):
    weight = inst.body.mass * inst.gravity
    size = np.array([1e-3] * 3 + [1e-3] * 3)
    found, info, code, why = fsolve(
        lambda q: residual(inst, q * size, load, **given) / weight,
        start / size,
        xtol=1e-14,
        full_output=True,
    )
    assert np.abs(info["fvec"]).max() < 1e-11, why
    return found * size


@pytest.mark.parametrize("mass", [6e3, 12e3, 18e3])
def test_the_equilibrium_is_the_root_of_fsolve(mass):
    inst = machine(mass)
    load = [0, 0, -mass * inst.gravity, 0, 0, 0]
    found = inst.statics()
    assert found.newton_steps > 0 and found.residual < 1e-12
    root = scaled_root(inst, load, np.zeros(6) + [0, 0, -4e-3, 0, 0, 0])
    np.testing.assert_allclose(found.displacement, root, rtol=1e-8, atol=1e-12)


def test_the_equilibrium_with_gravity_stiffness_is_the_root_of_fsolve():
    inst = machine()
    load = [0, 0, -inst.body.mass * inst.gravity, 0, 0, 0]
    found = inst.statics(gravity_stiffness=True)
    forces = dict(zip(found.mounts, found.load, strict=True))
    root = scaled_root(inst, load, np.array(inst.statics().displacement), gravity_of=forces)
    np.testing.assert_allclose(found.displacement, root, rtol=1e-8, atol=1e-12)
    assert abs(found.tilt[0]) > 1.001 * abs(inst.statics().tilt[0])


def test_each_case_is_linearized_at_its_own_load():
    heavy = uf.Case("heavy", uf.RigidBody(26e3, (0.1, 0.05, 1.4), (2e4, 2.5e4, 2.2e4)))
    inst = machine(cases=[heavy])
    for case, body in ((None, inst.body), ("heavy", heavy.body)):
        rest = inst.statics(case)
        center = body.center
        stiffness = np.zeros((6, 6))
        for mount, squeezed in zip(inst.mounts, rest.deflection[:, 2], strict=True):
            kx, ky, _ = mount.stiffness
            k = np.diag([kx, ky, 1.3 * mount.curve.tangent(squeezed)[0]])
            x, y, z = mount.position - center
            arm = np.array([[0, z, -y], [-z, 0, x], [y, -x, 0]])
            b = np.hstack([np.eye(3), arm])
            stiffness += b.T @ k @ b
        mass = np.zeros((6, 6))
        mass[:3, :3], mass[3:, 3:] = body.mass * np.eye(3), body.inertia
        squares = np.sort(np.linalg.eigvals(np.linalg.solve(mass, stiffness)).real)
        expected = np.sqrt(squares) / (2 * np.pi)
        np.testing.assert_allclose(inst.modes(case).frequency, expected, rtol=1e-9)
    assert inst.modes("heavy").frequency[0] != pytest.approx(inst.modes().frequency[0], rel=1e-3)


def test_a_snubbed_rebound_is_the_motion_of_solve_ivp():
    case = read("mounts/snubber")
    m, k1, k2, g, v = (case[key] for key in ("m", "k1", "k2", "gap", "v0"))
    found = uf.snubber_rebound(m, k1, k2, g, v)

    def motion(_, state):
        x, speed = state
        return [speed, -(k1 * x + k2 * max(0.0, x - g)) / m]

    def turns(_, state):
        return state[1]

    turns.terminal = True
    run = solve_ivp(motion, (0, 0.1), [0, v], events=turns, rtol=1e-12, atol=1e-15, max_step=1e-4)
    assert found.deflection == pytest.approx(run.y[0, -1], abs=1e-10)
    assert found.deflection == pytest.approx(case["x_max"], rel=1e-10)
    assert f"{found.force / 1e3:.2f} {found.force_without_stop / 1e3:.2f}" == "231.43 70.71"


def test_a_stop_closes_under_load_and_is_named():
    sag = -machine().statics().displacement[2]
    stop = uf.Stop((0.1, 0.05, 1.4), "-z", 0.5 * sag, "40 kN/mm", name="snubber")
    inst = machine(stops=[stop])
    found = inst.statics()
    assert found.touching == ["snubber"] and found.way_to_go["snubber"] < 0
    assert found.load[:, 2].sum() + found.beside["snubber"][2] == pytest.approx(
        inst.body.mass * inst.gravity, rel=1e-11
    )
    open_ = machine(stops=[uf.Stop((0.1, 0.05, 1.4), "-z", 2 * sag, 4e7)])
    assert open_.statics().touching == []
    np.testing.assert_allclose(open_.modes().frequency, machine().modes().frequency, rtol=1e-12)


@pytest.mark.parametrize(("gap", "closed"), [(1e-3, 1), (10e-3, 0)])
def test_heave_has_the_stiffness_of_a_stop_that_touches_and_none_of_an_open_one(gap, closed):
    mass, k, stop_k = 18e3, 1e7, 4e7
    body = uf.RigidBody(mass, (0, 0, 1.4), (2e4, 2.5e4, 2.2e4))
    mounts = [uf.Mount((x, y, 0), (5e6, 5e6, k)) for x in (-1.4, 1.4) for y in (-1, 1)]
    inst = uf.Installation(body, mounts, stops=[uf.Stop((0, 0, 0), "-z", gap, stop_k)])
    expected = np.sqrt((4 * k + closed * stop_k) / mass) / (2 * np.pi)
    assert np.abs(inst.modes().frequency / expected - 1).min() < 1e-9
    assert inst.statics().touching == ["stop 1"] * closed


def test_the_short_circuit_of_the_trade_comes_out_to_its_digits():
    answers = read("jobs/job_05")["answers"]
    k = 30e3 * (2 * np.pi * 5) ** 2 / 4
    c = 2 * 0.08 * np.sqrt(30e3 * 4 * k) / 4
    feet = [(x, y, 0) for x in (-1.5, 1.5) for y in (-1.0, 1.0)]
    inst = uf.Installation(
        uf.RigidBody(30e3, (0, 0, 0), (30e3 * 1.1**2, 30e3 * 1.3**2, 5e4)),
        [uf.Mount(foot, (1e9, 1e9, k), damping=(0, 0, c)) for foot in feet],
    )
    for stiffness, name in ((40e6, "pipe_40_MN_m"), (150e6, "pipe_150_MN_m")):
        pipe = uf.Bridge((1.6, 1.1, 0), (0, 0, stiffness), name="pipe", kind="pipe")
        modal = inst.what_if_bridged(pipe, [25.0], damping_ratio=0.08)
        parts = inst.what_if_bridged(pipe, [25.0])
        expected = answers[name]
        before = float(answers["pipe_0_MN_m"]["net_floor_force_ratio_25Hz"])
        assert modal.floor_force_before[0] == pytest.approx(before, rel=1e-8)
        after = float(expected["net_floor_force_ratio_25Hz"])
        assert modal.floor_force_after[0] == pytest.approx(after, rel=1e-8)
        dashpots = float(expected["same_with_dashpots_at_the_mounts_only"])
        assert parts.floor_force_after[0] == pytest.approx(dashpots, rel=1e-8)
        for mode in map(float, expected["modes_Hz"]):
            assert np.abs(modal.mode_frequency_after / mode - 1).min() < 1e-9
        assert modal.damping_ratio == 0.08 and parts.damping_ratio is None
        assert modal.bridge == "pipe"
    data = modal.to_xarray()
    assert data.floor_force_after.dims == ("frequency",)


def test_bad_curves_stops_and_mounts_say_what_is_wrong():
    with pytest.raises(uf.InvalidError, match=r"load\[2\] = 2500 N: the load must rise"):
        uf.Curve((1e-3, 2e-3, 3e-3), (1e3, 3e3, 2.5e3))
    with pytest.raises(uf.ShapeError, match="one for each deflection"):
        uf.Curve((1e-3, 2e-3), (1e3,))
    with pytest.raises(uf.InvalidError, match="not extrapolated"):
        uf.Curve(*ROWS).force(0.02)
    with pytest.raises(uf.InvalidError, match="given without a curve"):
        uf.Mount((0, 0, 0), (1, 1, 1), dynamic_ratio=1.2)
    with pytest.raises(uf.InvalidError, match="curve of mount .*its range ends at"):
        machine(120e3).statics()
    with pytest.raises(uf.InvalidError, match="must have length 1"):
        uf.Stop((0, 0, 0), (1, 1, 0), 0.0, 1e6)
