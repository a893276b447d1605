"""Calls that make a machine on its mounts, load it and check it."""

import numpy as np
import underfoot as uf
from arguments_base import BODY, INST, MOUNT, shock, three

SHOCK = shock()
FEET = [uf.Mount((x, y, 0), (1e6, 1e6, 4e6), loss_factor=0.1) for x in (-1, 1) for y in (-1, 1)]
STANDING = uf.Installation(BODY, FEET)
BLOW = STANDING.shock(uf.HalfSine(1e3, 0.01), "x")
PAIR = [(-0.5, 0), (0.5, 0)]


def nothing(_):
    """For a call whose result does not show the argument."""


def lift(**given):
    return uf.lift_off_checks(5, **{"mass": 1000, **given}).demand[0]


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
    ("Zener.static_stiffness", "stiffness", lambda v: uf.Zener(v, 1, 1).static_stiffness),
    ("Zener.branch_stiffness", "stiffness", lambda v: uf.Zener(1, v, 1).branch_stiffness),
    ("Zener.branch_damping", "damping", lambda v: uf.Zener(1, 1, v).branch_damping),
    ("ComplexStiffness.stiffness", "stiffness", lambda v: uf.ComplexStiffness(v, 0.1).stiffness),
    ("ComplexStiffness.loss_factor", "ratio", lambda v: uf.ComplexStiffness(1, v).loss_factor),
    ("Viscous.stiffness", "stiffness", lambda v: uf.Viscous(v, 1).stiffness),
    ("Viscous.damping", "damping", lambda v: uf.Viscous(1, v).damping),
    ("Maxwell.static_stiffness", "stiffness", lambda v: uf.Maxwell(v, [1], [1]).static_stiffness),
    ("Maxwell.stiffness", "stiffness", lambda v: uf.Maxwell(1, [v], [1]).stiffness[0]),
    ("Maxwell.relaxation_time", "time", lambda v: uf.Maxwell(1, [1], [v]).relaxation_time[0]),
    (
        "FractionalZener.static_stiffness",
        "stiffness",
        lambda v: uf.FractionalZener(v, 1e9, 1, 0.5).static_stiffness,
    ),
    (
        "FractionalZener.high_frequency_stiffness",
        "stiffness",
        lambda v: uf.FractionalZener(1, v, 1, 0.5).high_frequency_stiffness,
    ),
    (
        "FractionalZener.relaxation_time",
        "time",
        lambda v: uf.FractionalZener(1, 2, v, 0.5).relaxation_time,
    ),
    (
        "TabulatedStiffness.frequency",
        "frequency",
        lambda v: uf.TabulatedStiffness([0, v], [1, 1], [0, 0]).frequency[1],
    ),
    (
        "TabulatedStiffness.storage",
        "stiffness",
        lambda v: uf.TabulatedStiffness([0, 1], [v, v], [0, 0]).storage[0],
    ),
    (
        "TabulatedStiffness.loss",
        "stiffness",
        lambda v: uf.TabulatedStiffness([0, 1], [1, 1], [v, v]).loss[0],
    ),
    (
        "TabulatedStiffness.static_stiffness",
        "stiffness",
        lambda v: (
            uf.TabulatedStiffness([0, 1], [1, 1], [0, 0], static_stiffness=v).static_stiffness
        ),
    ),
    ("Zener.at.frequency", "frequency", lambda v: uf.Zener(1, 1, 1).at([v]) and None),
    (
        "maxwell_fit.band",
        "frequency",
        lambda v: uf.maxwell_fit(uf.FractionalZener(1, 9, 1, 0.5), [1e-3, v]).band[1],
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
    ("check_walking.friction", "ratio", lambda v: nothing(STANDING.check_walking(BLOW, v))),
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
    ("check_travel.floor", "length", lambda v: nothing(INST.check_travel(v))),
    ("check_travel.settlement", "length", lambda v: nothing(INST.check_travel(0, v))),
    ("check_travel.reserve", "length", lambda v: nothing(INST.check_travel(0, 0, v))),
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
    ("seismic_acceleration.sds", "ratio", lambda v: 2 * uf.seismic_acceleration(v)),
    (
        "seismic_acceleration.height_ratio",
        "ratio",
        lambda v: uf.seismic_acceleration(1, height_ratio=v) - 0.5,
    ),
    (
        "seismic_acceleration.gap",
        "length",
        lambda v: uf.seismic_acceleration(1, gap=v) and None,
    ),
    ("snubber_speed.gap", "length", lambda v: uf.snubber_speed(v, 1.25, gravity=1) ** 2),
    ("snubber_speed.sds", "ratio", lambda v: uf.snubber_speed(1.25, v, gravity=1) ** 2),
    (
        "snubber_speed.gravity",
        "acceleration",
        lambda v: uf.snubber_speed(1.25, 1, gravity=v) ** 2,
    ),
    ("lift_off_checks.velocity", "velocity", lambda v: lift(velocity=v)),
    ("lift_off_checks.impulse", "impulse", lambda v: lift(impulse=v)),
    ("lift_off_checks.force", "force", lambda v: lift(force=v, frequency=1e-9)),
    ("lift_off_checks.mass", "mass", lambda v: lift(mass=v, impulse=1) and None),
    ("lift_off_checks.frequency", "frequency", lambda v: lift(force=1, frequency=v) and None),
    ("lift_off_checks.gravity", "acceleration", lambda v: lift(velocity=1, gravity=v) and None),
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
