"""Plots of the running slide: force over a stroke, orbits, stroke rates; see `underfoot.plot`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from underfoot.scale import number, scale

__all__ = ["orbit", "slide_force", "stroke_rate_curve", "stroke_rate_map"]

AXES = ("x", "y", "z")
WORDS = {"x": "x, left-right", "y": "y, front-back", "z": "z, up"}
RAY = "#7c9cba"
MEETINGS = 5
"""Meetings that get a number on the map."""


def slide_force(steady: Any, ax: Any = None, axis: str = "z", units: str = "si") -> Any:
    """Inertia force of the slide and its drive over a stroke, and what of it reaches the floor.

    Crank angle zero has the crank pin at the top. The greatest and least floor forces, solved for,
    are drawn as lines.
    """
    from underfoot.plot import COLORS, QUIET, _axes, _index, _style

    ax, i, force = _axes(ax), _index(axis), scale("N", units)
    angle = np.linspace(0, 360, 361)
    applied, floor = (steady.history(q)[:, i] for q in ("applied", "ground_wrench"))
    label = "inertia force: the floor's, if bolted"
    ax.plot(angle, force.of(applied), "--", color=COLORS[1], lw=1.4, label=label)
    ax.plot(angle, force.of(floor), color=COLORS[0], lw=1.8, label="on the floor")
    for end in (steady.ground_wrench_max[i], steady.ground_wrench_min[i]):
        ax.axhline(force.of(end), color=QUIET, lw=0.8, ls=":")
        above = end > 0
        ax.annotate(
            f"{number(force.of(end))} {force.unit}",
            (360, force.of(end)),
            xytext=(-2, 2 if above else -2),
            textcoords="offset points",
            ha="right",
            va="bottom" if above else "top",
            fontsize="small",
            color=QUIET,
        )
    ax.set(
        xlim=(0, 360),
        xticks=range(0, 361, 45),
        xlabel="crank angle from the top (degrees)",
        ylabel=force.label("force"),
        title=f"Slide inertia at {steady.stroke_rate_spm:g} strokes per minute, along {axis}",
    )
    ax.margins(y=0.15)
    _style(ax)
    ax.legend(fontsize="small", frameon=False, loc="best")
    return ax


def orbit(motions: Mapping[str, Any], ax: Any = None, axes: str = "xz", units: str = "si") -> Any:
    """The closed paths of points over a stroke, on equal scales.

    `motions` maps names to what `Steady.at` returns; `axes` names the two directions. A dot marks
    crank angle zero.
    """
    from underfoot.plot import COLORS, DASHES, _axes, _index, _legend_beside, _style

    ax, length = _axes(ax), scale("m", units)
    across, up = (_index(axis) for axis in axes)
    for n, (name, motion) in enumerate(motions.items()):
        path = length.of(motion.orbit())
        color = COLORS[n % len(COLORS)]
        ax.plot(path[:, across], path[:, up], DASHES[n % 4], color=color, lw=1.5, label=name)
        ax.plot(path[0, across], path[0, up], "o", color=color, ms=5)
    rate = next(iter(motions.values())).stroke_rate_spm
    ax.set(
        xlabel=length.label(WORDS[axes[0]]),
        ylabel=length.label(WORDS[axes[1]]),
        title=f"Orbits at {rate:g} strokes per minute",
    )
    ax.set_aspect("equal", adjustable="datalim")
    ax.margins(0.1)
    _style(ax)
    _legend_beside(ax)
    return ax


def stroke_rate_map(result: Any, ax: Any = None, units: str = "si") -> Any:
    """Harmonics and modes over the stroke rate: rays are harmonics, level lines are modes.

    The thicker a ray, the more the point moves by that harmonic. The worst meetings are numbered in
    the order of their amplitude.
    """
    from matplotlib.collections import LineCollection

    from underfoot.plot import COLORS, INK, QUIET, _axes, _legend_beside, _style

    ax, length = _axes(ax), scale("m", units)
    rate, orders = np.asarray(result.stroke_rate_spm), np.asarray(result.harmonic)
    amplitude = np.sqrt((np.abs(result.motion) ** 2).sum(axis=2))
    top = 1.25 * float(np.max(result.frequency))
    for n, f in enumerate(result.frequency):
        label = "natural frequency" if n == 0 else None
        ax.axhline(f, color=QUIET, lw=0.9, ls="--", label=label)
    most = amplitude.max()
    for n, order in enumerate(orders):
        line = order * rate / 60
        if line[0] > top or not amplitude[:, n].any():
            continue
        points = np.column_stack([rate, line])
        # Three decades of amplitude from hairline to bar.
        size = np.clip(1 + np.log10(np.maximum(amplitude[:, n] / most, 1e-9)) / 3, 0.03, 1)
        rays = np.stack([points[:-1], points[1:]], axis=1)
        ax.add_collection(LineCollection(list(rays), linewidths=7 * size[:-1], colors=RAY))
        inside = line <= top
        if inside.sum() > 1:
            end = int(np.flatnonzero(inside)[-1])
            ax.annotate(
                f"{order:g}",
                points[end],
                xytext=(3, 0),
                textcoords="offset points",
                fontsize="small",
                color=COLORS[0],
                va="center",
            )
    for k, meeting in enumerate(result.meetings[:MEETINGS], start=1):
        at = (meeting["stroke_rate_spm"], meeting["frequency"])
        words = (
            f"{k}: {at[0]:.0f} spm, harmonic {meeting['harmonic']}, "
            f"{number(length.of(meeting['amplitude']))} {length.unit}"
        )
        ax.plot(*at, "o", ms=13, mfc="white", mec=COLORS[1], mew=1.6, label=words, zorder=4)
        ax.annotate(str(k), at, ha="center", va="center", fontsize="small", color=INK, zorder=5)
    ax.set(
        xlim=(rate[0], rate[-1]),
        ylim=(0, top),
        xlabel="strokes per minute",
        ylabel="frequency (Hz)",
        title="Harmonics of the slide against natural frequencies",
    )
    _style(ax)
    _legend_beside(ax)
    return ax


def stroke_rate_curve(
    result: Any, ax: Any = None, quantity: str = "motion", label: str = "", units: str = "si"
) -> Any:
    """Greatest motion of the point, or greatest force on the floor, over the stroke rate.

    `quantity` is "motion" or "floor_force". A floor force comes with that of a bolted machine. Call
    it again on the same `ax`, with a `label`, to compare mounts.
    """
    from matplotlib.ticker import FuncFormatter

    from underfoot.errors import UnknownNameError
    from underfoot.plot import COLORS, _axes, _legend_beside, _style

    sides = {"motion": ("peak_motion", "m"), "floor_force": ("peak_floor_force", "N")}
    if quantity not in sides:
        allowed = f"use one of {', '.join(sides)}"
        raise UnknownNameError(
            f'quantity: "{quantity}" is not known; {allowed}',
            argument="quantity",
            value=quantity,
            allowed=allowed,
        )
    ax = _axes(ax)
    field, si = sides[quantity]
    read, rate = scale(si, units), np.asarray(result.stroke_rate_spm)
    color = COLORS[len(ax.lines) % len(COLORS)]
    values = np.max(getattr(result, field), axis=1)
    words = label or ("motion of the point" if quantity == "motion" else "on the mounts")
    if quantity == "floor_force" and not ax.lines:
        bolted = np.max(result.peak_applied_force, axis=1)
        ax.semilogy(rate, read.of(bolted), "--", color=COLORS[5], lw=1.2, label="bolted")
    ax.semilogy(rate, read.of(values), color=color, lw=1.8, label=words)
    what = "greatest motion, peak" if quantity == "motion" else "greatest force on the floor, peak"
    ax.set(
        xlim=(rate[0], rate[-1]),
        xlabel="strokes per minute",
        ylabel=read.label(what),
        title=f"{what.split(',')[0].capitalize()} over the stroke rate",
    )
    ax.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:g}"))
    _style(ax)
    _legend_beside(ax)
    return ax
