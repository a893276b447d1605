"""Calls that level a press, change its dies and answer from few facts."""

import underfoot as uf
from arguments_base import BODY, three

FEET = [uf.Mount((x, y, 0), (1e6, 1e6, 1e6), loss_factor=0.1) for x in (-1, 1) for y in (-1, 1)]
FOUR = uf.Installation(BODY, FEET)
SETTLED = [1e-3, 0, 0, 0]


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
    ("leveling_plan.target", "force", lambda v: plan(target=[v, 2231, 2231, 2231]).target[0]),
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
]
