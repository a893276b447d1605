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
    "velocity": "3 ft/s",
    "ratio": "10 %",
    "angle": "30 deg",
    "pressure": "700 psi",
    "volume": "600 in^3",
    "density": "0.3 lb/in^3",
    "impulse": "3 lbf s",
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


DIE = uf.Die("die", 100, (0, 0, 1))
RAILS = [(0, -1, 0)]


def rolling(**given):
    known = {"mass": 100, "center": (0, 0, 0), "direction": "-y", "travel": 3, "wheel_base": 1}
    return uf.RollingBolster(**{**known, "rails": RAILS, **given})


def stop(**given):
    known = {"inertia": 900, "speed": 1, "brake_time": 0.1, "axis": "x"}
    return uf.EmergencyStop("stop", **{**known, **given})


def first(**given):
    known = {"tonnage": 4e6, "outline": (3, 2, 5), "stroke_rate": 0.5, "stroke": 0.3}
    return uf.first_answer("straight-side", **{**known, **given})


def facts(**given):
    known = {"tonnage": 4e6, "outline": (3, 2, 5), "stroke_rate": 1, "stroke": 0.3}
    return uf.RigidBody.from_facts("straight-side", **{**known, **given})


def pad(thickness="1 in", shape=None, **given):
    return uf.RubberPad(60, shape or uf.Disc("4 in"), thickness, **given)


def coil(wire_diameter="20 mm", coil_diameter="100 mm", free_length="250 mm", **given):
    return uf.CoilSpring(wire_diameter, coil_diameter, 6, free_length, **given)


def air(gauge_pressure=5e5, area=0.02, volume=0.01, **given):
    return uf.AirSpring(gauge_pressure, area, volume, **given)


DAMPER = uf.ViscousDamper(1e3)
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
        lambda v: (
            FOUR.leveling_influence().per_turn(v)["load"][0, 0]
            / FOUR.leveling_influence().load[0, 0]
        ),
    ),
    (
        "level_from_settlement.settlement",
        "length",
        lambda v: FOUR.level_from_settlement([v] * 4).settlement[0],
    ),
    (
        "level_from_settlement.subgrade_modulus",
        "subgrade_modulus",
        lambda v: (
            FOUR.level_from_settlement(subgrade_modulus=v, plate_area=1).settlement[0] and None
        ),
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
    ("Die.mass", "mass", lambda v: uf.Die("d", v, (0, 0, 0)).mass),
    ("Die.center", "length", lambda v: uf.Die("d", 1, three(v)).center[0]),
    ("Die.size", "length", lambda v: uf.Die("d", 1, (0, 0, 0), three(v)).size[0]),
    (
        "Die.off_center",
        "length",
        lambda v: uf.Die("d", 1, (0, 0, 0), off_center=three(v)).off_center[0],
    ),
    ("RollingBolster.mass", "mass", lambda v: rolling(mass=v).load),
    ("RollingBolster.center", "length", lambda v: rolling(center=three(v)).rail_end - 1),
    (
        "RollingBolster.travel",
        "length",
        lambda v: rolling(travel=v, wheel_base=0.01, rails=[(0, -0.01, 0)]).travel,
    ),
    ("RollingBolster.wheel_base", "length", lambda v: rolling(wheel_base=v) and None),
    ("RollingBolster.size", "length", lambda v: rolling(size=three(v)) and None),
    (
        "RollingBolster.rails",
        "length",
        lambda v: rolling(rails=[[0, 0, v]], center=(0, 1, 0)) and None,
    ),
    ("rolled.distance", "length", lambda v: rolling().rolled(BODY, v) and None),
    (
        "SetDown.gravity",
        "acceleration",
        lambda v: -uf.SetDown("s", DIE, 2).case(BODY, v).loads[0].force[2] / 100,
    ),
    ("Cart.at", "length", lambda v: uf.Cart("c", three(v), 1).at[0]),
    ("Cart.mass", "mass", lambda v: uf.Cart("c", (0, 0, 0), v).mass),
    ("Cart.push", "force", lambda v: uf.Cart("c", (0, 0, 0), push=three(v)).push[0]),
    ("EmergencyStop.inertia", "inertia", lambda v: stop(inertia=v).inertia),
    ("EmergencyStop.speed", "frequency", lambda v: stop(speed=v).speed),
    ("EmergencyStop.brake_time", "time", lambda v: stop(brake_time=v).brake_time),
    (
        "dynamic_load_factor.frequency",
        "frequency",
        lambda v: stop().dynamic_load_factor(v) and None,
    ),
    ("first_answer.mass", "mass", lambda v: first(mass=v).body.mass),
    ("RigidBody.from_facts.mass", "mass", lambda v: facts(mass=v).mass),
    ("first_answer.heaviest_die", "mass", lambda v: first(heaviest_die=v).die.mass),
    ("first_answer.outline", "length", lambda v: first(outline=three(v)).body.center[2] / 0.55),
    (
        "first_answer.stroke",
        "length",
        lambda v: 0.3 * first(stroke=v).slide_force / first().slide_force,
    ),
    ("first_answer.stroke_rate", "frequency", lambda v: first(stroke_rate=v).stroke_rate),
    ("Allowed.max", "length", lambda v: uf.Allowed("", "shear", v).max),
    ("Allowed.max", "force", lambda v: uf.Allowed("", "load", v).max),
    (
        "Mount.creep_per_decade",
        "ratio",
        lambda v: uf.Mount((0, 0, 0), (1, 1, 1), creep_per_decade=v).creep_per_decade,
    ),
    ("Disc.diameter", "length", lambda v: uf.Disc(v).diameter),
    ("Disc.thickness", "length", lambda v: uf.Disc(4).shape_factor(v) ** -1),
    ("Rectangle.length", "length", lambda v: uf.Rectangle(v, 1).length),
    ("Rectangle.width", "length", lambda v: uf.Rectangle(1, v).width),
    ("Ring.outer", "length", lambda v: uf.Ring(v, 0.01).outer),
    ("Ring.inner", "length", lambda v: uf.Ring(1, v).inner),
    ("RubberPad.thickness", "length", lambda v: pad(v).thickness),
    ("RubberPad.plate_thickness", "length", lambda v: pad(layers=2, plate_thickness=v) and None),
    ("RubberPad.young_modulus", "pressure", lambda v: pad(young_modulus=v).young_modulus),
    ("RubberPad.shear_modulus", "pressure", lambda v: pad(shear_modulus=v).shear_modulus),
    ("RubberPad.bulk_modulus", "pressure", lambda v: pad(bulk_modulus=v).bulk_modulus),
    ("RubberPad.bending_modulus", "pressure", lambda v: pad(bending_modulus=v) and None),
    ("RubberPad.stress_limit", "pressure", lambda v: pad(stress_limit=v).stress_limit),
    ("RubberPad.friction", "ratio", lambda v: pad(friction=v).friction),
    ("RubberPad.dynamic_factor", "ratio", lambda v: pad(dynamic_factor=v).dynamic_factor),
    ("RubberPad.loss_factor", "ratio", lambda v: pad(loss_factor=v).loss_factor),
    ("RubberPad.creep_per_decade", "ratio", lambda v: pad(creep_per_decade=v).creep_per_decade),
    ("RubberPad.strain", "ratio", lambda v: pad().force([v])[0] and None),
    ("RubberPad.load", "force", lambda v: pad().strain(v) and None),
    ("RubberPad.load", "force", lambda v: pad().tangent_stiffness(v) and None),
    ("RubberPad.load", "force", lambda v: pad().secant_stiffness(v) and None),
    ("RubberPad.load", "force", lambda v: pad().lateral_stiffness(v)[0] and None),
    ("RubberPad.load", "force", lambda v: pad().peak_pressure(v) and None),
    ("RubberPad.load", "force", lambda v: pad().mount((0, 0, 0), load=v) and None),
    ("RubberPad.position", "length", lambda v: pad().mount(three(v)).position[0]),
    ("CoilSpring.wire_diameter", "length", lambda v: coil(v, 1, 5).wire_diameter),
    ("CoilSpring.coil_diameter", "length", lambda v: coil("1 mm", v).coil_diameter),
    ("CoilSpring.free_length", "length", lambda v: coil("1 mm", "10 mm", v).free_length),
    (
        "CoilSpring.shear_modulus",
        "pressure",
        lambda v: coil(shear_modulus=v).axial_stiffness / coil(shear_modulus=1).axial_stiffness,
    ),
    (
        "CoilSpring.young_modulus",
        "pressure",
        lambda v: coil(shear_modulus=1, young_modulus=v) and None,
    ),
    ("CoilSpring.density", "density", lambda v: coil(density=v) and None),
    ("CoilSpring.allowed_stress", "pressure", lambda v: coil(allowed_stress=v) and None),
    (
        "CoilSpring.loss_factor",
        "ratio",
        lambda v: coil(loss_factor=v).mount((0, 0, 0)).loss_factor[0],
    ),
    ("CoilSpring.load", "force", lambda v: coil().deflection(v) * coil().axial_stiffness),
    ("CoilSpring.load", "force", lambda v: coil().lateral_stiffness(v) and None),
    ("CoilSpring.load", "force", lambda v: coil().shear_stress(v) / coil().shear_stress(1)),
    ("CoilSpring.load", "force", lambda v: coil().mount((0, 0, 0), load=v) and None),
    ("CoilSpring.position", "length", lambda v: coil().mount(three(v)).position[0]),
    ("AirSpring.gauge_pressure", "pressure", lambda v: air(v).gauge_pressure),
    ("AirSpring.area", "area", lambda v: air(area=v).area),
    ("AirSpring.volume", "volume", lambda v: air(volume=v).volume),
    ("AirSpring.area_slope", "length", lambda v: air(area_slope=v) and None),
    ("AirSpring.ambient_pressure", "pressure", lambda v: air(ambient_pressure=v) and None),
    (
        "AirSpring.lateral_stiffness",
        "stiffness",
        lambda v: air(lateral_stiffness=v).mount((0, 0, 0)).stiffness[0],
    ),
    ("AirSpring.position", "length", lambda v: air().mount(three(v)).position[0]),
    ("ViscousDamper.damping", "damping", lambda v: uf.ViscousDamper(v).damping[2]),
    ("ViscousDamper.position", "length", lambda v: DAMPER.mount(three(v)).position[0]),
    (
        "ViscousDamper.frequency",
        "frequency",
        lambda v: DAMPER.loss_factor(2e3 * np.pi, v)[0],
    ),
    (
        "ViscousDamper.stiffness",
        "stiffness",
        lambda v: 1e3 / DAMPER.loss_factor(v, 1 / (2 * np.pi))[0],
    ),
    ("ViscousDamper.amplitude", "length", lambda v: DAMPER.energy_per_cycle(1, v)[0] and None),
    ("series.frequency", "frequency", lambda v: uf.series([MOUNT, MOUNT], v) and None),
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


SHOCK = shock()
FEET = [uf.Mount((x, y, 0), (1e6, 1e6, 4e6), loss_factor=0.1) for x in (-1, 1) for y in (-1, 1)]
STANDING = uf.Installation(BODY, FEET)
BLOW = STANDING.shock(uf.HalfSine(1e3, 0.01), "x")
PAIR = [(-0.5, 0), (0.5, 0)]


def nothing(_):
    """For a call whose result does not show the argument."""


def lift(**given):
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
