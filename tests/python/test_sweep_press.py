"""Sweeps of a press: crown, slide, frame, drive and the work force as axes, reverse load and what
mounts and floor feel as outputs, each design against `Installation.snap_through`."""

import numpy as np
import pytest
import underfoot as uf

FEET = [(x, y, 0) for x in (-1.2, 1.2) for y in (-0.9, 0.9)]
FORCE = uf.BreakThrough("150 tf", "20 ms", "2 ms", residual=0.1, residual_time="15 ms")
OUTPUTS = ["reverse_load", "column_reverse_load", "break_floor_force", "break_mount_force"]


def press(frame=2.4e9, slide=2500.0, mount=15e6, clearance=0.0, **more):
    body = uf.RigidBody(26.5e3, (0, 0, 1.5), (52e3, 48e3, 18e3))
    inner = uf.Press(
        body,
        slide_mass=slide,
        slide_position=(0.1, 0, 2.1),
        crown_mass="6 t",
        crown_position=(0, 0, 3.2),
        frame_stiffness=frame,
        frame_damping=6e5,
        drive_stiffness="1.6 MN/mm",
        drive_loss_factor=0.05,
        clearance=clearance,
        counterbalance="40 kN",
        rated_force="250 tf",
        **more,
    )
    feet = [uf.Mount(p, (6e6, 6e6, mount), loss_factor=0.1) for p in FEET]
    return uf.Installation(inner, feet)


def one_by_one(inst, force=FORCE):
    """The same numbers by the analysis of one press."""
    snap = inst.snap_through(force)
    mounts = [snap.peak("mount_force", f"{m}.z").value for m in snap.mounts]
    return (
        snap.reverse_load,
        snap.column_reverse_load,
        snap.peak("ground_wrench", "z").value,
        mounts,
    )


@pytest.mark.parametrize("clearance", [0.0, 1e-4])
def test_designs_of_a_press_are_the_analysis_one_by_one(clearance):
    axes = {
        "press.frame_stiffness": [1.8e9, 2.4e9, 3.1e9],
        "press.slide_mass": [2200.0, 2900.0],
        "mounts.stiffness[z]": [15e6, 40e6],
    }
    base = press(clearance=clearance)
    found = uf.sweep(base, axes, OUTPUTS, shocks={"blanking": FORCE}, threads=2)
    assert found.break_mount_force.dims == (*axes, "break_through", "mount")
    assert (found.failure == "").all()
    for i, frame in enumerate(axes["press.frame_stiffness"]):
        for j, slide in enumerate(axes["press.slide_mass"]):
            for k, mount in enumerate(axes["mounts.stiffness[z]"]):
                at = found.isel(dict(zip(axes, (i, j, k), strict=True))).sel(
                    break_through="blanking"
                )
                want = one_by_one(press(frame, slide, mount, clearance))
                for name, value in zip(OUTPUTS, want, strict=True):
                    np.testing.assert_allclose(at[name], value, rtol=1e-9, err_msg=name)


def test_the_work_force_has_axes_of_its_own():
    base = press()
    axes = {"break_throughs[blanking].release": ["1 ms", "3 ms"]}
    found = uf.sweep(base, axes, "reverse_load", shocks={"blanking": FORCE})
    for i, release in enumerate(("1 ms", "3 ms")):
        force = uf.BreakThrough("150 tf", "20 ms", release, residual=0.1, residual_time="15 ms")
        want = base.snap_through(force).reverse_load
        np.testing.assert_allclose(found.reverse_load.values[i, 0], want, rtol=1e-9)
    listed = {a.path: a for a in uf.axes(base, {"blanking": FORCE})}
    assert listed["press.frame_stiffness"].value == 2.4e9
    assert listed["press.drive_loss_factor"].value == 0.05
    assert listed["break_throughs[blanking].force"].unit == "N"
    assert "press.counterbalance" in listed and "press.rated_force" not in listed


def test_a_job_sweeps_its_break_through():
    job = uf.Job.load("tests/jobs/trade/reverse_load.toml")
    path = next(i.path for i in job.inputs if i.path.endswith("frame_stiffness"))
    value = next(i.value for i in job.inputs if i.path == path)
    found = uf.sweep(job, {path: [0.9 * value, value]}, ["reverse_load", "break_floor_force"])
    study = job.study(bands=False)
    studied = [study.snap_through(name).reverse_load for name in study.snap_throughs]
    np.testing.assert_allclose(found.reverse_load.values[1], studied, rtol=1e-9)
    assert (found.reverse_load.values[0] != found.reverse_load.values[1]).all()


def test_designs_that_cannot_be_are_marked():
    axes = {"press.slide_mass": [2500.0, 25e3], "break_throughs[blanking].force": [1e6, 3e6]}
    found = uf.sweep(press(), axes, "reverse_load", shocks={"blanking": FORCE})
    failure = found.failure.values
    assert failure[0, 0] == "" and np.isfinite(found.reverse_load.values[0, 0, 0])
    assert "rated force" in failure[0, 1] and "whole machine" in failure[1, 0]
    assert np.isnan(found.reverse_load.values[1]).all()


def test_what_lacks_a_press_or_a_force_is_told():
    body = uf.RigidBody(26.5e3, (0, 0, 1.5), (52e3, 48e3, 18e3))
    rigid = uf.Installation(body, [uf.Mount(p, (6e6, 6e6, 15e6)) for p in FEET])
    with pytest.raises(uf.InvalidError, match="give the installation a Press"):
        uf.sweep(rigid, {"mass": [26e3]}, "reverse_load", shocks={"blanking": FORCE})
    with pytest.raises(uf.InvalidError, match=r"break_through|BreakThrough"):
        uf.sweep(press(), {"mass": [26e3]}, "reverse_load")
    with pytest.raises(uf.InvalidError, match="has its point itself"):
        uf.sweep(press(), {"mass": [26e3]}, "reverse_load", shocks={"a": (FORCE, "z", (0, 0, 1))})
    with pytest.raises(uf.UnknownNameError, match="frame_stiffness"):
        uf.sweep(press(), {"press.frame_stifness": [1e9]}, "reverse_load", shocks={"a": FORCE})
