"""Plots of events: what acts on the machine over time; `underfoot.plot` shows them."""

from __future__ import annotations

from typing import Any

import numpy as np

from underfoot.scale import scale

__all__ = ["force_history"]

POINTS = 2001


def force_history(
    excitation: Any, ax: Any = None, about: Any = (0, 0, 0), units: str = "si"
) -> Any:
    """Forces and moments that an excitation puts on the machine about a point, over time.

    Components that stay under a thousandth of the greatest of their kind are left out. Moments have
    their own scale on the right.
    """
    from underfoot.plot import COLORS, QUIET, _axes, _style

    ax, force, moment = _axes(ax), scale("N", units), scale("N m", units)
    end = excitation.every or excitation.end
    time = np.linspace(0, end, POINTS)
    wrench = excitation.wrench(time, about)
    lines: list[Any] = []
    right = None
    for kind, first, unit in (("force", 0, force), ("moment", 3, moment)):
        part = wrench[:, first : first + 3]
        greatest = np.abs(part).max()
        if greatest == 0:
            continue
        side = ax
        if kind == "moment" and lines:
            side = right = ax.twinx()
        for i, axis in enumerate("xyz"):
            if np.abs(part[:, i]).max() < 1e-3 * greatest:
                continue
            word = f"{kind} along {axis}" if kind == "force" else f"moment about {axis}"
            style = "-" if kind == "force" else "--"
            color = COLORS[len(lines) % len(COLORS)]
            lines += side.plot(time, unit.of(part[:, i]), style, color=color, lw=1.6, label=word)
        side.set_ylabel(unit.label(kind))
    ax.axhline(0, color=QUIET, lw=0.8, zorder=0)
    again = ", again and again" if excitation.every else ""
    ax.set(
        xlim=(0, end),
        xlabel="time (s)",
        title=f"On the machine: {' and '.join(excitation.sources)}{again}",
    )
    _style(ax)
    if right is not None:
        right.spines["top"].set_visible(False)
        # Both zeros at one height.
        for each in (ax, right):
            most = max(abs(limit) for limit in each.get_ylim())
            each.set_ylim(-most, most)
    ax.legend(handles=lines, fontsize="small", frameon=False, loc="best")
    return ax
