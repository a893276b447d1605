"""Plots of leveling: the plan from above, and the level before and after. See `underfoot.plot`."""

from __future__ import annotations

from typing import Any

import numpy as np

from underfoot.scale import number, scale

RAISE, LOWER = "#2b5c8a", "#c9622b"


def leveling_plan(plan: Any, ax: Any = None, units: str = "si") -> Any:
    """Plan view: which way each screw is turned seen from above, with order, turns and loads.

    A clockwise arrow raises, a counter-clockwise one lowers (right-hand thread); shims have none.
    Numbers are the order of work; settings are totals, loads are now and after.
    """
    from underfoot import plot

    ax = plot._axes(ax)
    length, force = scale("m", units), scale("N", units)
    at = length.of(np.asarray(plan.positions))
    span = max(np.ptp(at, axis=0).max(), 1e-9)
    order = {mount: str(i + 1) for i, mount in reversed(list(enumerate(plan.order)))}
    for i, mount in enumerate(plan.mounts):
        a = plan.adjustment[i]
        color = plot.QUIET if a == 0 else RAISE if a > 0 else LOWER
        if a != 0 and plan.one_turn[i] != "1 shim":
            _turn(ax, at[i], 0.085 * span, a > 0, color)
        ax.plot(*at[i], "o", ms=19, color=color, zorder=3)
        ax.annotate(
            order.get(mount, ""),
            at[i],
            color="white",
            ha="center",
            va="center",
            weight="bold",
            zorder=4,
        )
        ax.annotate(
            _words(plan, i, length, force),
            at[i],
            xytext=(30, 0),
            textcoords="offset points",
            va="center",
            fontsize="small",
            color=plot.INK,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1},
        )
    ax.plot([], [], "o", color=RAISE, label="raise, clockwise")
    ax.plot([], [], "o", color=LOWER, label="lower, counter-clockwise")
    if not np.all(plan.adjustment):
        ax.plot([], [], "o", color=plot.QUIET, label="not turned")
    ax.set(
        xlabel=length.label("x, left to right"),
        ylabel=length.label("y, front to back"),
        title="Leveling plan from above: order, turns, load now and after",
    )
    # Room for the words to the right, and for arrows above and below.
    low, high = at.min(axis=0), at.max(axis=0)
    ax.set_aspect("equal", adjustable="box")
    ax.set_xlim(low[0] - 0.15 * span, high[0] + 0.55 * span)
    ax.set_ylim(low[1] - 0.25 * span, high[1] + 0.3 * span)
    plot._style(ax)
    ax.legend(fontsize="small", frameon=False, loc="upper center", ncols=3)
    return ax


def _turn(ax: Any, at: Any, radius: float, clockwise: bool, color: str) -> None:
    """Three quarters of a circle about a foot, with its head where the turn goes."""
    from matplotlib.patches import FancyArrowPatch
    from matplotlib.path import Path

    angle = np.radians(np.linspace(225, -45, 40) if clockwise else np.linspace(-45, 225, 40))
    circle = at + radius * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    arrow = FancyArrowPatch(path=Path(circle), arrowstyle="-|>", mutation_scale=18)
    arrow.set(color=color, lw=2.5, zorder=2)
    ax.add_patch(arrow)


def _words(plan: Any, i: int, length: Any, force: Any) -> str:
    a, lines = plan.adjustment[i], [plan.mounts[i]]
    if a != 0:
        lines.append(f"{plan.settings[i]}, {length.of(a):+.3g} {length.unit}")
    before, after = force.of(plan.load_before[i]), force.of(plan.load_after[i])
    lines.append(f"{number(before)} \N{RIGHTWARDS ARROW} {number(after)} {force.unit}")
    return "\n".join(lines)


def level_change(plan: Any, ax: Any = None, units: str = "si") -> Any:
    """Level before and after on the two axes, with the way through the steps.

    Across: level along x, up: along y, as a level reads them (positive: rises to the right, to the
    rear). The square is the tolerance.
    """
    from underfoot import plot

    ax = plot._axes(ax)
    angle = scale("rad", units)
    before, after = (angle.of(_read(tilt)) for tilt in (plan.tilt_before, plan.tilt_after))
    way = np.vstack([before, angle.of(_read(plan.step_tilt))])
    tolerance = angle.of(plan.level_tolerance)
    corners = tolerance * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]])
    ax.fill(*corners.T, color=plot.VERDICT_COLORS["OK"], alpha=0.25, label="tolerance")
    ax.plot(*corners.T, color=plot.VERDICT_COLORS["OK"], lw=1)
    ax.plot(*way.T, ".-", color=plot.QUIET, lw=1.2, ms=7, label="after each step")
    ax.plot(*before, "s", ms=10, color=LOWER, label="now")
    ax.plot(*after, "o", ms=10, color=RAISE, label="after the plan")
    for text, place, below in (("now", before, False), ("after", after, True)):
        ax.annotate(
            f"{text}: {place[0]:+.3g}, {place[1]:+.3g} {angle.unit}",
            place,
            xytext=(0, -12 if below else 12),
            textcoords="offset points",
            # Toward the middle, where there is room.
            ha="right" if place[0] > 0 else "left",
            va="top" if below else "bottom",
            fontsize="small",
            color=plot.INK,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1},
        )
    reach = 1.35 * max(np.abs(way).max(), tolerance, 1e-12)
    ax.axhline(0, color=plot.QUIET, lw=0.8, zorder=0)
    ax.axvline(0, color=plot.QUIET, lw=0.8, zorder=0)
    ax.set_aspect("equal", adjustable="box")
    ax.set(
        xlim=(-reach, reach),
        ylim=(-reach, reach),
        xlabel=angle.label("level along x"),
        ylabel=angle.label("level along y"),
        title="Level before and after",
    )
    plot._style(ax)
    plot._legend_beside(ax)
    return ax


def _read(tilt: Any) -> Any:
    """What levels along x and y read: along x minus the tilt about y."""
    tilt = np.asarray(tilt)
    return np.stack([-tilt[..., 1], tilt[..., 0]], axis=-1)
