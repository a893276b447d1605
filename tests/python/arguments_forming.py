"""Calls that make a press with crown and slide, and what breaks in it."""

import underfoot as uf
from arguments_base import three


def press(**given):
    body = uf.RigidBody(1e4, (0, 0, 0), (1e5, 1e5, 1e5))
    known = {"slide_mass": 1e3, "crown_mass": 3e3, "frame_stiffness": 4e9, "drive_stiffness": 3e9}
    known |= {"slide_position": (0, 0, 1), "crown_position": (0, 0, 2), "frame_damping": 1e5}
    return uf.Press(body, **{**known, **given})


def broken(force=1e6, rise=0.02, release=1e-3, **given):
    return uf.BreakThrough(force, rise, release, **given)


def blank(perimeter=1, thickness=5e-3, shear_strength=4e8, penetration=0.3, **given):
    return uf.Blanking(perimeter, thickness, shear_strength, penetration, **given)


def drawn(**given):
    known = {"punch_diameter": 0.1, "blank_diameter": 0.18, "thickness": 1e-3}
    return uf.drawing_force(**{**known, "tensile_strength": 4e8, "depth": 0.05, **given})


CURVE = uf.ForceCurve([0, 1], [0, 1])


def read(call):
    """For a call whose result does not show the argument."""

    def nothing(value):
        call(value)

    return nothing


CALLS = [
    ("Press.slide_mass", "mass", lambda v: press(slide_mass=v).slide_mass),
    ("Press.crown_mass", "mass", lambda v: press(crown_mass=v).crown_mass),
    ("Press.slide_position", "length", lambda v: press(slide_position=three(v)).slide_position[0]),
    ("Press.crown_position", "length", lambda v: press(crown_position=three(v)).crown_position[0]),
    ("Press.frame_stiffness", "stiffness", lambda v: press(frame_stiffness=v).frame_stiffness),
    ("Press.drive_stiffness", "stiffness", lambda v: press(drive_stiffness=v).drive_stiffness),
    ("Press.frame_damping", "damping", lambda v: press(frame_damping=v).frame_damping),
    ("Press.drive_damping", "damping", lambda v: press(drive_damping=v).drive_damping),
    ("Press.clearance", "length", lambda v: press(clearance=v, counterbalance=2e4).clearance),
    ("Press.counterbalance", "force", lambda v: press(counterbalance=v).counterbalance),
    ("Press.rated_force", "force", lambda v: press(rated_force=v).rated_force),
    ("Press.reverse_limit", "ratio", read(lambda v: press(rated_force=1e6, reverse_limit=v))),
    ("BreakThrough.force", "force", lambda v: broken(v).force),
    ("BreakThrough.rise", "time", lambda v: broken(rise=v).rise),
    ("BreakThrough.release", "time", lambda v: broken(release=v).release),
    (
        "BreakThrough.softened_to",
        "ratio",
        lambda v: broken(softened_to=v, softening_time=0.01).softened_to,
    ),
    ("BreakThrough.residual", "ratio", lambda v: broken(residual=v, residual_time=0.01).residual),
    ("BreakThrough.dwell", "time", lambda v: broken(dwell=v).dwell),
    ("BreakThrough.point", "length", lambda v: broken(point=three(v)).point[0]),
    ("Blanking.perimeter", "length", lambda v: blank(v).flat_force / 2e6),
    ("Blanking.thickness", "length", lambda v: blank(thickness=v).flat_force / 4e8),
    ("Blanking.shear_strength", "pressure", lambda v: blank(shear_strength=v).flat_force / 5e-3),
    ("Blanking.penetration", "ratio", read(lambda v: blank(penetration=v))),
    ("Blanking.shear_height", "length", read(lambda v: blank(shear_height=v))),
    ("Blanking.break_through.speed", "velocity", read(lambda v: blank().break_through(v))),
    ("ForceCurve.way", "length", lambda v: uf.ForceCurve([0, v], [0, 1]).knots[1, 0]),
    ("ForceCurve.force", "force", lambda v: uf.ForceCurve([0, 1], [0, v]).knots[1, 1]),
    ("ForceCurve.at_speed.speed", "velocity", lambda v: 1 / CURVE.at_speed(v).knots[1, 0]),
    ("TimeCurve.time", "time", lambda v: uf.TimeCurve([0, v], [0, 1]).knots[1, 0]),
    ("TimeCurve.force", "force", lambda v: uf.TimeCurve([0, 1], [0, v]).knots[1, 1]),
    ("drawing_force.punch_diameter", "length", read(lambda v: drawn(punch_diameter=v))),
    (
        "drawing_force.blank_diameter",
        "length",
        read(lambda v: drawn(blank_diameter=v, punch_diameter=0.04)),
    ),
    ("drawing_force.thickness", "length", read(lambda v: drawn(thickness=v))),
    ("drawing_force.tensile_strength", "pressure", read(lambda v: drawn(tensile_strength=v))),
    ("drawing_force.depth", "length", lambda v: drawn(depth=v).knots[-1, 0]),
    ("coining_force.area", "area", lambda v: uf.coining_force(v, 1, 1).peak),
    ("coining_force.pressure", "pressure", lambda v: uf.coining_force(1, v, 1).peak),
    ("coining_force.travel", "length", lambda v: uf.coining_force(1, 1, v).knots[-1, 0]),
    ("Cushion.force", "force", lambda v: uf.Cushion(v, 0, 1).force),
    ("Cushion.contact", "time", lambda v: uf.Cushion(1, v, 1).contact),
    ("Cushion.release", "time", lambda v: uf.Cushion(1, 0, v).release),
    ("Cushion.final_force", "force", lambda v: uf.Cushion(1, 0, 1, v).final_force),
    ("SlideStop.height", "length", lambda v: uf.SlideStop(v, 1e9).height),
    ("SlideStop.stiffness", "stiffness", lambda v: uf.SlideStop(0, v).stiffness),
    ("SlideStop.damping", "damping", lambda v: uf.SlideStop(0, 1, v).damping),
    ("EquivalentPulse.frequency", "frequency", lambda v: uf.EquivalentPulse(broken(), v).frequency),
]
