"""Daily work in Python: dies, a rolling bolster, a crane, a cart, a brake, a first answer."""

import json
from pathlib import Path

import numpy as np
import pytest
import underfoot as uf

G = 9.80665
ANSWERS = Path(__file__).parents[1] / "reference" / "jobs"


def answers(name):
    return json.loads((ANSWERS / f"{name}.json").read_text(encoding="utf-8"))["answers"]


def four(x, y, stiffness):
    return [uf.Mount((a * x, b * y, 0), stiffness) for b in (-1, 1) for a in (-1, 1)]


def rail_step_press():
    """TRADE's rail step (tests/reference/jobs/job_04.json): 200 t with 40 t of bolster and die."""
    expected = answers("job_04")
    k = float(expected["k_N_m"]) / 4
    body = uf.RigidBody("200 t", (0, 0, 0), (1e6, 1e6, 1e6))
    rails = {"rail left": (-1, -1.8, 0), "rail right": (1, -1.8, 0)}
    bolster = uf.RollingBolster("40 t", (0, 0, 0), "-y", 5.6, 2, list(rails.values()))
    inst = uf.Installation(body, four(2, 2, (1e8, 1e8, k)), points=rails)
    return inst.with_cases(bolster.cases(body)), bolster, expected


def test_a_press_rises_when_its_bolster_leaves():
    inst, bolster, expected = rail_step_press()
    out = inst.rail_step("bolster out")
    np.testing.assert_allclose(out.rise, float(expected["rise_m"]), rtol=1e-9)
    assert (out.start, out.to, out.points) == ("as it runs", "bolster out", list(inst.points))
    half = inst.rail_step("bolster half way", points=["rail left"])
    assert half.tilt[0] == pytest.approx(float(expected["tilt_rad"]), rel=1e-9)
    assert half.rise.shape == (1,)
    back = inst.rail_step("as it runs", "bolster out")
    np.testing.assert_allclose(back.rise, -out.rise, rtol=1e-14)
    assert [name for name, _ in bolster.places] == [case.name for case in inst.cases]
    assert inst.statics("bolster half way").load[:, 2].sum() == pytest.approx(180e3 * G)


def test_the_envelope_names_the_case_of_every_rise():
    inst, _, expected = rail_step_press()
    envelope = inst.envelope()
    assert envelope == inst.load_cases()
    np.testing.assert_allclose(envelope.rise, float(expected["rise_m"]), rtol=1e-9)
    assert envelope.governing("rise") == ["bolster out"] * 2
    assert set(envelope.governing("sinking")) <= {case.name for case in inst.cases}
    assert list(envelope.to_xarray().point.values) == list(inst.points)
    with pytest.raises(uf.UnknownNameError, match="sinking"):
        envelope.governing("rises")


def test_a_die_off_the_middle_tilts_a_gap_frame_on_soft_mounts():
    expected = answers("job_13")
    body = uf.RigidBody("11 t", (0, 0, 1.15), (6000, 6000, 3000))
    die = uf.Die("heavy die", "1.5 t", (0, 0, 0), off_center=(0.35, 0, 0))
    inst = uf.Installation(
        body, four(0.45, 0.45, (1e9, 1e9, 1.2e6)), cases=uf.DieSet([die]).cases(body)
    )
    assert [case.name for case in inst.cases] == ["heavy die", "heavy die off center"]
    tilt = inst.statics("heavy die off center", gravity_stiffness=True).tilt[1]
    assert tilt == pytest.approx(float(expected["die_tilt_rad"]), rel=1e-9)
    plain = inst.statics("heavy die off center").tilt[1]
    assert plain == pytest.approx(float(expected["die_tilt_without_amplification"]), rel=1e-9)


def test_sets_know_their_heaviest_and_lightest_die():
    dies = [uf.Die(str(m), m, (0, 0, 1)) for m in (3000, 5000, 1000)]
    every = uf.DieSet(dies, mounted="5000")
    assert (every.heaviest.mass, every.lightest.mass) == (5e3, 1e3)
    body = uf.RigidBody(3e4, (0, 0, 2), (5e4, 5e4, 3e4))
    assert every.without_die(body).mass == 25e3
    assert every.with_die(body, "1000").mass == 26e3
    assert every.cases(body)[0].name == "without die"
    with pytest.raises(uf.UnknownNameError, match='"3000"'):
        every.with_die(body, "7")


def test_crane_and_cart_put_their_loads_where_they_are():
    body = uf.RigidBody(3e4, (0, 0, 2), (5e4, 5e4, 3e4))
    die = uf.Die("die", 2e3, (0.1, 0, 1))
    down = uf.SetDown("down", die).case(body)
    assert down.loads[0].force[2] == pytest.approx(-0.75 * 2e3 * G)
    assert down.body.mass == 32e3
    cart = uf.Cart("cart", (0, -1, 0.8), "1 t", (0, "2 kN", 0)).case(body)
    assert cart.body.mass == 31e3 and cart.loads[0].force[1] == 2e3
    inst = uf.Installation(body, four(1, 1, (1e7, 1e7, 1e7)), cases=[down, cart])
    loads = inst.statics("down").load[:, 2].sum()
    assert loads == pytest.approx((3e4 + 1.75 * 2e3) * G)
    with pytest.raises(uf.InvalidError, match="at least 1"):
        uf.SetDown("down", die, "90 %")


def test_an_emergency_stop_is_a_shock_of_a_moment():
    expected = answers("job_08")["brake_0.1s"]
    stop = uf.EmergencyStop("stop", 4200, "50 spm", 0.1, "y")
    assert stop.torque == pytest.approx(float(expected["torque_N_m"]), rel=1e-12)
    body = uf.RigidBody(60e3, (0, 0, 2.1), (135e3, 135e3, 135e3))
    inst = uf.Installation(body, four(1.3, 1, (4.5e6, 4.5e6, 9e6)))
    found = inst.shock(stop.pulse, moment=stop.axis, duration=2)
    # Without the tilting weight and without damping it rocks more than with a damping of 6 %.
    tilt = abs(found.displacement[:, 4]).max()
    still = uf.Installation(body, inst.mounts, cases=[stop.case(body)])
    lasting = still.statics("stop (static equivalent)").tilt[1]
    assert 0.00318 < tilt < lasting
    for wrong in ({}, {"direction": "x", "moment": "y"}, {"moment": "y", "point": (0, 0, 1)}):
        with pytest.raises(uf.InvalidError, match=r"direction|point"):
            inst.shock(stop.pulse, **wrong)


def test_a_first_answer_lists_what_it_assumes():
    first = uf.first_answer("straight-side", "400 tonf", (3.6, 2.4, 5.2), "40 spm", 0.3, "9 t")
    keys = [a.key for a in first.assumptions]
    assert keys[:2] == ["mass_per_kN", "center_height"] and len(keys) == 6
    for a in first.assumptions:
        assert a.low < a.value < a.high and a.confirm and a.source == "common practice"
    assert first.body.mass == pytest.approx(16 * uf.units.si("400 tonf", "force", "t") / 1e3)
    assert first.die.name == "heaviest die" and first.slide.force[2] == first.slide_force
    known = uf.first_answer(
        "gap-frame",
        "110 tf",
        (1.4, 1.8, 2.6),
        "60 spm",
        "180 mm",
        mass="9 t",
        assumed={"center_back": 0.12},
    )
    assert known.body.mass == 9e3 and known.die is None
    assert known.body.center[1] == pytest.approx(0.12 * 1.8)
    with pytest.raises(uf.UnknownNameError, match="did you mean"):
        uf.first_answer("gap-frame", 1e6, (1, 2, 3), 1, 0.2, assumed={"centre_back": 0.1})
    with pytest.raises(uf.UnitError, match="tonf"):
        uf.first_answer("gap-frame", "110 tons", (1, 2, 3), 1, 0.2)
    facts = ("gap-frame", "110 tonf", (1.6, 1.8, 2.4), "60 spm", "180 mm")
    assert uf.RigidBody.from_facts(*facts) == uf.first_answer(*facts).body
    hydraulic = uf.first_answer("hydraulic", 1e6, (1, 2, 3), 1, 0.2)
    assert hydraulic.body.mass == pytest.approx(10e3)


def test_a_study_of_facts_ranks_what_to_ask_for():
    study = uf.Job.from_text(uf._core.job_template_of_facts()).study()
    first = study.asks[0]
    assert first.label.startswith("mass over tonnage") and first.flips and first.reach > 1
    assert first.confirm and first.question in {check.question for check in study.checks}
    reaches = [ask.reach for ask in study.asks]
    assert reaches == sorted(reaches, reverse=True)
    assert study.rail_steps == []
