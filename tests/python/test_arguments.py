"""Every dimensional argument takes US text and pint quantities, and refuses a wrong dimension."""

import numpy as np
import pint
import pytest
import underfoot as uf

registry = pint.UnitRegistry()
BODY = uf.RigidBody(1000, (0, 0, 0), (100, 100, 100))
MOUNT = uf.Mount((0, 0, 0), (1e6, 1e6, 1e6), loss_factor=0.1, rotational_stiffness=1e5)
INST = uf.Installation(BODY, [MOUNT])
RIGHT = {
    "length": "2 in",
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
    "velocity": "12 in/s",
    "impulse": "3 lbf s",
}
PINT = {"g_n": "standard_gravity", "lbf in/rad": "lbf in/rad", "%": "percent"}


def three(value):
    return [value, value, value]


def shock(**given):
    return INST.shock(uf.HalfSine(1, 0.01), "z", **{"duration": 0.1, "dt": 0.01, **given})


CALLS = [
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
    ("Interface.at", "length", lambda v: uf.Interface("a", three(v), static_limit=1).at[0]),
    (
        "Interface.static_limit",
        "length",
        lambda v: uf.Interface("a", (0, 0, 0), static_limit=v).static_limit,
    ),
    (
        "Interface.dynamic_limit",
        "length",
        lambda v: uf.Interface("a", (0, 0, 0), dynamic_limit=v).dynamic_limit,
    ),
    ("check_walking.friction", "ratio", lambda v: INST.check_walking(SHOCK, v) and None),
    ("check_lateral.limit", "force", lambda v: INST.check_lateral(SHOCK, v).capacity[0]),
    ("check_contact.reserve", "ratio", lambda v: INST.check_contact(SHOCK, v).capacity[0]),
    (
        "check_sideways.acceleration",
        "ratio",
        lambda v: STANDING.check_sideways(v).capacity[0],
    ),
    (
        "check_sideways.hold_down",
        "force",
        lambda v: STANDING.check_sideways(0.1, v).capacity[1],
    ),
    (
        "check_sideways.share",
        "ratio",
        lambda v: STANDING.check_sideways(0.1, share=v).capacity[2],
    ),
    ("check_level.limit", "angle", lambda v: INST.check_level(v).capacity[0]),
    ("check_travel.floor", "length", lambda v: INST.check_travel(v) and None),
    ("check_travel.settlement", "length", lambda v: INST.check_travel(0, v) and None),
    ("check_travel.reserve", "length", lambda v: INST.check_travel(0, 0, v) and None),
    (
        "friction_needed.yaw",
        "moment",
        lambda v: uf.friction_needed(PAIR, (1, 1), (0, 0), v),
    ),
    (
        "friction_needed.force",
        "force",
        lambda v: 2 * uf.friction_needed(PAIR, (1, 1), (v, 0), 0),
    ),
    (
        "friction_needed.load",
        "force",
        lambda v: 1 / (2 * uf.friction_needed(PAIR, (v, v), (1, 0), 0)),
    ),
    (
        "friction_needed.position",
        "length",
        lambda v: 1 / uf.friction_needed([(v, 0), (0, 0)], (1, 1), (0, 0), 1),
    ),
    ("lift_off_checks.velocity", "velocity", lambda v: first(velocity=v)),
    ("lift_off_checks.impulse", "impulse", lambda v: first(impulse=v)),
    ("lift_off_checks.force", "force", lambda v: first(force=v, frequency=1e-9)),
    ("lift_off_checks.mass", "mass", lambda v: first(mass=v, impulse=1) and None),
    ("lift_off_checks.frequency", "frequency", lambda v: first(force=1, frequency=v) and None),
    ("lift_off_checks.gravity", "acceleration", lambda v: first(velocity=1, gravity=v) and None),
    (
        "lift_off_checks.natural_frequency",
        "frequency",
        lambda v: uf.lift_off_checks(v, velocity=1) and None,
    ),
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


SHOCK = shock()
FEET = [uf.Mount((x, y, 0), (1e6, 1e6, 4e6), loss_factor=0.1) for x in (-1, 1) for y in (-1, 1)]
STANDING = uf.Installation(BODY, FEET)
PAIR = [(-0.5, 0), (0.5, 0)]


def first(**given):
    return uf.lift_off_checks(5, **{"mass": 1000, **given}).demand[0]


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
