"""Calls that make mounts from parts."""

import numpy as np
import underfoot as uf
from arguments_base import MOUNT, three


def pad(thickness="1 in", shape=None, **given):
    return uf.RubberPad(60, shape or uf.Disc("4 in"), thickness, **given)


def coil(wire_diameter="20 mm", coil_diameter="100 mm", free_length="250 mm", **given):
    return uf.CoilSpring(wire_diameter, coil_diameter, 6, free_length, **given)


def air(gauge_pressure=5e5, area=0.02, volume=0.01, **given):
    return uf.AirSpring(gauge_pressure, area, volume, **given)


DAMPER = uf.ViscousDamper(1e3)
CALLS = [
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
]
