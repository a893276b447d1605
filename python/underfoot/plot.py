"""Plots of results. Each draws on `ax` and returns it.

Without `ax` a new pyplot figure is made, as a notebook shows it; with one, pyplot is not touched.
No setting of matplotlib is changed. `units` is "si" or "us".
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np

from underfoot.errors import InvalidError, UnknownNameError
from underfoot.plot_events import force_history
from underfoot.plot_leveling import level_change, leveling_plan
from underfoot.plot_running import orbit, slide_force, stroke_rate_curve, stroke_rate_map
from underfoot.plot_snap import drive_and_column, snap_acceleration, snap_floor_force, work_force
from underfoot.scale import number, scale

__all__ = [
    "drive_and_column",
    "force_history",
    "level_change",
    "leveling_plan",
    "load_deflection",
    "mode_map",
    "mount_loads",
    "orbit",
    "plan",
    "point_motion",
    "shock_history",
    "slide_force",
    "stroke_rate_curve",
    "stroke_rate_map",
    "snap_acceleration",
    "snap_floor_force",
    "transmissibility",
    "verdicts",
    "what_if_bridged",
    "work_force",
]

INK = "#26323d"
QUIET = "#8b97a3"
SHADE = "#e4e9ee"
COLORS = ("#2b5c8a", "#c9622b", "#4f8f6b", "#8a6fa8", "#a8923a", "#5d6d7c")
VERDICT_COLORS = {"OK": "#4f8f6b", "OK IF": "#c99a2b", "NO": "#b23a3a"}
AXES = ("x", "y", "z")
DASHES = ("-", "--", ":", "-.")
DIED = 0.03
"""Part of its greatest value below which a motion is no longer shown."""
DOF_WORDS = {
    "x": "x, left-right",
    "y": "y, front-back",
    "z": "z, up",
    "rx": "rx, rocking about x",
    "ry": "ry, rocking about y",
    "rz": "rz, yaw",
}


def load_deflection(part: Any, ax: Any = None, load: float | None = None, units: str = "si") -> Any:
    """Static load of a rubber pad or coil spring against its deflection, with its limits.

    `load` (N) marks the working point and its tangent.
    """
    from underfoot.plot_parts import draw_load_deflection

    ax = draw_load_deflection(part, _axes(ax), load, units)
    _style(ax)
    return ax


def mode_map(modes: Any, ax: Any = None) -> Any:
    """Modes along the frequency axis; each bar splits the kinetic energy by degree of freedom.

    Bars that would cover each other are moved apart; a line leads to the true frequency.
    """
    ax = _axes(ax)
    frequency = np.asarray(modes.frequency)
    energy = np.asarray(modes.energy)
    top = 1.15 * frequency.max()
    width = top / max(20, 1.6 * len(frequency))
    places = _apart(frequency, 1.12 * width)
    bottom = np.zeros(len(frequency))
    for column, dof in enumerate(modes._coords()["dof"]):
        short = str(dof).rsplit(".", 1)[-1]
        words = DOF_WORDS.get(short, short) if str(dof).startswith("machine.") else str(dof)
        share = 100 * energy[:, column]
        color = COLORS[column % len(COLORS)]
        ax.bar(places, share, width, bottom, color=color, label=words, edgecolor="white", lw=0.5)
        bottom = bottom + share
    for i, (place, f) in enumerate(zip(places, frequency, strict=True)):
        ax.plot([f, f, place], [-16, -9, 0], color=QUIET, lw=0.8)
        turn = 0 if len(frequency) <= 8 else 90
        ax.annotate(
            f"{i + 1}\n{number(f)}" if turn == 0 else f"{i + 1}: {number(f)}",
            (place, 101),
            ha="center",
            va="bottom",
            fontsize="small",
            rotation=turn,
            color=INK,
        )
    ax.set(
        xlim=(0, max(top, places.max() + width)),
        ylim=(-16, 125),
        yticks=[0, 25, 50, 75, 100],
        xlabel="frequency (Hz)",
        ylabel="share of kinetic energy (%)",
        title="Modes: number, frequency (Hz), and what moves",
    )
    _style(ax, grid="y")
    _legend_beside(ax)
    return ax


def transmissibility(result: Any, ax: Any = None, limit: tuple[float, float] | None = None) -> Any:
    """Vertical transmissibility to a rigid floor, log-log.

    `limit` is (frequency in Hz, greatest allowed value), drawn as a mark.
    """
    ax = _axes(ax)
    frequency, vertical = np.asarray(result.frequency), np.asarray(result.vertical)
    ax.axhline(1.0, color=QUIET, lw=1.0)
    ax.loglog(frequency, vertical, color=COLORS[0], lw=1.8, label="vertical, $|T_{zz}|$")
    ax.annotate(
        "T = 1: the floor gets what the machine makes",
        # Below the line at its low end: there the curve is at 1 or above it.
        (frequency[0], 1.0),
        xytext=(2, -4),
        textcoords="offset points",
        va="top",
        fontsize="small",
        color=QUIET,
    )
    if limit is not None:
        ax.plot(*limit, "v", color=VERDICT_COLORS["NO"], label=f"limit {limit[1]:g}")
        ax.legend(fontsize="small", frameon=False, loc="lower left")
    ax.set(
        xlabel="frequency (Hz)",
        ylabel="transmissibility to a rigid floor",
        title="Vertical transmissibility to a rigid floor",
    )
    _style(ax)
    _plain_ticks(ax, frequency, vertical)
    return ax


def what_if_bridged(result: Any, ax: Any = None) -> Any:
    """Vertical force on the floor without and with a short circuit, log-log.

    Marks on the frequency axis are the natural frequencies, without and with it.
    """
    ax = _axes(ax)
    frequency = np.asarray(result.frequency)
    sides = (("without", "before", "-"), ("with", "after", "--"))
    for color, (word, side, dash) in zip(COLORS, sides, strict=False):
        force = np.asarray(getattr(result, f"floor_force_{side}"))
        label = f"{word} {result.bridge or 'the bridge'}"
        ax.loglog(frequency, force, dash, color=color, lw=1.8, label=label)
        modes = np.asarray(getattr(result, f"mode_frequency_{side}"))
        shown = modes[(modes >= frequency[0]) & (modes <= frequency[-1])]
        below = ax.get_xaxis_transform()
        ax.plot(shown, np.full(len(shown), 0.02), "^", color=color, transform=below)
    ax.axhline(1.0, color=QUIET, lw=1.0)
    ax.set(
        xlabel="frequency (Hz)",
        ylabel="force on the floor / force at the center of mass",
        title="A short circuit left in",
    )
    ax.legend(fontsize="small", frameon=False)
    _style(ax)
    both = np.concatenate([result.floor_force_before, result.floor_force_after])
    _plain_ticks(ax, frequency, both)
    return ax


def shock_history(shock: Any, ax: Any = None, axis: str | None = None, units: str = "si") -> Any:
    """Dynamic force on the floor and of each mount in a shock, along one axis.

    Peaks are solved for, not read off the samples, and marked: that of the floor force, and that of
    the mount with the greatest. By default the axis along which the floor force is greatest. Static
    loads are not included; positive is along the axis. The time axis ends where the floor force has
    died to a few percent.
    """
    ax = _axes(ax)
    force = scale("N", units)
    if axis is None:
        axis = max(AXES, key=lambda a: shock.peak("ground_wrench", a).value)
    i = _index(axis)
    clock = _clock(shock.time, shock.ground_wrench[:, i])
    for m, mount in enumerate(shock.mounts):
        ax.plot(
            clock.of(shock.time),
            force.of(shock.mount_force[:, m, i]),
            DASHES[m % len(DASHES)],
            color=COLORS[1 + m % (len(COLORS) - 1)],
            lw=1.1,
            label=mount if len(shock.mounts) <= 8 else None,
        )
    ax.plot(
        clock.of(shock.time),
        force.of(shock.ground_wrench[:, i]),
        color=COLORS[0],
        lw=1.8,
        label="floor, all mounts",
    )
    _mark(ax, shock.peak("ground_wrench", axis), force, clock)
    mounts = [shock.peak("mount_force", f"{mount}.{axis}") for mount in shock.mounts]
    _mark(ax, max(mounts, key=lambda p: p.value), force, clock)
    words = {"x": "along x", "y": "along y", "z": "along z (up positive)"}[axis]
    ax.set(xlabel=clock.label("time"), ylabel=force.label("dynamic force"), title=f"Force {words}")
    _finish_history(ax, clock)
    return ax


def point_motion(
    shock: Any,
    points: Iterable[str],
    ax: Any = None,
    axis: str | None = None,
    units: str = "si",
) -> Any:
    """Displacement of named points in a shock along one axis, with the greatest peak marked.

    By default the axis along which one of them moves most.
    """
    ax = _axes(ax)
    length = scale("m", units)
    histories = {point: shock.at(point) for point in points}
    if not histories:
        problem = "give at least one named point"
        raise InvalidError(
            f"points = []: {problem}",
            argument="points",
            value="[]",
            requirement=problem,
            remedy=problem,
        )
    if axis is None:
        axis = max(
            AXES,
            key=lambda a: max(h.peak("displacement", a).value for h in histories.values()),
        )
    i = _index(axis)
    clock = _clock(shock.time, *(h.displacement[:, i] for h in histories.values()))
    for n, (point, history) in enumerate(histories.items()):
        color, dash = COLORS[n % len(COLORS)], DASHES[n % len(DASHES)]
        values = length.of(history.displacement[:, i])
        ax.plot(clock.of(history.time), values, dash, color=color, lw=1.4, label=point)
    peaks = [history.peak("displacement", axis) for history in histories.values()]
    _mark(ax, max(peaks, key=lambda p: p.value), length, clock)
    ax.set(xlabel=clock.label("time"), ylabel=length.label("displacement"))
    ax.set_title(f"Motion along {axis}")
    _finish_history(ax, clock)
    return ax


def mount_loads(
    envelope: Any,
    ax: Any = None,
    figures: Sequence[Any] = (),
    mounts: Sequence[Any] = (),
    units: str = "si",
) -> Any:
    """Static load of each mount: a mark for each load case, and the range over them.

    With the `figures` of a study the band of the range is shaded, with the `mounts` of the
    installation their load ranges are drawn.
    """
    ax = _axes(ax)
    force = scale("N", units)
    names, cases = envelope.mounts, envelope.cases
    places = np.arange(len(names), dtype=float)
    least, most = force.of(envelope.load_min), force.of(envelope.load_max)
    bands = {f.name: f for f in figures}
    label: str | None = "with bands of the inputs"
    for place, mount in zip(places, names, strict=True):
        low, high = (bands.get(f"{which} load of {mount}") for which in ("least", "greatest"))
        if low is not None and high is not None:
            bottom, top = force.of(low.low), force.of(high.high)
            ax.bar(place, top - bottom, 0.66, bottom, color=SHADE, label=label, zorder=1)
            label = None
    label = "least to greatest, as given"
    ax.bar(places, most - least, 0.5, least, color=QUIET, alpha=0.45, label=label, zorder=2)
    for c, case in enumerate(cases):
        shift = 0.44 * ((c + 0.5) / len(cases) - 0.5)
        ax.plot(
            places + shift,
            force.of(envelope.load[c]),
            "o^sDvP"[c % 6],
            color=COLORS[c % len(COLORS)],
            ms=6,
            label=case,
            zorder=3,
        )
    _load_ranges(ax, places, mounts, force)
    _ticks_for(ax, places, names)
    ax.set(ylabel=force.label("static load"), title="Static load of each mount")
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]))
    _style(ax, grid="y")
    _legend_beside(ax)
    return ax


def plan(installation: Any, envelope: Any = None, ax: Any = None, units: str = "si") -> Any:
    """Plan view: mounts with their tags and, from an envelope, least and greatest static loads.

    The cross is the center of mass of the machine as it runs, dots are its named points, triangles
    stops and diamonds what short-circuits the mounts (pipe, conduit, grout).
    """
    ax = _axes(ax)
    length, force = scale("m", units), scale("N", units)
    at = length.of(np.array([mount.position[:2] for mount in installation.mounts]))
    center = length.of(np.asarray(installation.body.center)[:2])
    ax.plot(*at.T, "s", ms=9, color=COLORS[0], label="mount")
    ax.plot(*center, "+", ms=14, mew=2, color=COLORS[1], label="center of mass")
    for place, names in _together(installation.points).items():
        spot = length.of(np.array(place))
        ax.plot(*spot, ".", color=QUIET)
        ax.annotate(
            ", ".join(names),
            spot,
            xytext=(0, -5),
            textcoords="offset points",
            ha="center",
            va="top",
            fontsize="small",
            color=QUIET,
        )
    beside = [("stop", "^", installation.stops, 2), ("short circuit", "D", installation.bridges, 3)]
    for kind, marker, parts, color in beside:
        for i, part in enumerate(parts):
            spot = length.of(np.asarray(part.position)[:2])
            label = None if i else kind
            ax.plot(*spot, marker, ms=7, color=COLORS[color], label=label)
            ax.annotate(
                part.name or kind,
                spot,
                xytext=(7, 0),
                textcoords="offset points",
                va="center",
                fontsize="small",
                color=QUIET,
            )
    for i, mount in enumerate(installation.mounts):
        lines = [mount.name]
        if envelope is not None:
            ends = force.of(envelope.load_min[i]), force.of(envelope.load_max[i])
            lines.append(f"{number(ends[0])} ... {number(ends[1])} {force.unit}")
        above = at[i, 1] >= at[:, 1].mean()
        ax.annotate(
            "\n".join(lines),
            at[i],
            xytext=(0, 9 if above else -9),
            textcoords="offset points",
            ha="center",
            va="bottom" if above else "top",
            fontsize="small",
            color=INK,
        )
    ax.set(
        xlabel=length.label("x, left to right"),
        ylabel=length.label("y, front to back"),
        title="Mounts from above" + ("" if envelope is None else ", static load"),
    )
    ax.set_aspect("equal", adjustable="datalim")
    ax.margins(0.25)
    _style(ax)
    _legend_beside(ax)
    return ax


def verdicts(checks: Sequence[Any], ax: Any = None, most: int = 12) -> Any:
    """Demand over limit of the tightest checks that set an upper limit, with bands.

    Left of 1 holds. Checks with a lower limit (a least load) are left out.
    """
    ax = _axes(ax)
    rated = []
    for check in checks:
        if check.sense == "at most" and check.capacity > 0 and np.isfinite(check.demand):
            low, high = check.band or (check.demand, check.demand)
            rated.append((high / check.capacity, low / check.capacity, check))
    shown = sorted(rated, key=lambda row: -row[0])[:most]
    for row, (high, low, check) in enumerate(shown):
        color = VERDICT_COLORS[_short(check.verdict)]
        ax.plot([low, high], [row, row], color=color, lw=5, alpha=0.35, solid_capstyle="butt")
        ax.plot(check.demand / check.capacity, row, "o", color=color, ms=6)
    cases = [check.governing_case for *_, check in shown]
    names = [check.question for *_, check in shown]
    labels = [f"{n}\n({c})" if c else n for n, c in zip(names, cases, strict=True)]
    ax.axvline(1.0, color=INK, lw=1.0)
    ax.set_yticks(range(len(shown)), labels)
    ax.set(
        xlim=(0, max([1.1, *(1.05 * high for high, *_ in shown)])),
        ylim=(len(shown) - 0.4, -0.6),
        xlabel="value and band / limit (1)",
        title="The tightest checks: left of 1 holds",
    )
    _style(ax, grid="x")
    return ax


def _short(verdict: str) -> str:
    return "OK IF" if verdict.startswith("OK IF") else verdict


def _axes(ax: Any) -> Any:
    if ax is not None:
        return ax
    from matplotlib import pyplot

    return pyplot.subplots(layout="constrained")[1]


def _style(ax: Any, grid: str = "both") -> None:
    ax.spines[["top", "right"]].set_visible(False)
    ax.spines[["left", "bottom"]].set_color(QUIET)
    ax.grid(True, axis=grid, color=SHADE, lw=0.8)
    ax.set_axisbelow(True)
    ax.tick_params(colors=INK, labelsize="small")
    ax.title.set(color=INK, size="medium", weight="bold")
    for label in (ax.xaxis.label, ax.yaxis.label):
        label.set_color(INK)


def _index(axis: str) -> int:
    if axis in AXES:
        return AXES.index(axis)
    allowed = f"use one of {', '.join(AXES)}"
    raise UnknownNameError(
        f'axis: "{axis}" is not known; {allowed}', argument="axis", value=axis, allowed=allowed
    )


class _Clock(NamedTuple):
    """Time in s or ms, and where it ends."""

    unit: str
    factor: float
    end: float

    def of(self, seconds: Any) -> Any:
        return self.factor * np.asarray(seconds)

    def label(self, name: str) -> str:
        return f"{name} ({self.unit})"


def _clock(time: Any, *histories: Any) -> _Clock:
    """A clock that stops when all histories have died to a few percent of their greatest."""
    time = np.asarray(time)
    sizes = np.max(np.abs(np.column_stack(histories)), axis=1)
    alive = np.flatnonzero(sizes > DIED * sizes.max())
    last = time[alive[-1]] if alive.size else time[-1]
    end = min(float(time[-1]), 1.05 * float(last))
    # By the whole record, so that two plots of one shock have the same unit.
    return _Clock("s", 1.0, end) if time[-1] >= 2.0 else _Clock("ms", 1e3, end)


def _finish_history(ax: Any, clock: _Clock) -> None:
    ax.axhline(0, color=QUIET, lw=0.8, zorder=0)
    _style(ax)
    ax.set_xlim(0.0, clock.of(clock.end))
    ax.margins(y=0.15)
    _legend_beside(ax)


def _legend_beside(ax: Any) -> None:
    ax.legend(fontsize="small", frameon=False, loc="upper left", bbox_to_anchor=(1.0, 1.0))


def _mark(ax: Any, peak: Any, unit: Any, clock: _Clock) -> None:
    """A peak that was solved for: a ring with its value."""
    at = (clock.of(peak.time), unit.of(peak.signed_value))
    ax.plot(*at, "o", ms=7, mfc="none", mec=INK, mew=1.3)
    ax.annotate(
        f"{number(unit.of(peak.signed_value))} {unit.unit}",
        at,
        xytext=(9, 2 if peak.signed_value > 0 else -2),
        textcoords="offset points",
        va="bottom" if peak.signed_value > 0 else "top",
        fontsize="small",
        color=INK,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1},
    )


def _load_ranges(ax: Any, places: np.ndarray, mounts: Sequence[Any], force: Any) -> None:
    """Least and greatest allowed load of each mount that has a range."""
    label: str | None = "load range of the mount"
    for place, mount in zip(places, mounts, strict=False):
        for allowed in (mount.load_range.min, mount.load_range.max):
            if allowed is not None:
                level, ends = force.of(allowed), (place - 0.38, place + 0.38)
                ax.hlines(level, *ends, color=VERDICT_COLORS["NO"], lw=1.6, label=label)
                label = None


def _together(points: Any) -> dict[tuple[float, float], list[str]]:
    """Names of the points that stand at one place of the plan."""
    found: dict[tuple[float, float], list[str]] = {}
    for name, at in points.items():
        found.setdefault((float(at[0]), float(at[1])), []).append(name)
    return found


def _plain_ticks(ax: Any, x: np.ndarray, y: np.ndarray) -> None:
    """Powers of ten, and 2 and 5 between them, as plain numbers."""
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    for axis, values in ((ax.xaxis, x), (ax.yaxis, y)):
        decades = np.log10(values.max() / max(values.min(), 1e-12))
        axis.set_major_locator(LogLocator(subs=(1, 2, 5) if decades <= 3.5 else (1,)))
        axis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:g}"))
        axis.set_minor_formatter(NullFormatter())


def _ticks_for(ax: Any, places: np.ndarray, names: Sequence[str]) -> None:
    crowded = sum(len(name) for name in names) > 60
    ax.set_xticks(places, names, rotation=60 if crowded else 0, ha="right" if crowded else "center")


def _apart(values: np.ndarray, gap: float) -> np.ndarray:
    """Ascending places next to `values`, at least `gap` apart (isotonic least squares)."""
    steps = gap * np.arange(len(values))
    groups: list[list[float]] = []
    for value in values - steps:
        groups.append([value])
        while len(groups) > 1 and np.mean(groups[-2]) > np.mean(groups[-1]):
            last = groups.pop()
            groups[-1] += last
    level = np.concatenate([np.full(len(g), np.mean(g)) for g in groups])
    return np.asarray(level + steps)
