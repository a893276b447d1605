"""underfoot: what a machine does to the floor underfoot.

A press (a rigid body) on its mounts: load sharing, mode frequencies, transmissibility, shock.
SI inside; text with units ("92 000 lb") and pint quantities are read at every dimensional argument.
"""

from __future__ import annotations

from ._core import (
    Box,
    Case,
    Cylinder,
    Installation,
    LoadRange,
    Modes,
    Mount,
    PointMass,
    Response,
    RigidBody,
    Transmissibility,
    Wrench,
    turned,
)
from .errors import (
    FileError,
    FreeMotionError,
    InvalidError,
    JobFileError,
    NotConvergedError,
    ShapeError,
    UnderfootError,
    UnitError,
    UnknownNameError,
    UnstableError,
)

GROUND = "ground"
"""The floor, as a receiver of `Installation.transmissibility`."""

__all__ = [
    "GROUND",
    "Box",
    "Case",
    "Cylinder",
    "FileError",
    "FreeMotionError",
    "Installation",
    "InvalidError",
    "JobFileError",
    "LoadRange",
    "Modes",
    "Mount",
    "NotConvergedError",
    "PointMass",
    "Response",
    "RigidBody",
    "ShapeError",
    "Transmissibility",
    "UnderfootError",
    "UnitError",
    "UnknownNameError",
    "UnstableError",
    "Wrench",
    "turned",
]
