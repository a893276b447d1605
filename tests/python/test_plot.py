"""Plots: the axes that were given come back, with units, and nothing global changes."""

import io
import subprocess
import sys

import matplotlib
import numpy as np
import pytest
import underfoot as uf
from example_job import job, study
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from underfoot import plot

UNITS = {"si": ("kN", "mm"), "us": ("lbf", "in")}


def draw(name, ax, units="si"):
    shock = study().shock("blanking")
    pad = uf.RubberPad(60, uf.Disc(0.1), 0.025)
    draws = {
        "force_history": lambda: plot.force_history(stop(), ax, units=units),
        "level_change": lambda: plot.level_change(study().leveling, ax, units),
        "leveling_plan": lambda: plot.leveling_plan(study().leveling, ax, units),
        "load_deflection": lambda: plot.load_deflection(pad, ax, 8e3, units=units),
        "mode_map": lambda: plot.mode_map(study().modes, ax),
        "orbit": lambda: plot.orbit({p: run().at(p) for p in study().points}, ax, units=units),
        "slide_force": lambda: plot.slide_force(run(), ax, units=units),
        "stroke_rate_curve": lambda: plot.stroke_rate_curve(rates(), ax, units=units),
        "stroke_rate_map": lambda: plot.stroke_rate_map(rates(), ax, units=units),
        "transmissibility": lambda: plot.transmissibility(study().transmissibility, ax),
        "shock_history": lambda: plot.shock_history(shock, ax, units=units),
        "point_motion": lambda: plot.point_motion(shock, study().points, ax, units=units),
        "mount_loads": lambda: plot.mount_loads(
            study().envelope, ax, study().figures, job().installation.mounts, units=units
        ),
        "plan": lambda: plot.plan(job().installation, study().envelope, ax, units=units),
        "drive_and_column": lambda: plot.drive_and_column(snap(), ax, units=units),
        "snap_acceleration": lambda: plot.snap_acceleration(snap(), ax, units=units),
        "snap_floor_force": lambda: plot.snap_floor_force(snap(), ax, units=units),
        "work_force": lambda: plot.work_force(snap(), ax, units=units),
        "verdicts": lambda: plot.verdicts(study().checks, ax),
        "what_if_bridged": lambda: plot.what_if_bridged(bridged(), ax),
    }
    assert set(draws) == set(plot.__all__)
    return draws[name]()


def snap():
    return study().snap_through("shearing")


def run():
    return study().run(study().running[0])


def stop():
    rotors = [uf.Rotor("crank", 900), uf.Rotor("flywheel", 400, -5, "driving")]
    slide = uf.SlideDrive(3000, 0.25, 4.5, at=(0.1, 0, 2.5), rod_mass=300)
    return uf.DriveTrain("y", 1, rotors, slide).stop(0.2)


def rates():
    return study().stroke_rate_map


def bridged():
    pipe = uf.Bridge((1.4, 1.0, 0), (0, 0, 4e7), name="pipe")
    return job().installation.what_if_bridged(pipe, np.geomspace(1, 100, 60))


def axes():
    return FigureCanvasAgg(Figure(layout="constrained")).figure.add_subplot()


@pytest.mark.parametrize("name", plot.__all__)
def test_the_given_axes_come_back_and_can_be_saved(name):
    ax = axes()
    assert draw(name, ax) is ax
    file = io.BytesIO()
    ax.figure.savefig(file)
    assert file.getvalue().startswith(b"\x89PNG") and len(file.getvalue()) > 5000


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize(
    ("name", "x", "y"),
    [
        ("force_history", "(s)", "({force})"),
        ("level_change", "({angle})", "({angle})"),
        ("leveling_plan", "({length})", "({length})"),
        ("load_deflection", "({length})", "({force})"),
        ("mode_map", "(Hz)", "(%)"),
        ("transmissibility", "(Hz)", "transmissibility to a rigid floor"),
        ("shock_history", "(s)", "({force})"),
        ("point_motion", "(s)", "({length})"),
        ("mount_loads", "", "({force})"),
        ("orbit", "({length})", "({length})"),
        ("plan", "({length})", "({length})"),
        ("slide_force", "(degrees)", "({force})"),
        ("stroke_rate_curve", "strokes per minute", "({length})"),
        ("stroke_rate_map", "strokes per minute", "(Hz)"),
        ("verdicts", "(1)", ""),
        ("what_if_bridged", "(Hz)", "force on the floor / force at the center of mass"),
    ],
)
def test_labels_carry_their_units(name, x, y, units):
    force, length = UNITS[units]
    ax = draw(name, axes(), units)
    angle = {"si": "mm/m", "us": "in/ft"}[units]
    assert ax.get_xlabel().endswith(x.format(force=force, length=length, angle=angle))
    assert ax.get_ylabel().endswith(y.format(force=force, length=length, angle=angle))
    assert ax.get_title()


@pytest.mark.parametrize("name", plot.__all__)
def test_nothing_global_changes_when_axes_are_given(name):
    from matplotlib import pyplot

    settings, figures = dict(matplotlib.rcParams), pyplot.get_fignums()
    draw(name, axes())
    assert dict(matplotlib.rcParams) == settings
    assert pyplot.get_fignums() == figures


def test_without_axes_a_pyplot_figure_is_made_as_notebooks_expect(monkeypatch):
    from matplotlib import pyplot

    pyplot.switch_backend("agg")
    before = pyplot.get_fignums()
    ax = plot.mode_map(study().modes)
    assert len(pyplot.get_fignums()) == len(before) + 1
    pyplot.close(ax.figure)


def test_a_report_neither_imports_pyplot_nor_changes_settings():
    code = """
import sys, tempfile, matplotlib, underfoot as uf
from underfoot import _core
before = matplotlib.rcParams.copy()
uf.Job.from_text(_core.job_template()).report(tempfile.mkdtemp() + "/r")
assert matplotlib.rcParams.copy() == before
assert "matplotlib.pyplot" not in sys.modules
"""
    subprocess.run([sys.executable, "-W", "error", "-c", code], check=True, timeout=120)


def test_plots_are_imported_without_the_heavy_libraries():
    code = """
import sys
import underfoot.plot, underfoot.scale, underfoot.report, underfoot.cli
heavy = {"matplotlib", "xarray", "pandas", "pint"} & set(sys.modules)
assert not heavy, heavy
"""
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def lines(ax):
    return {line.get_label(): line for line in ax.get_lines()}


def test_transmissibility_is_drawn_as_computed_with_the_line_at_one():
    t = study().transmissibility
    ax = plot.transmissibility(t, axes(), limit=(30.0, 0.3))
    assert ax.get_xscale() == ax.get_yscale() == "log"
    curve = lines(ax)["vertical, $|T_{zz}|$"]
    np.testing.assert_array_equal(curve.get_xdata(), t.frequency)
    np.testing.assert_array_equal(curve.get_ydata(), t.vertical)
    assert any(set(line.get_ydata()) == {1.0} for line in ax.get_lines())
    assert lines(ax)["limit 0.3"].get_xydata().tolist() == [[30.0, 0.3]]


def test_peaks_are_marked_where_they_were_solved_for():
    shock = study().shock("blanking")
    ax = plot.shock_history(shock, axes())
    floor = shock.peak("ground_wrench", "z")
    mount = shock.peak("mount_force")
    rings = [line.get_xydata()[0] for line in ax.get_lines() if line.get_marker() == "o"]
    wanted = [[p.time, p.signed_value / 1e3] for p in (floor, mount)]
    np.testing.assert_allclose(rings, wanted, rtol=1e-12)
    assert any(f"{floor.signed_value / 1e3:.1f} kN" == text.get_text() for text in ax.texts)


def test_the_time_axis_ends_where_the_motion_has_died():
    shock = study().shock("blanking")
    ax = plot.shock_history(shock, axes())
    end = ax.get_xlim()[1]
    force = np.abs(shock.ground_wrench[:, 2])
    assert end < 0.7 * shock.time[-1]
    assert force[shock.time > end].max() <= plot.DIED * force.max()
    assert force[shock.time > 0.9 * end].max() > plot.DIED * force.max()


def test_the_axis_of_the_greatest_floor_force_is_shown_unless_another_is_asked():
    shock = study().shock("valve")
    assert "along x" in plot.shock_history(shock, axes()).get_title()
    assert "along y" in plot.shock_history(shock, axes(), axis="y").get_title()
    with pytest.raises(uf.UnknownNameError, match="x, y"):
        plot.shock_history(shock, axes(), axis="up")


def test_a_motion_without_points_is_refused():
    with pytest.raises(uf.InvalidError, match="points"):
        plot.point_motion(study().shock("valve"), [], axes())


def test_energy_bars_of_each_mode_sum_to_a_hundred_percent():
    ax = plot.mode_map(study().modes, axes())
    heights = np.array([[bar.get_height() for bar in group] for group in ax.containers])
    np.testing.assert_allclose(heights, 100 * study().modes.energy.T, atol=1e-12)
    np.testing.assert_allclose(heights.sum(axis=0), 100, rtol=1e-12)


def test_loads_of_all_cases_bands_and_load_ranges_are_drawn():
    envelope = study().envelope
    ax = draw("mount_loads", axes())
    labels = {text.get_text() for text in ax.get_legend().get_texts()}
    assert labels >= {*envelope.cases, "with bands of the inputs", "load range of the mount"}
    for c, case in enumerate(envelope.cases):
        np.testing.assert_allclose(lines(ax)[case].get_ydata(), envelope.load[c] / 1e3)
    assert ax.get_ylim()[0] == 0.0


def test_unknown_units_are_refused():
    with pytest.raises(uf.UnknownNameError, match='"si" or "us"'):
        plot.mount_loads(study().envelope, axes(), units="imperial")


def test_many_mounts_and_cases_stay_legible():
    inst = uf.Installation(
        uf.RigidBody(mass=1e4, center=(0, 0, 1), inertia=(9e3, 9e3, 9e3)),
        [
            uf.Mount(
                name=f"mount number {i}",
                position=(i % 5 - 2.0, i // 5 - 0.5, 0),
                stiffness=(1e6, 1e6, 3e6),
                loss_factor=0.1,
            )
            for i in range(10)
        ],
    )
    ax = plot.mount_loads(inst.load_cases(), axes())
    ax.figure.draw_without_rendering()
    boxes = [label.get_window_extent() for label in ax.get_xticklabels()]
    assert len(boxes) == 10
    assert all(label.get_rotation() > 0 for label in ax.get_xticklabels())


def test_verdicts_show_the_tightest_checks_first_and_no_more_than_asked():
    ax = plot.verdicts(study().checks, axes(), most=5)
    labels = [label.get_text() for label in ax.get_yticklabels()]
    far = sorted(
        (
            ((c.band or (c.demand, c.demand))[1] / c.capacity, c.question)
            for c in study().checks
            if c.sense == "at most"
        ),
        key=lambda row: -row[0],
    )
    assert [label.split("\n")[0] for label in labels] == [question for _, question in far[:5]]
    top, bottom = ax.get_ylim()[::-1]
    assert top < 0 and bottom > 4
    assert ax.get_xlim()[1] > max(1.0, far[0][0])


def test_a_load_deflection_curve_passes_through_its_working_point():
    for part in (uf.RubberPad(60, uf.Disc(0.1), 0.025), uf.CoilSpring(0.02, 0.1, 6, 0.4)):
        ax = plot.load_deflection(part, axes(), 8e3)
        drawn = lines(ax)
        u, f = (np.asarray(x) for x in drawn["static load"].get_data())
        mark = next(line for line in ax.get_lines() if len(np.atleast_1d(line.get_xdata())) == 1)
        at, load = float(np.ravel(mark.get_xdata())[0]), float(np.ravel(mark.get_ydata())[0])
        assert np.interp(at, u, f) == pytest.approx(load, rel=1e-3) and load == 8.0
        assert any("buckle" in name or "strain" in name for name in drawn)
