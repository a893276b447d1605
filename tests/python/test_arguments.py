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
    "velocity": "3 ft/s",
    "ratio": "10 %",
    "angle": "30 deg",
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
    (
        "Mount.dynamic_ratio",
        "ratio",
        lambda v: uf.Mount(
            (0, 0, 0), (1, 1, 1), curve=uf.Curve(1.0, 1.0), dynamic_ratio=v
        ).stiffness[2],
    ),
    ("Curve.deflection", "length", lambda v: uf.Curve(v, 1.0).range[1]),
    ("Curve.load", "force", lambda v: uf.Curve(1.0, v).force(1.0)[0]),
    ("Curve.force.deflection", "length", lambda v: uf.Curve(1.0, 1.0).force(v)[0]),
    ("Curve.tangent.deflection", "length", lambda v: uf.Curve(1.0, 1.0).tangent(v) and None),
    ("Curve.energy.deflection", "length", lambda v: uf.Curve(1.0, 1.0).energy(v) and None),
    ("Curve.deflection.load", "force", lambda v: uf.Curve(1e4, 1e4).deflection(v)[0]),
    (
        "compression.thickness",
        "length",
        lambda v: uf.Curve.compression(v, [(1.0, -2, 1)]).range[1] * 2,
    ),
    (
        "compression.terms",
        "force",
        lambda v: uf.Curve.compression(1.0, [(v, -1, 0)]).force(0.5)[0],
    ),
    ("Bridge.position", "length", lambda v: uf.Bridge(three(v), (1, 1, 1)).position[0]),
    ("Bridge.stiffness", "stiffness", lambda v: uf.Bridge((0, 0, 0), three(v)).stiffness[0]),
    ("Bridge.damping", "damping", lambda v: uf.Bridge((0, 0, 0), (1, 1, 1), v).damping[0]),
    (
        "Bridge.loss_factor",
        "ratio",
        lambda v: uf.Bridge((0, 0, 0), (1, 1, 1), loss_factor=v).loss_factor[0],
    ),
    (
        "Bridge.static_stiffness",
        "stiffness",
        lambda v: uf.Bridge((0, 0, 0), (1, 1, 1), static_stiffness=three(v)).static_stiffness[0],
    ),
    ("Stop.position", "length", lambda v: uf.Stop(three(v), "x", 0, 1).position[0]),
    ("Stop.gap", "length", lambda v: uf.Stop((0, 0, 0), "x", v, 1).gap),
    ("Stop.stiffness", "stiffness", lambda v: uf.Stop((0, 0, 0), "x", 0, v).stiffness),
    ("Stop.gap_behind", "length", lambda v: uf.Stop((0, 0, 0), "x", 0, 1, v).gap_behind),
    ("Stop.damping", "damping", lambda v: uf.Stop((0, 0, 0), "x", 0, 1, damping=v).damping),
    (
        "Stop.loss_factor",
        "ratio",
        lambda v: uf.Stop((0, 0, 0), "x", 0, 1, loss_factor=v).loss_factor,
    ),
    ("rebound.mass", "mass", lambda v: uf.snubber_rebound(v, 1, 1, 1e9, 1).force ** 2),
    (
        "rebound.stiffness",
        "stiffness",
        lambda v: uf.snubber_rebound(1, v, 1, 1e9, 1).force ** 2,
    ),
    (
        "rebound.stop_stiffness",
        "stiffness",
        lambda v: uf.snubber_rebound(1, 1, v, 0, 1) and None,
    ),
    ("rebound.gap", "length", lambda v: uf.snubber_rebound(1, 1, 1, v, 1) and None),
    ("rebound.speed", "velocity", lambda v: uf.snubber_rebound(1, 1, 1, 1e9, v).deflection),
    (
        "what_if_bridged.frequency",
        "frequency",
        lambda v: INST.what_if_bridged(uf.Bridge((0, 0, 0), (1, 1, 1)), [v]).frequency[0],
    ),
    (
        "what_if_bridged.damping_ratio",
        "ratio",
        lambda v: (
            INST.what_if_bridged(
                uf.Bridge((0, 0, 0), (1, 1, 1)), [1.0], damping_ratio=v
            ).damping_ratio
        ),
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
