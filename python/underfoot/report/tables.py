"""The tables of a report as CSV: UTF-8, one header row with the units in it."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from underfoot.report.names import file_names
from underfoot.scale import scale

SIX = ("x", "y", "z", "rx", "ry", "rz")
WRENCH = ("Fx", "Fy", "Fz", "Mx", "My", "Mz")
Table = tuple[list[str], Iterable[Sequence[Any]]]


def write(study: Any, folder: Path) -> list[tuple[str, str]]:
    """Writes all tables; returns their names and what they hold."""
    wanted: list[tuple[str, str, Callable[[], Table]]] = [
        (
            "checks.csv",
            "every check with demand, limit, band, case and source",
            lambda: _checks(study),
        ),
        (
            "figures.csv",
            "every key figure with its band and what moves it",
            lambda: _figures(study),
        ),
        ("inputs.csv", "every number of the job with band and source (SI)", lambda: _inputs(study)),
        (
            "load_cases.csv",
            "static loads, deflections and tilt in each load case",
            lambda: _cases(study),
        ),
        ("mount_loads.csv", "least and greatest static load of each mount", lambda: _loads(study)),
        ("levels.csv", "greatest rise and sinking of each point", lambda: _rises(study)),
        ("asks.csv", "what to ask the client for, the most decisive first", lambda: _asks(study)),
        ("modes.csv", "modes with energy by degree of freedom", lambda: _modes(study)),
    ]
    if study.rail_steps:
        words = "steps of the rails while the bolster rolls out"
        wanted.append(("rail_steps.csv", words, lambda: _rail_steps(study)))
    if study.options is not None:
        words = "mount options, the best first, with what rejects the others"
        wanted.append(("options.csv", words, lambda: _options(study)))
    if study.transmissibility is not None:
        words = "vertical transmissibility to a rigid floor"
        wanted.append(("transmissibility.csv", words, lambda: _transmissibility(study)))
    if study.base_transmissibility is not None:
        words = "motion of the watched point by that of the floor, x, y and z each by its own"
        wanted.append(("floor_motion.csv", words, lambda: _floor_motion(study)))
    if study.leveling is not None:
        words = "every step of the leveling plan with loads and tilt after it"
        wanted.append(("leveling.csv", words, lambda: _leveling(study)))
        words = "what one turn of each screw does to every load and level"
        wanted.append(("influence.csv", words, lambda: _influence(study)))
    for shock, name in file_names(study.shocks).items():
        words = f"histories in {shock}: dynamic forces on the floor, motion of the points"
        wanted.append((f"shock_{name}.csv", words, partial(_shock, study, shock)))
    for work, name in file_names(study.snap_throughs).items():
        words = f"histories when the material breaks in {work}: drive, column, bed, crown, floor"
        wanted.append((f"break_through_{name}.csv", words, partial(_snap_through, study, work)))
    for load, name in file_names(study.harmonics).items():
        words = f"steady response to {load}: peak phasors"
        wanted.append((f"steady_{name}.csv", words, partial(_steady, study, load)))
    if study.running:
        words = (
            "steady running: motion of the points, forces on the floor, by stroke rate and source"
        )
        wanted.append(("running.csv", words, lambda: _running(study)))
    for run, name in file_names(study.running).items():
        words = f"{run}: peak phasors of every harmonic"
        wanted.append((f"{name}.csv", words, partial(_harmonics, study, run)))
    if study.stroke_rate_map is not None:
        words = "greatest motion and floor force over the stroke rates"
        wanted.append(("stroke_rates.csv", words, lambda: _stroke_rates(study)))
        words = "where harmonics of the slide meet modes, ranked by amplitude"
        wanted.append(("meetings.csv", words, lambda: _meetings(study)))
    for name, _, table in wanted:
        header, rows = table()
        _write(folder / name, header, rows)
    return [(name, words) for name, words, _ in wanted]


def _write(path: Path, header: list[str], rows: Iterable[Sequence[Any]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(header)
        if isinstance(rows, np.ndarray):
            # Histories have half a million numbers.
            line = ",".join(["%.9g"] * len(header)) + "\r\n"
            file.writelines(line % tuple(row) for row in (rows + 0.0).tolist())
        else:
            writer.writerows([_cell(value) for value in row] for row in rows)


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, (float, np.floating)):
        # Adding zero makes a zero of a minus zero.
        return f"{float(value) + 0.0:.9g}"
    return value


def _checks(study: Any) -> Table:
    header = ["question", "verdict", "demand", "band low", "band high", "relation", "limit"]
    header += ["unit", "relative margin (1)", "case", "source of the limit"]
    rows = []
    for c in study.checks:
        unit = scale(c.unit, study.units)
        low, high = (None, None) if c.band is None else map(unit.of, c.band)
        row = [c.question, c.verdict, unit.of(c.demand), low, high, c.sense, unit.of(c.capacity)]
        rows.append([*row, unit.unit, c.margin, c.governing_case, c.source])
    return header, rows


def _figures(study: Any) -> Table:
    header = ["group", "figure", "value", "band low", "band high", "unit", "moved most by"]
    rows = []
    for f in study.figures:
        unit = scale(f.unit, study.units)
        movers = "; ".join(path for path, *_ in f.moved_by[:3])
        rows.append([f.group, f.name, *map(unit.of, (f.value, f.low, f.high)), unit.unit, movers])
    return header, rows


def _inputs(study: Any) -> Table:
    header = ["input", "value", "band low", "band high", "unit", "source"]
    header += ["assumed", "who confirms it", "why a default", "only reported"]
    return header, [
        [i.path, i.value, i.low, i.high, i.unit, i.source]
        + ["yes" if i.assumed else "", i.confirm, i.default, "yes" if i.informational else ""]
        for i in study.inputs
    ]


def _cases(study: Any) -> Table:
    mass, force, length, angle = (scale(si, study.units) for si in ("kg", "N", "m", "rad"))
    header = ["load case", mass.label("mass of the machine"), "mount"]
    header += [force.label(f"load {axis}") for axis in "xyz"]
    header += [length.label(f"compression {axis}") for axis in "xyz"]
    header += [angle.label(f"tilt about {axis}") for axis in "xy"]
    rows = []
    for case, total in zip(study.cases, study.case_masses, strict=True):
        s = study.statics(case)
        for i, mount in enumerate(s.mounts):
            row = [case, mass.of(total), mount, *force.of(s.load[i]), *length.of(s.deflection[i])]
            rows.append([*row, *angle.of(s.tilt)])
    return header, rows


def _loads(study: Any) -> Table:
    force, length = scale("N", study.units), scale("m", study.units)
    e = study.envelope
    figures = {f.name: f for f in study.figures}
    header = ["mount"]
    for end in ("least", "greatest"):
        header += [force.label(f"{end} load"), f"case of {end} load"]
        header += [force.label(f"{end} load, band {which}") for which in ("low", "high")]
    header += [force.label("greatest horizontal load"), "case of greatest horizontal load"]
    header += [length.label("greatest compression"), "case of greatest compression"]
    rows = []
    for i, mount in enumerate(e.mounts):
        row: list[Any] = [mount]
        for end, field in (("least", "load_min"), ("greatest", "load_max")):
            figure = figures[f"{end} load of {mount}"]
            row += [force.of(getattr(e, field)[i]), e.governing(field)[i]]
            row += [force.of(figure.low), force.of(figure.high)]
        row += [force.of(e.lateral_max[i]), e.governing("lateral_max")[i]]
        rows.append([*row, length.of(e.deflection_max[i]), e.governing("deflection_max")[i]])
    return header, rows


def _asks(study: Any) -> Table:
    header = ["rank", "input", "who confirms it", "part of the way to the limit (1)"]
    header += ["flips a verdict", "question", "case"]
    return header, [
        [i + 1, a.label, a.confirm, a.reach, "yes" if a.flips else "", a.question, a.case]
        for i, a in enumerate(study.asks)
    ]


def _options(study: Any) -> Table:
    ranking = study.options
    header = ["rank", "option", "accepted", "unbeaten", "price of all"]
    shown = [scale(unit, study.units) for unit in ranking.units]
    header += [f"{name} ({u.unit or 1})" for name, u in zip(ranking.objectives, shown, strict=True)]
    rows = []
    for i, choice in enumerate(ranking.choices):
        row = [i + 1 if choice.accepted else "", choice.label, "yes" if choice.accepted else "no"]
        row += ["yes" if choice.unbeaten else "", choice.price]
        row += [x if u.unit == u.si else u.of(x) for u, x in zip(shown, choice.values, strict=True)]
        rows.append([*row, "; ".join(choice.reasons(study.units))])
    return [*header, "rejected because"], rows


def _rail_steps(study: Any) -> Table:
    length, angle = scale("m", study.units), scale("rad", study.units)
    header = ["point", "from", "to", length.label("rise")]
    header += [length.label(f"motion along {axis}") for axis in "xy"]
    header += [angle.label(f"change of tilt about {axis}") for axis in "xy"]
    rows = []
    for step in study.rail_steps:
        for i, point in enumerate(step.points):
            row = [point, step.start, step.to, length.of(step.rise[i])]
            rows.append([*row, *length.of(step.shift[i]), *angle.of(step.tilt)])
    return header, rows


def _rises(study: Any) -> Table:
    length, e = scale("m", study.units), study.envelope
    header = ["point", length.label("greatest rise"), "case of greatest rise"]
    header += [length.label("greatest sinking"), "case of greatest sinking"]
    return header, [
        [point, length.of(e.rise[i]), e.governing("rise")[i]]
        + [length.of(e.sinking[i]), e.governing("sinking")[i]]
        for i, point in enumerate(e._coords()["point"])
    ]


def _modes(study: Any) -> Table:
    m = study.modes
    header = ["mode", "frequency (Hz)", "damping ratio (1)", "damped frequency (Hz)"]
    header += [f"energy share of {dof} (1)" for dof in m._coords()["dof"]] + ["what it is"]
    rows = [
        [i + 1, f, m.damping_ratio[i], m.damped_frequency[i], *m.energy[i], m.description[i]]
        for i, f in enumerate(m.frequency)
    ]
    return header, rows


def _leveling(study: Any) -> Table:
    plan = study.leveling
    length, force, angle = (scale(si, study.units) for si in ("m", "N", "rad"))
    header = ["step", "mount", "setting", length.label("adjustment, up positive"), "turns"]
    header += [angle.label(f"tilt about {axis} after it") for axis in "xy"]
    header += [force.label(f"load of {mount} after it") for mount in plan.mounts]
    rows = []
    for i, mount in enumerate(plan.order):
        m, a = plan.mounts.index(mount), plan.step_adjustment[i]
        whole = plan.turns[m]
        turns = None if whole is None else whole * a / plan.adjustment[m]
        setting = plan.step_settings[i]
        row = [i + 1, mount, setting, length.of(a), turns, *angle.of(plan.step_tilt[i])]
        rows.append([*row, *force.of(plan.step_load[i])])
    return header, rows


def _influence(study: Any) -> Table:
    plan = study.leveling
    length, force, angle = (scale(si, study.units) for si in ("m", "N", "rad"))
    header = ["raised", "by", length.label("lift")]
    header += [force.label(f"change of the load of {mount}") for mount in plan.mounts]
    header += [angle.label(f"change of the tilt about {axis}") for axis in "xy"]
    header += [angle.label(f"change of the level at {name}") for name, *_ in plan.stations]
    rows = []
    for i, mount in enumerate(plan.mounts):
        row = [mount, plan.one_turn[i], length.of(plan.one_turn_lift[i])]
        row += [*force.of(plan.one_turn_load[i]), *angle.of(plan.one_turn_tilt[i])]
        rows.append([*row, *angle.of(plan.one_turn_level[i])])
    return header, rows


def _transmissibility(study: Any) -> Table:
    t = study.transmissibility
    header = ["frequency (Hz)", "vertical transmissibility to a rigid floor (1)"]
    return header, zip(t.frequency, t.vertical, strict=True)


def _floor_motion(study: Any) -> Table:
    t = study.base_transmissibility
    header = ["frequency (Hz)", *(f"{axis} by {axis} of the floor (1)" for axis in SIX[:3])]
    direct = abs(t.matrix[:, range(3), range(3)])
    return header, ([f, *row] for f, row in zip(t.frequency, direct, strict=True))


def _shock(study: Any, name: str) -> Table:
    contacts = study.contact_shock(name)
    shock = study.shock(name) if contacts is None else contacts
    force, moment, length = (scale(si, study.units) for si in ("N", "N m", "m"))
    header = ["time (s)"] + [force.label(f"floor {axis}") for axis in WRENCH[:3]]
    header += [moment.label(f"floor {axis}") for axis in WRENCH[3:]]
    columns = [shock.time[:, None], force.of(shock.ground_wrench[:, :3])]
    columns.append(moment.of(shock.ground_wrench[:, 3:]))
    for i, mount in enumerate(shock.mounts):
        header += [force.label(f"{mount} {axis}") for axis in WRENCH[:3]]
        columns.append(force.of(shock.mount_force[:, i]))
    if contacts is not None:
        header += [length.label(f"center of mass {axis}") for axis in SIX[:3]]
        columns.append(length.of(shock.displacement[:, :3]))
        return header, np.hstack(columns)
    for point in study.points:
        header += [length.label(f"{point} {axis}") for axis in SIX[:3]]
        columns.append(length.of(shock.at(point).displacement[:, :3]))
    return header, np.hstack(columns)


def _snap_through(study: Any, name: str) -> Table:
    snap = study.snap_through(name)
    force, shake = (scale(si, study.units) for si in ("N", "m/s^2"))
    forces = {
        "work": snap.work_force,
        "drive": snap.drive_force,
        "column": snap.column_force,
        "floor Fz": snap.ground_wrench[:, 2],
        "floor Fz if bolted down": snap.bolted_force,
    }
    shakes = {
        "bed": snap.bed_acceleration,
        "crown": snap.crown_acceleration,
        "slide": snap.slide_acceleration,
    }
    header = ["time (s)", *(force.label(what) for what in forces)]
    header += [shake.label(f"{what} acceleration") for what in shakes]
    columns = [snap.time, *(force.of(values) for values in forces.values())]
    columns += [shake.of(values) for values in shakes.values()]
    return header, np.column_stack(columns)


def _steady(study: Any, name: str) -> Table:
    response = study.harmonic(name)
    frequency = response.frequency[0]
    header = ["frequency (Hz)", "what", "component", "real", "imaginary", "peak", "unit"]
    rows: list[list[Any]] = []

    def add(what: str, components: Sequence[str], values: Any, si: Sequence[str]) -> None:
        for component, value, unit in zip(components, values, si, strict=True):
            read = scale(unit, study.units)
            real, imaginary, peak = (read.of(v) for v in (value.real, value.imag, abs(value)))
            rows.append([frequency, what, component, real, imaginary, peak, read.unit])

    add("floor", WRENCH, response.ground_wrench[0], ["N"] * 3 + ["N m"] * 3)
    for i, mount in enumerate(response._coords()["mount"]):
        add(f"mount {mount}", WRENCH[:3], response.mount_force[0, i], ["N"] * 3)
    for point in study.points:
        add(f"point {point}", SIX, response.at(point)[0], ["m"] * 3 + ["rad"] * 3)
    return header, rows


def _running(study: Any) -> Table:
    header = ["stroke rate (1/min)", "source", "what", "component", "least", "greatest"]
    header += ["peak to peak", "unit"]
    rows: list[list[Any]] = []
    for name in study.running:
        run = study.run(name)

        def add(what: str, component: str, low: Any, high: Any, si: str, run: Any = run) -> None:
            read = scale(si, study.units)
            ends = [read.of(low), read.of(high)]
            rows.append(
                [run.stroke_rate_spm, run.source, what, component, *ends, ends[1] - ends[0]]
                + [read.unit]
            )

        for i, component in enumerate(WRENCH):
            si = "N" if i < 3 else "N m"
            low, high = run.applied_min[i], run.applied_max[i]
            add("inertia of the moving parts", component, low, high, si)
            add("floor", component, run.ground_wrench_min[i], run.ground_wrench_max[i], si)
        for m, mount in enumerate(run._coords()["mount"]):
            for i, component in enumerate(WRENCH[:3]):
                low, high = run.mount_force_min[m, i], run.mount_force_max[m, i]
                add(f"mount {mount}", component, low, high, "N")
        for point in study.points:
            motion = run.at(point)
            for i, component in enumerate(SIX[:3]):
                add(f"point {point}", component, motion.min[i], motion.max[i], "m")
    return header, rows


def _harmonics(study: Any, name: str) -> Table:
    run = study.run(name)
    header = ["harmonic", "frequency (Hz)", "what", "component", "real", "imaginary", "peak"]
    header.append("unit")
    rows: list[list[Any]] = []
    points = {point: run.at(point).displacement for point in study.points}
    for n, order in enumerate(run.harmonic):
        start = [int(order), order * run.stroke_rate_spm / 60]

        def add(what: str, names: Sequence[str], values: Any, si: str, start: Any = start) -> None:
            read = scale(si, study.units)
            for component, value in zip(names, values, strict=True):
                numbers = [read.of(v) for v in (value.real, value.imag, abs(value))]
                rows.append([*start, what, component, *numbers, read.unit])

        for what, wrench in (("inertia", run.applied), ("floor", run.ground_wrench)):
            add(what, WRENCH[:3], wrench[n, :3], "N")
            add(what, WRENCH[3:], wrench[n, 3:], "N m")
        for point, motion in points.items():
            add(f"point {point}", SIX[:3], motion[n, :3], "m")
    return header, rows


def _stroke_rates(study: Any) -> Table:
    found = study.stroke_rate_map
    length, force = scale("m", study.units), scale("N", study.units)
    point = study.stroke_rate_map_point
    header = ["stroke rate (1/min)"]
    header += [length.label(f"peak motion of {point} along {axis}") for axis in "xyz"]
    header += [length.label(f"peak to peak of {point} along {axis}") for axis in "xyz"]
    header += [force.label(f"peak force on the floor along {axis}") for axis in "xyz"]
    header += [force.label(f"peak inertia force along {axis}") for axis in "xyz"]
    columns = [found.stroke_rate_spm[:, None], length.of(found.peak_motion)]
    columns += [length.of(found.peak_to_peak), force.of(found.peak_floor_force)]
    return header, np.hstack([*columns, force.of(found.peak_applied_force)])


def _meetings(study: Any) -> Table:
    length, force = scale("m", study.units), scale("N", study.units)
    header = ["rank", "stroke rate (1/min)", "harmonic", "mode", "frequency (Hz)"]
    header += ["damping ratio (1)", length.label("amplitude of the harmonic")]
    header += [length.label("peak motion, all harmonics")]
    header += [force.label("floor force of the harmonic"), "amplification (1)"]
    header += [force.label("peak floor force, all harmonics"), "carried over (1)"]
    header += ["worst gain (1)", "gain (1)"]
    rows = []
    for rank, m in enumerate(study.stroke_rate_map.meetings, start=1):
        row = [rank, m["stroke_rate_spm"], m["harmonic"], m["mode"], m["frequency"]]
        row += [m["damping_ratio"], length.of(m["amplitude"]), length.of(m["peak_motion"])]
        row += [force.of(m["floor_force"]), m["amplification"], force.of(m["peak_floor_force"])]
        rows.append([*row, m["carry_over"], m["worst_gain"], m["gain"]])
    return header, rows
