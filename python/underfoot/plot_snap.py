"""Plots of a press when the material breaks; see `underfoot.plot`."""

from __future__ import annotations

from typing import Any

import numpy as np

from underfoot.scale import scale

DRIVE, COLUMN, THIRD = "#2b5c8a", "#c9622b", "#8b97a3"
DIED = 0.02
"""Part of its greatest value below which a motion is no longer shown."""


def work_force(result: Any, ax: Any = None, units: str = "si") -> Any:
    """Work force between slide and bed over time."""
    ax, force = _start(ax), scale("N", units)
    ax.plot(1e3 * result.time, force.of(result.work_force), color=DRIVE)
    ax.set(title="Work force between slide and bed", ylabel=force.label("force"))
    return _finish(ax, result)


def drive_and_column(result: Any, ax: Any = None, units: str = "si") -> Any:
    """Force in drive and column over time; the part in reverse is shaded, its limit drawn."""
    ax, force = _start(ax), scale("N", units)
    time = 1e3 * result.time
    pairs = (("drive", result.drive_force, DRIVE), ("column", result.column_force, COLUMN))
    for name, values, color in pairs:
        shown = force.of(values)
        ax.plot(time, shown, color=color, label=name)
        ax.fill_between(time, shown, 0, where=shown < 0, color=color, alpha=0.25, lw=0)
    if result.rated_force is not None:
        limit = -force.of(result.reverse_limit * result.rated_force)
        words = f"reverse limit of the drive, {100 * result.reverse_limit:.3g} % of rating"
        ax.axhline(limit, color="#b23a3a", ls="--", lw=1, label=words)
    worst = result.least("drive_force")
    ax.plot(1e3 * worst.time, force.of(worst.signed_value), "o", color=DRIVE, ms=4)
    part = 100 * result.reverse_fraction
    ax.set(title=f"Drive and column: {part:.1f} % reversed in the drive")
    ax.set_ylabel(force.label("force"))
    ax.legend(frameon=False, fontsize="small")
    return _finish(ax, result)


def snap_acceleration(result: Any, ax: Any = None, units: str = "si") -> Any:
    """Vertical acceleration of bed and crown over time."""
    ax, shake = _start(ax), scale("m/s^2", units)
    for name, values, color in (
        ("crown", result.crown_acceleration, COLUMN),
        ("bed", result.bed_acceleration, DRIVE),
    ):
        ax.plot(1e3 * result.time, shake.of(values), color=color, label=name)
    ax.set(title="Bed and crown", ylabel=shake.label("vertical acceleration"))
    ax.legend(frameon=False, fontsize="small")
    return _finish(ax, result)


def snap_floor_force(result: Any, ax: Any = None, units: str = "si") -> Any:
    """Vertical force on the floor over time, on the mounts and bolted to a rigid floor."""
    ax, force = _start(ax), scale("N", units)
    time = 1e3 * result.time
    words = "bolted to a rigid floor"
    ax.plot(time, force.of(result.bolted_force), color=THIRD, lw=0.9, label=words)
    ax.plot(time, force.of(result.ground_wrench[:, 2]), color=DRIVE, label="on the mounts")
    ax.set(title="Floor (upward positive)", ylabel=force.label("dynamic vertical force"))
    ax.legend(frameon=False, fontsize="small")
    return _finish(ax, result)


def _start(ax: Any) -> Any:
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    return plt.subplots(layout="constrained")[1]


def _finish(ax: Any, result: Any) -> Any:
    """Time until drive and column have died away."""
    both = np.maximum(abs(result.drive_force), abs(result.column_force))
    alive = np.flatnonzero(both > DIED * both.max()) if both.size else np.array([])
    end = result.time[min(alive[-1] + 1, len(result.time) - 1)] if alive.size else 1.0
    ax.set(xlim=(0, 1e3 * end), xlabel="time (ms)")
    ax.axhline(0, color="#26323d", lw=0.6)
    ax.spines[["top", "right"]].set_visible(False)
    ax.grid(axis="y", color="#e4e9ee", lw=0.8)
    ax.set_axisbelow(True)
    return ax
