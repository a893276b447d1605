"""Leveling from Python: solvers of others agree, refusals say what to do, sheets hold cautions."""

import json
from pathlib import Path

import numpy as np
import pytest
import underfoot as uf
from scipy.optimize import linprog, minimize

REFERENCE = json.loads(
    (Path(__file__).parents[1] / "reference" / "mounts" / "leveling.json").read_text()
)
FEET = ((-1.5, -0.7), (0, -0.7), (1.5, -0.7), (1.5, 0.7), (0, 0.7), (-1.5, 0.7))


def press(stiffness=8e6, screw=None):
    mounts = [uf.Mount((x, y, 0), (stiffness,) * 3, loss_factor=0.1, screw=screw) for x, y in FEET]
    body = uf.RigidBody(24e3, (0.12, -0.06, 1.2), (2e4, 3e4, 2e4))
    return uf.Installation(body, mounts)


def draws(count=12):
    rng = np.random.default_rng(4)
    for _ in range(count):
        yield rng.uniform(0, 1.5e-3, 6), rng.uniform(2e-5, 1e-4), rng.uniform(0.05, 0.2)


def rows(inst, settlement, tolerance, band, travel):
    """G a <= h in numbers of order one (a in mm), put together anew."""
    influence = inst.leveling_influence()
    load = inst.statics().load[:, 2]
    now, tilt = load - influence.load @ settlement, -influence.tilt @ settlement
    g = [influence.tilt, -influence.tilt, influence.load, -influence.load, np.eye(6), -np.eye(6)]
    h = [tolerance - tilt, tolerance + tilt, (1 + band) * load - now, now - (1 - band) * load]
    g, h = np.vstack(g), np.concatenate([*h, np.full(12, travel)])
    length = np.linalg.norm(g, axis=1)
    return g / length[:, None], h / length * 1e3


@pytest.mark.parametrize("draw", list(draws()), ids=range(12))
def test_the_least_motion_is_that_of_a_solver_of_others(draw):
    settlement, tolerance, band = draw
    inst = press()
    plan = inst.leveling_plan(settlement, tolerance, band, travel=3e-3)
    g, h = rows(inst, settlement, tolerance, band, 3e-3)
    found = minimize(
        lambda a: 0.5 * a @ a,
        np.zeros(6),
        jac=lambda a: a,
        method="SLSQP",
        constraints={"type": "ineq", "fun": lambda a: h - g @ a, "jac": lambda a: -g},
        options={"ftol": 1e-15, "maxiter": 500},
    )
    assert found.success
    np.testing.assert_allclose(plan.adjustment * 1e3, found.x, atol=1e-9, rtol=0)
    assert (g @ (plan.adjustment * 1e3) <= h + 1e-10).all()
    assert plan.stationarity <= 1e-9 and plan.excess <= 1e-12


@pytest.mark.parametrize("draw", list(draws()), ids=range(12))
def test_the_least_travel_is_that_of_a_solver_of_others(draw):
    settlement, tolerance, band = draw
    inst = press()
    plan = inst.leveling_plan(settlement, tolerance, band, travel=3e-3, objective="least travel")
    g, h = rows(inst, settlement, tolerance, band, 3e-3)
    found = linprog(np.ones(12), np.hstack([g, -g]), h, bounds=(0, None), method="highs-ds")
    assert found.success
    assert plan.objective * 1e3 == pytest.approx(found.fun, abs=1e-9)
    assert (g @ (plan.adjustment * 1e3) <= h + 1e-10).all()


def test_a_plan_of_exact_rationals_comes_back():
    case = REFERENCE["R1_4feet_corner_settles"]
    mounts = [
        uf.Mount((x / 1e3, y / 1e3, 0), (5e6,) * 3, loss_factor=0.1) for x, y in case["feet_xy_mm"]
    ]
    x, y = (c / 1e3 for c in case["cg_offset_mm"])
    mass = case["W_N"] / 9.80665
    inst = uf.Installation(uf.RigidBody(mass, (x, y, 1), (mass,) * 3), mounts)
    plan = inst.leveling_plan(
        settlement=[1.2e-3, 0, 0, 0], level_tolerance=0, load_band="5 %", travel="3 mm"
    )
    np.testing.assert_allclose(plan.adjustment * 1e3, case["solution"]["a_mm"], atol=1e-12)
    names = {name: value for name, value in plan.multipliers if abs(value) > 1e-9}
    assert set(names) == {"level about x", "level about y", "greatest load of mount 4"}


def test_travel_is_read_in_every_form():
    inst = press()
    settlement = [1e-3, 0, 0, 0, 0, 0]
    alike = [2e-3, "2 mm", (-2e-3, 2e-3), [(-2e-3, 2e-3)] * 6]
    plans = [inst.leveling_plan(settlement, travel=travel).adjustment for travel in alike]
    for plan in plans[1:]:
        np.testing.assert_array_equal(plan, plans[0])


def test_whole_steps_of_the_screws_and_their_sheet():
    screw = uf.Screw("2 mm", 8, "5 mm", "8 mm")
    plan = press(screw=screw).leveling_plan([1.2e-3, 0.3e-3, 0, 0, 0, 0.9e-3], load_band="10 %")
    steps = plan.adjustment / 0.25e-3
    np.testing.assert_allclose(steps, np.round(steps), atol=1e-12)
    assert plan.turns == pytest.approx(list(plan.adjustment / 2e-3))
    assert plan.proved
    assert len(plan.order) == len(plan.step_adjustment)
    np.testing.assert_allclose(plan.step_load[-1], plan.load_after, rtol=1e-12)
    for units, words in (("si", "mm/m"), ("us", "thou/ft"), ("both", "thou")):
        text, page = plan.sheet(units), plan.sheet(units, html=True)
        for caution in ("LOCK OUT", "under a raised press", "points stated by the maker", "SHORT"):
            assert caution in text and caution in page
        assert words in text and words in page
        assert "own procedure" in text and "week 1" in text and "month 1" in text
        assert "72 hours" in text and "from above" in text
    assert "font:18pt" in plan.sheet(html=True)
    with pytest.raises(uf.UnknownNameError, match="both"):
        plan.sheet("metric")


def test_limits_that_conflict_are_named_with_what_they_must_give():
    inst = press()
    with pytest.raises(uf.InvalidError) as caught:
        inst.leveling_plan([5e-3, 0, 0, 0, 0, 0], level_tolerance=0, load_band=0.01, travel=1e-4)
    message = str(caught.value)
    assert "travel of" in message and "cannot hold together" in message
    assert "more travel" in message or "widen" in message
    # What it says is enough.
    with pytest.raises(uf.InvalidError) as caught:
        inst.leveling_plan([2e-3, 0, 0, 0, 0, 0], level_tolerance=0, travel=3e-4)
    more = float(str(caught.value).split("allow ")[1].split(" mm")[0]) * 1e-3
    inst.leveling_plan([2e-3, 0, 0, 0, 0, 0], level_tolerance=0, travel=3e-4 + more + 1e-7)


SETTLED = [1e-3, 0, 0, 0, 0, 0]
PLACES = ((-0.8, -0.4, 0.9), (0.8, -0.4, 0.9), (0.0, 0.5, 0.9))


def read(places=PLACES, along="xy", **given):
    return [uf.LevelReading(str(at), at, a, 1e-4) for at in places for a in along]


BAD = [
    (lambda i: uf.level_readings(read(PLACES[:2])), "three stations"),
    (lambda i: uf.level_readings(read([(0, 0, 0), (1, 1, 0), (2, 2, 0)])), "line"),
    (lambda i: uf.level_readings(read(along="x")), "two directions"),
    (lambda i: uf.level_readings(["no"]), "LevelReading"),
    (lambda i: uf.LevelReading("a", (0, 0, 0), (1, 1), 0), "unit direction"),
    (lambda i: uf.LevelReading("a", (0, 0, 0), "z", 0), "use"),
    (lambda i: i.leveling_plan(SETTLED, level_tolerance=-1e-4), "level_tolerance = -0.0001 rad"),
    (lambda i: i.leveling_plan(SETTLED, load_band=-0.1), "load_band"),
    (lambda i: i.leveling_plan(SETTLED, travel=(1e-3, 2e-3)), "must hold zero"),
    (lambda i: i.leveling_plan(SETTLED, travel=-1e-3), "must not be negative"),
    (lambda i: i.leveling_plan(SETTLED, travel=[(0, 1)] * 5), "one|mount"),
    (lambda i: i.leveling_plan(SETTLED, screw_pitch=0), "screw_pitch"),
    (lambda i: i.leveling_plan(SETTLED, screw_pitch=1e-3, steps_per_turn=0), "steps_per_turn"),
    (lambda i: i.leveling_plan(SETTLED[:3]), "one for each mount"),
    (lambda i: i.leveling_plan([float("nan")] * 6), "finite"),
    (lambda i: i.leveling_plan(SETTLED, objective="fast"), "least travel"),
    (lambda i: i.leveling_plan(SETTLED, frame_twist_stiffness=0), "frame_twist_stiffness"),
    (lambda i: i.leveling_plan(SETTLED, case="none"), "none"),
    (lambda i: i.leveling_plan(SETTLED, age=1), "age"),
    (lambda i: i.level_from_settlement(), "either"),
    (lambda i: i.level_from_settlement(subgrade_modulus=5e7, plate_area=[1, 1]), "each mount"),
]


@pytest.mark.parametrize(("call", "words"), BAD, ids=range(len(BAD)))
def test_bad_input_is_refused_with_what_is_required(call, words):
    with pytest.raises(uf.UnderfootError, match=words):
        call(press())


def test_twist_above_its_limit_is_reported_and_not_averaged_away():
    # A bed twisted by 0.3 mm/m from end to end, level in the mean.
    twisted = [
        uf.LevelReading(f"{x} {y}", (x, y, 0), "x", 1.5e-4 * y / 0.5)
        for x in (-0.8, 0.8)
        for y in (-0.5, 0.5)
    ] + [uf.LevelReading(f"{x}", (x, 0, 0), "y", 1.5e-4 * x / 0.5) for x in (-0.8, 0.8)]
    plane = uf.level_readings(twisted, twist_limit="0.1 mm/m")
    assert plane.contradictory and "twist" in plane.warnings[-2] + plane.warnings[-1]
    assert plane.twist == pytest.approx(3e-4 * 1.6, rel=1e-9)
    assert not uf.level_readings(twisted, twist_limit="1 mm/m").contradictory
    plan = press().leveling_plan(readings=plane)
    np.testing.assert_allclose(plan.adjustment, 0, atol=1e-12)
    assert any("twist" in warning for warning in plan.warnings)


def test_divisions_reversal_and_own_error():
    division, error = "0.0005 in/ft", 0.4
    readings = [
        uf.LevelReading(f"{n} {a}", at, a, value + error, -value + error, division=division)
        for n, at in enumerate(PLACES)
        for a, value in (("x", 2.0), ("y", -1.0))
    ]
    plane = uf.level_readings(readings)
    one = 0.0005 / 12
    np.testing.assert_allclose(plane.tilt, [-one, -2 * one], rtol=1e-12)
    assert plane.own_error == pytest.approx(error * one)
    assert plane.twist == pytest.approx(0, abs=1e-15)


def test_heights_and_levels_of_one_plane_agree():
    heights = [uf.HeightReading(str(at), at, 1e-4 * at[0] - 5e-5 * at[1] + 2e-3) for at in PLACES]
    np.testing.assert_allclose(uf.level_readings(heights).tilt, [-5e-5, -1e-4], atol=1e-18)


def test_a_settled_machine_is_level_again_in_every_way_of_asking():
    inst = press()
    settled = inst.level_from_settlement(SETTLED)
    plan = inst.leveling_plan(SETTLED, level_tolerance=0)
    np.testing.assert_allclose(settled.tilt, plan.tilt_before, rtol=1e-12)
    np.testing.assert_allclose(settled.load, plan.load_before, rtol=1e-12)
    np.testing.assert_allclose(plan.tilt_after, 0, atol=1e-15)
    np.testing.assert_allclose(plan.load_for(plan.adjustment), plan.load_after, rtol=1e-14)
    one = inst.leveling_influence().per_turn("2 mm")
    np.testing.assert_allclose(one["load"], 2e-3 * inst.leveling_influence().load)
    assert plan.lost_after is None and settled.tolerance_lost("0.1 mm/m", "1 d") is None


def test_the_die_that_leaves_tilts_a_leveled_machine_and_gravity_adds_to_it():
    die = uf.Box(3e3, (1, 1, 0.5), (0.6, 0, 1.0))
    body = uf.RigidBody(24e3, (0, 0, 1.6), (2e4, 3e4, 2e4))
    case = uf.Case("die in", body.with_parts([die]))
    inst = uf.Installation(body, press(3e6).mounts, cases=[case])
    plan = inst.leveling_plan(SETTLED, level_tolerance=0)
    np.testing.assert_allclose(plan.case_tilt[0], 0, atol=1e-15)
    change = inst.statics("die in").tilt - inst.statics().tilt
    expected = change * inst.stability("die in").amplification
    np.testing.assert_allclose(plan.case_tilt[1], expected, rtol=1e-9, atol=1e-15)
    assert (plan.amplification > 1).all()


def test_feet_on_shims_are_set_by_whole_shims():
    shims = uf.Screw.shims("0.5 mm", "2 mm", "5 mm")
    assert shims.is_shims and shims.pitch == 5e-4 and shims.steps_per_turn == 1
    assert not uf.Screw("2 mm", 8, "5 mm", "8 mm").is_shims
    assert shims != uf.Screw("0.5 mm", 1, "2 mm", "5 mm")
    plan = press(screw=shims).leveling_plan([1.1e-3, 0.4e-3, 0, 0, 0, 0.9e-3])
    counts = plan.adjustment / 0.5e-3
    np.testing.assert_allclose(counts, np.round(counts), atol=1e-12)
    assert plan.turns == [None] * 6
    assert plan.one_turn == ["1 shim"] * 6
    np.testing.assert_allclose(plan.one_turn_lift, 5e-4)
    for count, setting in zip(np.round(counts), plan.settings, strict=True):
        word = "shim" if abs(count) == 1 else "shims"
        way = "raise" if count > 0 else "lower"
        assert setting == (f"{way} {abs(count):.0f} {word}" if count else "none")
    text = plan.sheet()
    assert "put shims in" in text and "clockwise" not in plan.order[0]
    for thickness, words in (
        (0, "thickness = 0 m: must be greater than zero"),
        (-1e-3, "thickness"),
    ):
        with pytest.raises(uf.InvalidError, match=words):
            uf.Screw.shims(thickness, 0, 0)


def test_settings_are_the_adjustments_in_words():
    screw = uf.Screw("2 mm", 8, "5 mm", "8 mm")
    plan = press(screw=screw).leveling_plan([1.2e-3, 0.3e-3, 0, 0, 0, 0.9e-3], load_band="10 %")
    for a, setting in zip(plan.adjustment, plan.settings, strict=True):
        if a == 0:
            assert setting == "none"
            continue
        way, number = setting.split(" ", 1)
        assert way == ("raise" if a > 0 else "lower")
        terms = number.rsplit(" turn", 1)[0].split()
        fractions = [term.split("/") for term in terms]
        turns = sum(float(f[0]) / float(f[1]) if len(f) == 2 else float(f[0]) for f in fractions)
        assert turns == pytest.approx(abs(a) / 2e-3, rel=1e-12)
    assert len(plan.step_settings) == len(plan.order)
    for row, setting in zip(plan.step_adjustment, plan.step_settings, strict=True):
        assert setting.startswith(("raise", "lower")), (row, setting)


def test_what_one_turn_does_is_what_the_press_does():
    screw = uf.Screw("2 mm", 8, "5 mm", "8 mm")
    inst = press(screw=screw)
    plan = inst.leveling_plan(SETTLED)
    assert plan.one_turn == ["1 turn"] * 6
    influence = inst.leveling_influence()
    assert plan.influence == influence
    np.testing.assert_allclose(plan.one_turn_load, 2e-3 * influence.load, rtol=1e-12, atol=1e-8)
    tilt = 2e-3 * influence.tilt.T  # rows are the mounts that are turned
    np.testing.assert_allclose(plan.one_turn_tilt, tilt, rtol=1e-12, atol=1e-18)
    # Raising one foot and a foot that settled by as much are each other's opposite.
    down = inst.level_from_settlement([2e-3, 0, 0, 0, 0, 0])
    change = down.load - inst.level_from_settlement([0] * 6).load
    np.testing.assert_allclose(plan.one_turn_load[:, 0], -change, rtol=1e-9, atol=1e-8)


def test_settlement_from_load_and_ground_is_pressure_over_modulus():
    inst = press()
    load = inst.statics().load[:, 2]
    settled = load / (5e7 * 0.04)  # s = F / (k A)
    ground = {"subgrade_modulus": "50 MN/m^3", "plate_area": "400 cm^2"}
    state = inst.level_from_settlement(**ground)
    np.testing.assert_allclose(state.settlement, settled, rtol=1e-12)
    plan = inst.leveling_plan(level_tolerance=0, **ground)
    np.testing.assert_allclose(plan.settlement, settled, rtol=1e-12)
    surveyed = inst.leveling_plan(settled, level_tolerance=0)
    np.testing.assert_allclose(plan.adjustment, surveyed.adjustment, atol=1e-15)
    each = inst.leveling_plan(subgrade_modulus=5e7, plate_area=[0.04] * 6, level_tolerance=0)
    np.testing.assert_array_equal(each.adjustment, plan.adjustment)
    with pytest.raises(uf.InvalidError, match="either settlement, or subgrade_modulus"):
        inst.leveling_plan(SETTLED, **ground)


def test_loads_come_to_their_targets_within_the_band():
    inst = press()
    target = inst.statics().load[:, 2].copy()
    # Loads that four corners and a middle share otherwise: a state of self-stress added.
    target += 1e3 * np.array([1, -2, 1, 1, -2, 1])
    plan = inst.leveling_plan([0] * 6, level_tolerance=0, load_band="1 %", target=target)
    np.testing.assert_array_equal(plan.target, target)
    assert (abs(plan.load_after / target - 1) <= 0.01 + 1e-12).all()
    assert abs(plan.adjustment).max() > 1e-5
    with pytest.raises(uf.InvalidError, match=r"target\[2\] = -1 N"):
        inst.leveling_plan([0] * 6, target=[1e4, 1e4, -1, 1e4, 1e4, 1e4])


def test_a_plane_through_three_stations_says_nothing_of_its_bow():
    three = [uf.HeightReading(str(at), at, 1e-3) for at in PLACES]
    plane = uf.level_readings(three, height_uncertainty="0.01 mm")
    assert plane.bow_standard_error == (None, None)
    nine = [
        uf.HeightReading(f"{x} {y}", (x, y, 0), 1e-5 * x * x)
        for x in (-1, 0, 1)
        for y in (-1, 0, 1)
    ]
    plane = uf.level_readings(nine, height_uncertainty="0.01 mm")
    # c x^2 changes slope by 4 c from end to end; 2 c is h1 - 2 h2 + h3 of a row of three
    # heights, and three rows are averaged.
    along_x, along_y = plane.bow_standard_error
    assert along_x == pytest.approx(along_y)
    bows = 2 * np.sqrt(6) * 1e-5 / np.sqrt(3)
    assert along_x == pytest.approx(bows, rel=1e-9)


def test_a_tension_foot_is_said_in_the_state_not_hidden():
    deep = press().level_from_settlement([40e-3, 0, 0, 0, 0, 0])
    assert deep.load.min() < 0
    assert any("mount 1" in w or "lift" in w or "pull" in w for w in deep.warnings)
    assert press().level_from_settlement(SETTLED).warnings == []
