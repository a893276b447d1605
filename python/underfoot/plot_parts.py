"""Curves of the parts that mounts are made of; `underfoot.plot` shows them."""

from __future__ import annotations

from typing import Any

import numpy as np

from underfoot.scale import number, scale

__all__ = ["draw_load_deflection"]

COLORS = ("#2b5c8a", "#c9622b", "#4f8f6b")
QUIET = "#8b97a3"
LIMIT = "#b23a3a"


def draw_load_deflection(part: Any, ax: Any, load: float | None, units: str) -> Any:
    """Static load of a pad or coil against its deflection, with limits and the working point."""
    force, length = scale("N", units), scale("m", units)
    if hasattr(part, "rubber_height"):
        reach = 1.6 * max(a.max for a in part.allowed if a.quantity == "compression")
        deflection = np.linspace(0, min(reach, 0.5 * part.rubber_height), 200)
        carried = part.force(deflection / part.rubber_height)
        title = f"Rubber pad, {number(part.hardness)} IRHD, law {part.law}"
    else:
        deflection = np.linspace(0, part.solid_deflection, 200)
        carried = part.axial_stiffness * deflection
        title = "Coil spring"
    at_rest = carried[1] / deflection[1] * deflection
    ax.plot(length.of(deflection), force.of(at_rest), ":", color=QUIET, label="stiffness at rest")
    ax.plot(length.of(deflection), force.of(carried), color=COLORS[0], lw=1.8, label="static load")
    top = float(np.max(carried))
    for limit in part.allowed:
        if limit.quantity == "compression" and limit.max <= deflection[-1] * (1 + 1e-12):
            ax.axvline(length.of(limit.max), color=LIMIT, lw=1.2, label=limit.question)
        if limit.quantity == "load" and limit.max <= top:
            ax.axhline(force.of(limit.max), color=LIMIT, lw=1.2, ls="--", label=limit.question)
    if load is not None:
        if hasattr(part, "rubber_height"):
            u, slope = part.strain(load) * part.rubber_height, part.tangent_stiffness(load)
        else:
            u, slope = part.deflection(load), part.axial_stiffness
        span = np.array([-0.25, 0.25]) * u
        tangent = force.of(load + slope * span)
        ax.plot(length.of(u + span), tangent, color=COLORS[1], label="tangent at the load")
        ax.plot(length.of(u), force.of(load), "o", color=COLORS[1], ms=6)
    ax.set(
        xlim=(0, length.of(deflection[-1])),
        ylim=(0, None),
        xlabel=f"deflection ({length.unit})",
        ylabel=f"static load ({force.unit})",
        title=title,
    )
    ax.legend(fontsize="small", frameon=False, loc="upper left")
    return ax
