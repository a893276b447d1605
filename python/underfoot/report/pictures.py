"""The plots of a report as PNG, drawn without pyplot: no window, no global state."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from underfoot import plot
from underfoot.report.names import file_names

DOTS_PER_INCH = 130


def write(study: Any, folder: Path, installation: Any = None) -> list[tuple[str, str]]:
    """Draws all plots; returns their names and what they show."""
    wrote: list[tuple[str, str]] = []

    def draw(name: str, words: str, size: tuple[float, float], fill: Callable[[Any], None]) -> None:
        _save(folder / name, size, fill)
        wrote.append((name, words))

    units, envelope = study.units, study.envelope
    mounts = () if installation is None else installation.mounts
    if study.checks:
        draw(
            "verdicts.png",
            "The tightest checks against their limits",
            (9, 5.5),
            lambda f: plot.verdicts(study.checks, f.add_subplot()),
        )
    if installation is not None:
        draw(
            "plan.png",
            "Mounts from above with their static loads",
            (8, 5),
            lambda f: plot.plan(installation, envelope, f.add_subplot(), units),
        )
    draw(
        "mount_loads.png",
        "Static load of each mount",
        (max(8, 3.5 + 0.5 * len(envelope.mounts)), 4.5),
        lambda f: plot.mount_loads(envelope, f.add_subplot(), study.figures, mounts, units),
    )
    if study.leveling is not None:
        draw(
            "leveling_plan.png",
            "Which screw is turned, in which order and by how much",
            (9, 6),
            lambda f: plot.leveling_plan(study.leveling, f.add_subplot(), units),
        )
        draw(
            "level_change.png",
            "Level before and after the plan",
            (7.5, 5.5),
            lambda f: plot.level_change(study.leveling, f.add_subplot(), units),
        )
    draw("modes.png", "Modes", (9, 4.5), lambda f: plot.mode_map(study.modes, f.add_subplot()))
    if study.transmissibility is not None:
        limit = _limit(study)
        draw(
            "transmissibility.png",
            "Vertical transmissibility to a rigid floor",
            (8, 4.5),
            lambda f: plot.transmissibility(study.transmissibility, f.add_subplot(), limit),
        )
    for run, name in file_names(study.running).items():
        draw(
            f"{name}.png",
            f"{run}: inertia force, force on the floor, and orbits",
            (9, 7.5) if study.points else (9, 4),
            partial(_running, study, run),
        )
    if study.stroke_rate_map is not None:
        draw(
            "stroke_rates.png",
            "Which harmonic of the slide meets which mode, and what it is worth",
            (9.5, 11),
            partial(_stroke_rates, study),
        )
    for shock, name in file_names(study.shocks).items():
        draw(
            f"shock_{name}.png",
            f"{shock}: force on the floor and motion of the points",
            (9, 7),
            partial(_shock, study, shock),
        )
    for work, name in file_names(study.snap_throughs).items():
        draw(
            f"break_through_{name}.png",
            f"{work}: work force, drive and column, bed and crown, floor",
            (11, 8),
            partial(_snap_through, study, work),
        )
    return wrote


def _limit(study: Any) -> tuple[float, float] | None:
    """The limit of the job on the transmissibility: frequency in Hz and greatest value."""
    limit = json.loads(study.to_json())["limits"]["transmissibility"]
    return None if limit is None else (limit["frequency"], limit["max"])


def _shock(study: Any, name: str, figure: Any) -> None:
    contacts = study.contact_shock(name)
    shock = study.shock(name) if contacts is None else contacts
    # Histories of points are those of feet that stay: not shown where contacts change.
    points = study.points if contacts is None else []
    above, *below = figure.subplots(2 if points else 1, 1, squeeze=False).ravel()
    plot.shock_history(shock, above, units=study.units)
    above.title.set_text(f"{name} ({study.shock_case(name)}): {above.get_title().lower()}")
    for ax in below:
        plot.point_motion(shock, points, ax, units=study.units)
        ax.set_xlim(above.get_xlim())


def _running(study: Any, name: str, figure: Any) -> None:
    run = study.run(name)
    above, *below = figure.subplots(2 if study.points else 1, 1, squeeze=False).ravel()
    plot.slide_force(run, above, units=study.units)
    for ax in below:
        plot.orbit({point: run.at(point) for point in study.points}, ax, units=study.units)


def _stroke_rates(study: Any, figure: Any) -> None:
    found, units = study.stroke_rate_map, study.units
    above, middle, below = figure.subplots(3, 1, height_ratios=(1.5, 1, 1))
    plot.stroke_rate_map(found, above, units=units)
    plot.stroke_rate_curve(found, middle, "motion", study.stroke_rate_map_point, units)
    plot.stroke_rate_curve(found, below, "floor_force", "", units)


def _snap_through(study: Any, name: str, figure: Any) -> None:
    snap = study.snap_through(name)
    force, loads, shakes, floor = figure.subplots(2, 2, sharex=True).ravel()
    plot.work_force(snap, force, units=study.units)
    plot.drive_and_column(snap, loads, units=study.units)
    plot.snap_acceleration(snap, shakes, units=study.units)
    plot.snap_floor_force(snap, floor, units=study.units)
    figure.suptitle(name)


def _save(path: Path, size: tuple[float, float], fill: Callable[[Any], None]) -> None:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=size, layout="constrained")
    FigureCanvasAgg(figure)
    fill(figure)
    figure.savefig(path, dpi=DOTS_PER_INCH, format="png", metadata={"Software": "underfoot"})
