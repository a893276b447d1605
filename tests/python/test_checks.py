"""Checks as data, and second methods for the worst instant of walking."""

import numpy as np
import pytest
import underfoot as uf
from example_job import study
from scipy.optimize import linprog, minimize

FEET = {"a": (-1.0, -0.7), "b": (1.1, -0.7), "c": (1.1, 0.7), "d": (-1.0, 0.7)}


def press(cases=()):
    body = uf.RigidBody(10e3, (0.15, -0.1, 1.2), (9e3, 12e3, 7e3))
    mounts = [
        uf.Mount(
            (x, y, 0),
            (2e6, 3e6, 6e6 + 4e5 * i),
            loss_factor=0.1,
            load_range=uf.LoadRange(min="5 kN", max="60 kN"),
            name=name,
        )
        for i, (name, (x, y)) in enumerate(FEET.items())
    ]
    return uf.Installation(body, mounts, cases=list(cases), points={"crown": (0.5, 0.2, 2.0)})


INST = press()
JERK = INST.shock(uf.HalfSine(40e3, 0.03), (0.48, 0.6, 0.64), "crown", 1.5, dt=2e-4)


def on_feet(inst, shock):
    """Positions, load of each foot, horizontal force and yaw moment at every sample."""
    still = inst.statics().load
    at = np.array([m.position[:2] for m in inst.mounts])
    side = shock.mount_force[:, :, :2] - still[:, :2]
    load = still[:, 2] - shock.mount_force[:, :, 2]
    yaw = (at[:, 0] * side[:, :, 1] - at[:, 1] * side[:, :, 0]).sum(axis=1)
    return at, load, side, side.sum(axis=1), yaw


def polygon(at, load, force, yaw, sides=720):
    """Least mu with each friction force inside a polygon around its circle: linear program."""
    n = len(at)
    angle = 2 * np.pi * np.arange(sides) / sides
    # Unknowns: fx, fy of each foot, mu.
    rows = np.zeros((n * sides, 2 * n + 1))
    for i in range(n):
        block = rows[i * sides : (i + 1) * sides]
        block[:, 2 * i], block[:, 2 * i + 1] = np.cos(angle), np.sin(angle)
        block[:, -1] = -load[i]
    balance = np.zeros((3, 2 * n + 1))
    balance[0, 0 : 2 * n : 2] = 1
    balance[1, 1 : 2 * n : 2] = 1
    balance[2, 0 : 2 * n : 2], balance[2, 1 : 2 * n : 2] = -at[:, 1], at[:, 0]
    found = linprog(
        np.eye(2 * n + 1)[-1],
        A_ub=rows,
        b_ub=np.zeros(len(rows)),
        A_eq=balance,
        b_eq=[*force, yaw],
        bounds=[(None, None)] * (2 * n) + [(0, None)],
    )
    assert found.success
    return found.x[-1]


def test_friction_needed_is_that_of_a_linear_program():
    rng = np.random.default_rng(5)
    for n in (2, 3, 4, 6, 9):
        at, load = rng.uniform(-2, 2, (n, 2)), rng.uniform(0.1, 5, n)
        force, yaw = rng.normal(size=2), rng.normal()
        if n == 2:  # two feet hold what lies on no line between them by their levers
            yaw = 0.3 * yaw
        mine = uf.friction_needed(at, load, force, yaw)
        outer = polygon(at, load, force, yaw)
        # The polygon stands around the circle: it needs less by no more than cos(pi / sides).
        assert outer * (1 - 1e-9) <= mine <= outer / np.cos(np.pi / 720) * (1 + 1e-9)


def test_friction_needed_is_the_dual_that_a_simplex_search_finds():
    rng = np.random.default_rng(6)
    at, load = rng.uniform(-2, 2, (5, 2)), rng.uniform(0.1, 5, 5)
    force, yaw = np.array([0.4, -0.3]), 0.7

    def power(q):
        speed = np.hypot(q[0] - q[2] * at[:, 1], q[1] + q[2] * at[:, 0])
        return -(force @ q[:2] + yaw * q[2]) / (load * speed).sum()

    starts = rng.normal(size=(20, 3))
    options = {"xatol": 1e-12, "fatol": 1e-15, "maxiter": 20000, "maxfev": 20000}
    best = max(-minimize(power, q, method="Nelder-Mead", options=options).fun for q in starts)
    assert uf.friction_needed(at, load, force, yaw) == pytest.approx(best, rel=1e-9)


def test_the_worst_instant_is_that_of_dense_samples_and_a_linear_program():
    at, load, _, force, yaw = on_feet(INST, JERK)
    mine = [uf.friction_needed(at, n, f, m) for n, f, m in zip(load, force, yaw, strict=True)]
    worst = int(np.argmax(mine))
    check = INST.check_walking(JERK, friction=1.0, safety=1.0, name="jerk")
    # Between samples the demand rises by the square of the step only.
    assert check.demand[0] >= mine[worst] * (1 - 1e-12)
    assert check.demand[0] == pytest.approx(mine[worst], rel=1e-5)
    outer = polygon(at, load[worst], force[worst], yaw[worst])
    assert check.demand[0] == pytest.approx(outer, rel=2e-5)
    assert f"{JERK.time[worst]:.3f}" in check[0].governing_case
    # Neither of the two short cuts.
    size, weight = np.hypot(*force.T), 10e3 * 9.80665
    assert not np.isclose(check.demand[0], size.max() / weight, rtol=1e-3)
    assert not np.isclose(check.demand[0], size.max() / load.sum(axis=1).min(), rtol=1e-3)


def test_one_foot_that_slips_is_reported_and_does_not_walk():
    needed = INST.check_walking(JERK, friction=1.0, safety=1.0).demand
    assert needed[1] > needed[0]
    both = INST.check_walking(JERK, friction=float(needed.mean()), safety=1.0)
    assert both[0].verdict == "OK" and both[1].verdict.startswith("OK IF")
    at, load, side, *_ = on_feet(INST, JERK)
    assert needed[1] == pytest.approx((np.hypot(*side.T).T / load).max(), rel=1e-5)
    with pytest.raises(uf.InvalidError, match="safety"):
        INST.check_walking(JERK, 0.2, 0.5)
    with pytest.raises(uf.UnitError):
        INST.check_walking(JERK, 0.2, "2 m")


def test_walking_under_a_steady_load_keeps_the_phases():
    response = INST.response([3.0, 4.0], uf.Wrench(force=(8e3, 2e3, 20e3), at=(0.5, 0.2, 2.0)))
    check = INST.check_walking(response, friction=1.0, safety=1.0, name="eccentric")
    at, still = np.array([m.position[:2] for m in INST.mounts]), INST.statics().load
    worst = []
    for forces in response.mount_force:
        turn = np.exp(1j * np.linspace(0, 2 * np.pi, 4001))
        moved = (forces[None] * turn[:, None, None]).real
        side, load = moved[:, :, :2] - still[:, :2], still[:, 2] - moved[:, :, 2]
        yaw = (at[:, 0] * side[:, :, 1] - at[:, 1] * side[:, :, 0]).sum(axis=1)
        steps = zip(np.maximum(load, 0), side.sum(axis=1), yaw, strict=True)
        worst.append(max(uf.friction_needed(at, n, f, m) for n, f, m in steps))
    assert check.demand[0] == pytest.approx(max(worst), rel=1e-5)
    assert f"{response.frequency[int(np.argmax(worst))]:g} Hz" in check[0].governing_case


def test_a_motion_of_another_case_is_refused():
    heavy = uf.Case("die", INST.body.with_parts([uf.PointMass(2e3, (0.5, 0, 1.0))]))
    inst = press([heavy])
    with pytest.raises(uf.InvalidError, match="case"):
        inst.check_walking(JERK, case="die")
    with pytest.raises(uf.UnknownNameError):
        inst.check_walking(JERK, case="no such")
    with pytest.raises(uf.InvalidError, match="Shock or a Response"):
        inst.check_walking(3)


def test_a_table_of_checks_filters_adds_and_becomes_columns():
    loads = INST.check_loads()
    table = loads + INST.check_walking(JERK, name="jerk") + INST.check_sideways(0.1)
    assert isinstance(table, uf.Checks) and len(table) == len(loads) + 4
    assert [c.question for c in table] == list(table.to_xarray().check.values)
    assert len(table.filter("LEAST static")) == 8
    assert len(table.filter(case="jerk")) == 2
    bad = table.filter(verdict="NO")
    assert all(not h for h in bad.holds) and len(bad) == (~table.holds).sum()
    assert table.filter(margin_below=0.1).margin.max() < 0.1
    assert table[-1] == table[len(table) - 1] and len(table[1:3]) == 2
    assert table[::-1][0] == table[-1]
    with pytest.raises(IndexError):
        table[len(table)]
    with pytest.raises(uf.UnknownNameError):
        table.filter(verdict="maybe")
    columns = table.to_dict()
    assert {len(v) for v in columns.values()} == {len(table)}
    np.testing.assert_array_equal(columns["margin"], table.margin)
    data = table.to_xarray()
    assert list(data.unit.values) == columns["unit"]
    assert str(data.verdict.values[0]) == table[0].verdict
    assert str(table).count("\n") == len(table) - 1
    assert table.governing.margin == min(bad.margin if len(bad) else table.margin)
    assert uf.Checks([table[0], table[2]]).demand[1] == table[2].demand
    assert uf.Checks([]).verdict is None and uf.Checks([]).governing is None


def test_the_study_hands_out_its_checks_as_a_table():
    assert isinstance(study().checks, uf.Checks)
    asked = ("friction used by all feet", "screw travel", "strokes in service", "level error")
    asked += ("error of the pass line", "sideways acceleration", "shift along x of roll feed")
    asked += ("swing along z of roll feed", "peak velocity of bolster", "share of one mount")
    asked += ("greatest horizontal force of one foot", "least part of its load")
    missing = [a for a in asked if not len(study().checks.filter(a))]
    # Screws come with the mounts that have one.
    assert set(missing) <= {"screw travel"}
    named = study().checks.filter(case="mounts cold, 5 C")
    assert 0 < len(named) < len(study().checks)
    assert (
        len(study().checks.filter("friction used by all feet", case="turning the other way")) == 1
    )


def test_contact_level_travel_and_interfaces_are_what_the_results_say():
    heavy = uf.Case("die", INST.body.with_parts([uf.PointMass(2e3, (0.8, 0, 1.0))]))
    inst = press([heavy])
    left = inst.check_contact(JERK, 0.1)
    least = 1 - JERK.mount_force[:, :, 2].max(axis=0) / inst.statics().load[:, 2]
    np.testing.assert_allclose(left.demand, least, rtol=1e-4)
    tilt = inst.statics("die").tilt - inst.statics().tilt
    grown = np.abs(tilt) * inst.stability("die").amplification
    np.testing.assert_allclose(inst.check_level("1 mm/m").demand, grown, rtol=1e-12)
    assert len(inst.check_travel("2 mm", "1 mm", "1 mm", "365 d")) == 0, "no mount has a screw"
    with pytest.raises(uf.InvalidError, match="creep_time"):
        inst.check_travel(creep_time="2 s")
    feed = uf.Interface("feed", (1, 0, 1), "zx", static_limit="0.5 mm", dynamic_limit="1 mm")
    found = inst.check_interface(feed, {"jerk": JERK})
    moved = inst.statics("die").at((1, 0, 1)) - inst.statics().at((1, 0, 1))
    np.testing.assert_allclose(found.demand[:2], np.abs(moved[[2, 0]]), rtol=1e-12)
    peaks = [JERK.at((1, 0, 1)).peak("displacement", d).value for d in "zx"]
    np.testing.assert_allclose(found.demand[2:], peaks, rtol=1e-12)
    lateral = inst.check_lateral(JERK, "1 kN")
    side = np.hypot(*np.moveaxis(JERK.mount_force[:, :, :2], -1, 0))
    assert lateral.demand[0] == pytest.approx(side.max(), rel=1e-4)


def test_first_looks_at_lift_off_and_fatigue():
    f = 5.032921210448704
    looks = uf.lift_off_checks(f, velocity=0.3, impulse="10 kN s", mass="40 t")
    # g / omega with omega = sqrt(1000) rad/s.
    np.testing.assert_allclose(looks.capacity, [0.3101135021609024, 12404.540086436094], rtol=1e-12)
    with pytest.raises(uf.InvalidError, match="mass"):
        uf.lift_off_checks(f, impulse=1)
    strokes = uf.fatigue_check(40, years=1, endurance=15e6)
    assert strokes.demand == pytest.approx(14.7e6, rel=2e-3)
    assert strokes.verdict == "OK"
