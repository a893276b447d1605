"""Every dimensional argument takes US text and pint quantities, and refuses a wrong dimension."""

import numpy as np
import pint
import pytest
import underfoot as uf

registry = pint.UnitRegistry()
BODY = uf.RigidBody(1000, (0, 0, 0), (100, 100, 100))
MOUNT = uf.Mount((0, 0, 0), (1e6, 1e6, 1e6), loss_factor=0.1, rotational_stiffness=1e5)
INST = uf.Installation(BODY, [MOUNT])
FEET = [uf.Mount((x, y, 0), (1e6, 1e6, 1e6), loss_factor=0.1) for x in (-1, 1) for y in (-1, 1)]
FOUR = uf.Installation(BODY, FEET)
SETTLED = [1e-3, 0, 0, 0]
RIGHT = {
    "length": "2 in",
    "area": "40 in^2",
    "subgrade_modulus": "200 lbf/in^3",
    "mass": "30 lb",
    "inertia": "500 lb in^2",
    "stiffness": "900 lbf/in",
    "rotational_stiffness": "900 lbf in/rad",
    "damping": "12 lbf s/in",
    "force": "700 lbf",
    "moment": "700 lbf in",
    "time": "20 ms",
    "frequency": "300 rpm",
    "acceleration": "1 g_n",
    "ratio": "10 %",
    "angle": "30 deg",
}
PINT = {"g_n": "standard_gravity", "lbf in/rad": "lbf in/rad", "%": "percent"}


def plan(**given):
    return FOUR.leveling_plan(**{"settlement": SETTLED, "level_tolerance": "1 mm/m", **given})


def aged(age):
    try:
        plan(age=age)
    except uf.InvalidError as error:  # 20 ms are read, and refused: creep starts at a minute
        assert "0.02 s" in str(error)


def level(**given):
    return uf.LevelReading(
        **{"station": "rail", "at": (0, 0, 0), "along": "x", "value": 0.001, **given}
    )


def plane(**given):
    places = ((0, 0, 0), (1, 0, 0), (0, 1, 0))
    read = [level(at=at, along=along, value=1e-3) for at in places for along in "xy"]
    return uf.level_readings(read, **given)


def three(value):
    return [value, value, value]


def shock(**given):
    return INST.shock(uf.HalfSine(1, 0.01), "z", **{"duration": 0.1, "dt": 0.01, **given})


CALLS = [
    ("Screw.pitch", "length", lambda v: uf.Screw(v, 8, 0, 0).pitch),
    ("Screw.down", "length", lambda v: uf.Screw(1, 8, v, 0).down),
    ("Screw.up", "length", lambda v: uf.Screw(1, 8, 0, v).up),
    ("LevelReading.at", "length", lambda v: level(at=three(v)).at[0]),
    ("LevelReading.value", "angle", lambda v: level(value=v).value),
    ("LevelReading.reversed", "angle", lambda v: level(reversed=v) and None),
    ("LevelReading.division", "angle", lambda v: level(value=1, division=v).value),
    ("HeightReading.at", "length", lambda v: uf.HeightReading("a", three(v), 0).at[0]),
    ("HeightReading.height", "length", lambda v: uf.HeightReading("a", (0, 0, 0), v).height),
    ("level_readings.level_uncertainty", "angle", lambda v: plane(level_uncertainty=v) and None),
    ("level_readings.height_uncertainty", "length", lambda v: plane(height_uncertainty=v) and None),
    ("level_readings.twist_limit", "angle", lambda v: plane(twist_limit=v) and None),
    (
        "leveling_influence.frame_twist_stiffness",
        "stiffness",
        lambda v: FOUR.leveling_influence(frame_twist_stiffness=v) and None,
    ),
    (
        "per_turn.screw_pitch",
        "length",
        lambda v: FOUR.leveling_influence().per_turn(v)["load"][0, 0]
        / FOUR.leveling_influence().load[0, 0],
    ),
    (
        "level_from_settlement.settlement",
        "length",
        lambda v: FOUR.level_from_settlement([v] * 4).settlement[0],
    ),
    (
        "level_from_settlement.subgrade_modulus",
        "subgrade_modulus",
        lambda v: FOUR.level_from_settlement(subgrade_modulus=v, plate_area=1).settlement[0]
        and None,
    ),
    (
        "level_from_settlement.plate_area",
        "area",
        lambda v: FOUR.level_from_settlement(subgrade_modulus=1e7, plate_area=v) and None,
    ),
    ("leveling_plan.settlement", "length", lambda v: plan(settlement=[v] * 4) and None),
    (
        "leveling_plan.level_tolerance",
        "angle",
        lambda v: plan(level_tolerance=v).level_tolerance,
    ),
    ("leveling_plan.load_band", "ratio", lambda v: plan(load_band=v) and None),
    ("leveling_plan.travel", "length", lambda v: plan(travel=v) and None),
    ("leveling_plan.screw_pitch", "length", lambda v: plan(screw_pitch=v) and None),
    ("leveling_plan.target", "force", lambda v: plan(target=[v] * 4).target[0]),
    ("leveling_plan.reserve", "length", lambda v: plan(reserve=v) and None),
    (
        "leveling_plan.frame_twist_stiffness",
        "stiffness",
        lambda v: plan(frame_twist_stiffness=v) and None,
    ),
    ("leveling_plan.tilt_on_the_way", "angle", lambda v: plan(tilt_on_the_way=v) and None),
    ("leveling_plan.age", "time", aged),
    ("load_for.adjustment", "length", lambda v: plan().load_for([v] * 4) is None or None),
    ("RigidBody.mass", "mass", lambda v: uf.RigidBody(v, (0, 0, 0), (1, 1, 1)).mass),
    ("RigidBody.center", "length", lambda v: uf.RigidBody(1, three(v), (1, 1, 1)).center[0]),
    ("RigidBody.inertia", "inertia", lambda v: uf.RigidBody(1, (0, 0, 0), three(v)).inertia[0, 0]),
    ("placed.offset", "length", lambda v: BODY.placed(three(v)).center[0]),
    ("in_frame.origin", "length", lambda v: -BODY.in_frame(three(v)).center[0]),
    ("Box.mass", "mass", lambda v: uf.Box(v, (1, 1, 1), (0, 0, 0)).mass),
    ("Box.size", "length", lambda v: uf.Box(1, three(v), (0, 0, 0)).size[0]),
    ("Box.center", "length", lambda v: uf.Box(1, (1, 1, 1), three(v)).center[0]),
    ("Cylinder.mass", "mass", lambda v: uf.Cylinder(v, 1, 1, (0, 0, 0)).mass),
    ("Cylinder.diameter", "length", lambda v: uf.Cylinder(1, v, 1, (0, 0, 0)).diameter),
    ("Cylinder.length", "length", lambda v: uf.Cylinder(1, 1, v, (0, 0, 0)).length),
    ("PointMass.mass", "mass", lambda v: uf.PointMass(v, (0, 0, 0)).mass),
    ("PointMass.center", "length", lambda v: uf.PointMass(1, three(v)).center[0]),
    ("Mount.position", "length", lambda v: uf.Mount(three(v), (1, 1, 1)).position[0]),
    ("Mount.stiffness", "stiffness", lambda v: uf.Mount((0, 0, 0), three(v)).stiffness[0]),
    ("Mount.damping", "damping", lambda v: uf.Mount((0, 0, 0), (1, 1, 1), damping=v).damping[0]),
    (
        "Mount.loss_factor",
        "ratio",
        lambda v: uf.Mount((0, 0, 0), (1, 1, 1), loss_factor=v).loss_factor[0],
    ),
    (
        "Mount.static_stiffness",
        "stiffness",
        lambda v: uf.Mount((0, 0, 0), (1, 1, 1), static_stiffness=three(v)).static_stiffness[0],
    ),
    (
        "Mount.rotational_stiffness",
        "rotational_stiffness",
        lambda v: uf.Mount((0, 0, 0), (1, 1, 1), rotational_stiffness=v).rotational_stiffness[0],
    ),
    ("LoadRange.min", "force", lambda v: uf.LoadRange(min=v).min),
    ("LoadRange.max", "force", lambda v: uf.LoadRange(max=v).max),
    ("LoadRange.dynamic_max", "force", lambda v: uf.LoadRange(dynamic_max=v).dynamic_max),
    ("Wrench.force", "force", lambda v: uf.Wrench(force=three(v)).force[0]),
    ("Wrench.moment", "moment", lambda v: uf.Wrench(moment=three(v)).moment[0]),
    ("Wrench.at", "length", lambda v: uf.Wrench(at=three(v)).at[0]),
    (
        "Installation.gravity",
        "acceleration",
        lambda v: uf.Installation(BODY, [MOUNT], gravity=v).gravity,
    ),
    (
        "Installation.points",
        "length",
        lambda v: uf.Installation(BODY, [MOUNT], points={"p": three(v)}).points["p"][0],
    ),
    (
        "statics.floor_height",
        "length",
        lambda v: INST.statics(floor_height=[v]).displacement[2] - INST.statics().displacement[2],
    ),
    ("transmissibility.frequency", "frequency", lambda v: INST.transmissibility([v]).frequency[0]),
    ("transmissibility.source", "length", lambda v: INST.transmissibility([1], three(v)) and None),
    ("response.frequency", "frequency", lambda v: INST.response([v], uf.Wrench()).frequency[0]),
    ("vertical.frequency", "frequency", lambda v: INST.vertical_transmissibility([v]) and None),
    ("shock.duration", "time", lambda v: shock(duration=v).time.max() and None),
    ("shock.dt", "time", lambda v: shock(dt=v).time[1]),
    ("shock.point", "length", lambda v: shock(point=three(v)) and None),
    ("Shock.at", "length", lambda v: shock().at(three(v)) and None),
    ("HalfSine.peak", "force", lambda v: uf.HalfSine(v, 1).peak),
    ("HalfSine.duration", "time", lambda v: uf.HalfSine(1, v).duration),
    ("HalfSine.value", "time", lambda v: uf.HalfSine(1, 1).value([v]) and None),
    ("RampStep.rise", "time", lambda v: uf.RampStep(1, v, 1).duration - 1),
    ("RampStep.hold", "time", lambda v: uf.RampStep(1, 1, v).duration - 1),
    ("ExponentialDecay.duration", "time", lambda v: uf.ExponentialDecay(1, 1, v).duration),
    ("ExponentialDecay.time_constant", "time", lambda v: uf.ExponentialDecay(1, v, 1) and None),
    ("turned.about_x", "angle", lambda v: np.arccos(uf.turned(v)[1, 1])),
    (
        "spectrum.frequency",
        "frequency",
        lambda v: uf.shock_response_spectrum([0.0, 1.0], 1e3, [v], 0.1).frequency[0],
    ),
    (
        "spectrum.sample_rate",
        "frequency",
        lambda v: uf.shock_response_spectrum([0.0, 1.0], v, [1.0], 0.1) and None,
    ),
]


def quantity(text):
    number, _, unit = text.partition(" ")
    return float(number) * registry(PINT.get(unit, unit))


@pytest.mark.parametrize(("name", "dimension", "call"), CALLS, ids=[c[0] for c in CALLS])
def test_an_argument_takes_us_text_and_pint_and_refuses_a_wrong_dimension(name, dimension, call):
    text = RIGHT[dimension]
    expected = uf.units.si(text, dimension, name)
    for given in (text, quantity(text)):
        found = call(given)
        if found is not None:
            assert found == pytest.approx(expected, rel=1e-9)
    wrong = "12 kg" if dimension != "mass" else "12 m"
    argument = name.rpartition(".")[2]
    for given in (wrong, quantity(wrong)):
        with pytest.raises(uf.UnitError) as caught:
            call(given)
        # Methods without a dot name their argument as they call it.
        assert (
            argument in str(caught.value)
            or "point" in str(caught.value)
            or "time" in str(caught.value)
        )
