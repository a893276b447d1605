"""A press when the material breaks: a second method, units, refusals, pictures."""

import numpy as np
import pytest
import samples
import underfoot as uf
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

F0, RISE, RELEASE = 1.2e6, 0.02, 0.002


def machine(seed, clearance):
    draw = np.random.default_rng(seed)
    bed, crown, slide = (draw.uniform(*ends) for ends in ((15e3, 25e3), (5e3, 12e3), (2e3, 6e3)))
    kf, kd, km = (draw.uniform(*ends) for ends in ((1.5e9, 4e9), (1e9, 3e9), (4e7, 2e8)))
    cf, cd, cm = 0.04 * np.sqrt(kf * crown), 0.04 * np.sqrt(kd * slide), 0.2 * np.sqrt(km * bed)
    lift = slide * 9.80665 + draw.uniform(5e3, 6e4)
    solid = uf.RigidBody(bed, (0, 0, 0.9), (1.0 * bed, 1.1 * bed, 0.7 * bed))
    body = solid.with_parts([uf.PointMass(crown, (0, 0, 3)), uf.PointMass(slide, (0, 0, 2))])
    press = uf.Press(
        body,
        slide_mass=slide,
        crown_mass=crown,
        slide_position=(0, 0, 2),
        crown_position=(0, 0, 3),
        frame_stiffness=kf,
        drive_stiffness=kd,
        frame_damping=cf,
        drive_damping=cd,
        clearance=clearance,
        counterbalance=lift,
    )
    feet = [
        uf.Mount((x, y, 0.1), (km / 10, km / 10, km / 4), damping=(0, 0, cm / 4))
        for x in (-1, 1)
        for y in (-0.8, 0.8)
    ]
    return uf.Installation(press, feet), (bed, crown, slide, km, cm, kf, cf, kd, cd, lift)


def by_events(numbers, gap, end):
    """The same chain by DOP853 with events, in absolute coordinates from rest."""
    bed, crown, slide, km, cm, kf, cf, kd, cd, lift = numbers
    d0 = lift - slide * 9.80665
    x0 = d0 / kd

    def drive(x, v, side):
        return {1: kd * x + cd * v, 0: 0.0, -1: kd * (x + gap) + cd * v}[side]

    def rate(t, y, side):
        zb, zc, zs, vb, vc, vs = y
        force = np.interp(t, [0, RISE, RISE + RELEASE], [0, F0, 0])
        f = kf * (zc - zb) + cf * (vc - vb)
        d = drive(x0 + zs - zc, vs - vc, side) - d0
        m = km * zb + cm * vb
        return [vb, vc, vs, (-force + f - m) / bed, (d - f) / crown, (force - d) / slide]

    t, y, side, peaks = 0.0, np.zeros(6), 1, []
    corners = [RISE, RISE + RELEASE, end]
    changes = 0
    while t < end - 1e-12:
        stop = next(c for c in corners if c > t + 1e-12)

        def push(_t, y, _side):
            return x0 + y[2] - y[1]

        def pull(_t, y, _side):
            return x0 + y[2] - y[1] + gap

        push.terminal = pull.terminal = True
        push.direction = {1: -1, 0: 1, -1: 1}[side]
        pull.direction = {1: -1, 0: -1, -1: 1}[side]
        events = {1: [push], 0: [push, pull], -1: [pull]}[side]
        options = {"method": "DOP853", "rtol": 1e-11, "atol": 1e-14, "max_step": 2e-4}
        found = solve_ivp(
            rate, (t, stop), y, args=(side,), events=events, dense_output=True, **options
        )
        grid = np.linspace(t, found.t[-1], 400)
        _, zc, zs, _, vc, vs = found.sol(grid)
        peaks.append(drive(x0 + zs - zc, vs - vc, side) * np.ones_like(grid))
        t, y = found.t[-1], found.y[:, -1]
        if found.status == 1:
            changes += 1
            hit = 0 if len(found.t_events[0]) else 1
            side = (1 if hit == 0 else -1) if side == 0 else 0
            step = 1e-10
            y = y + step * np.array(rate(t, y, side))
            t += step
    all_ = np.concatenate(peaks)
    return all_.min(), all_.max(), changes


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_clearance_agrees_with_an_integrator_that_locates_events(seed):
    gap = 1.5e-4
    inst, numbers = machine(seed, gap)
    force = uf.BreakThrough(F0, RISE, RELEASE)
    ours = inst.snap_through(force, duration=0.06, dt=1e-3, rule="geometric")
    low, high, changes = by_events(numbers, gap, 0.06)
    assert len(ours.events) == changes
    # The other side is sampled.
    np.testing.assert_allclose(ours.least("drive_force").signed_value, low, rtol=2e-4)
    np.testing.assert_allclose(ours.greatest("drive_force").signed_value, high, rtol=2e-4)


def test_us_quantities_are_read_and_a_rigid_machine_is_refused():
    force = uf.BreakThrough("180 tonf", "20 ms", "1 ms", residual="10 %", residual_time="15 ms")
    assert np.isclose(force.force, 180 * 8896.443230521)
    inst = uf.Installation(samples.press(), samples.mounts())
    found = inst.snap_through(force, duration="0.1 s", dt="1 ms")
    assert found.reverse_load > 0 and found.reverse_of_rating < found.reverse_fraction
    with pytest.raises(uf.InvalidError, match="internal"):
        inst.rigid().snap_through(force)
    with pytest.raises(uf.InvalidError, match="rated force"):
        inst.snap_through(uf.BreakThrough("3 MN", "20 ms", "1 ms"))
    over = inst.snap_through(uf.BreakThrough("3 MN", "20 ms", "1 ms"), overload=True, duration=0.1)
    assert any("above the rated force" in w for w in over.warnings)


def test_mounts_lift_off_under_a_pulse_and_the_floor_feels_no_pull():
    inst = samples.installation()
    pulse = uf.HalfSine(3e6, 0.01)
    bonded = inst.shock(pulse, "z", duration=0.5, dt=1e-3)
    lifting = inst.shock_with_contacts(pulse, "z", duration=0.5, dt=1e-3)
    static = -inst.statics().load[:, 2]
    assert bonded.mount_force[:, :, 2].max() > -static.min()
    # Static and dynamic together: the ground is pushed down, never pulled up.
    assert (lifting.mount_force[:, :, 2] + static).max() < 1e-6
    assert len(lifting.events) >= 8
    same = inst.shock_with_contacts(pulse, "z", duration=0.5, dt=1e-3, lift_off=False)
    np.testing.assert_allclose(
        same.peak("ground_wrench", "z").value, bonded.peak("ground_wrench", "z").value, rtol=1e-9
    )


def test_modes_and_response_of_a_press_have_its_freedoms():
    inst = uf.Installation(samples.press(), samples.mounts())
    assert inst.modes().frequency.shape == (8,)
    assert inst.modes().energy.min() >= 0
    assert inst.press == samples.press() and inst.rigid().press is None
    assert inst.response([5.0], uf.Wrench(force=(0, 0, 1))).displacement.shape == (1, 6)
    shock = inst.shock(uf.HalfSine(1e5, 8e-3), "z", duration=0.1, dt=1e-3)
    assert shock.displacement.shape[1] == 6
    assert inst.statics().displacement.shape == (6,)
    loads = inst.rigid().statics().load
    np.testing.assert_allclose(inst.statics().load, loads, rtol=1e-9, atol=1e-6)


def test_pictures_of_snap_through_draw_on_the_axes_they_are_given():
    from matplotlib.figure import Figure

    inst = uf.Installation(samples.press(), samples.mounts())
    found = inst.snap_through(uf.BreakThrough(2e6, 0.02, 0.001), duration=0.1)
    for draw in (
        uf.plot.work_force,
        uf.plot.drive_and_column,
        uf.plot.snap_acceleration,
        uf.plot.snap_floor_force,
    ):
        for units, force in (("si", "N"), ("us", "lbf")):
            ax = Figure().add_subplot()
            assert draw(found, ax, units) is ax
            assert ax.get_title() and "ms" in ax.get_xlabel()
            assert force in ax.get_ylabel() or "acceleration" in ax.get_ylabel()


def test_work_over_the_way_of_a_slide_takes_the_time_of_the_slide():
    crank = uf.SliderCrank("100 mm", "500 mm")
    drive = uf.SlideDrive("1 t", motion=crank)
    curve = uf.ForceCurve([0, 0.004, 0.01], [0, 3e5, 0])
    timed = curve.under(drive, 30, "40 mm")
    # By scipy: the angles (before bottom dead center) where the slide is so high.
    r, rod, omega = 0.1, 0.5, np.pi

    def height(a):
        return r + rod - r * np.cos(a) - np.sqrt(rod**2 - (r * np.sin(a)) ** 2)

    angles = [
        brentq(lambda a, h=h: height(a) - h, 0, np.pi, xtol=1e-15) for h in (0.04, 0.036, 0.03)
    ]
    expected = (angles[0] - np.array(angles)) / omega
    np.testing.assert_allclose(timed.knots[:, 0], expected, atol=1e-12)
    np.testing.assert_array_equal(timed.knots[:, 1], [0, 3e5, 0])
    assert curve.under(drive, "30 spm", 0.04) == timed
    with pytest.raises(uf.InvalidError, match="must be at least the way of the force"):
        curve.under(drive, 30, "5 mm")
    blank = uf.Blanking("1 m", "3 mm", "300 MPa", 0.4)
    broken = uf.BreakThrough.of_blank(blank, drive, 30, "40 mm")
    slope = (height(angles[0] + 1e-6) - height(angles[0] - 1e-6)) / 2e-6
    assert broken.release == pytest.approx(0.1 * 0.6 * 3e-3 / (slope * omega), rel=1e-8)
    assert broken.stroke_rate_spm == 30 and blank.penetration == 0.4 and blank.punches == []


def test_cushions_and_the_break_are_told_apart():
    inst, _ = machine(5, 0.0)
    force = uf.BreakThrough(4e5, 0.02, 0.002)
    cushion = uf.Cushion(5e4, 0.005, 0.15)
    both = inst.snap_through(force, cushions=[cushion]).floor_force_by_source
    alone = inst.snap_through(force)
    assert list(both) == ["contact", "break-through"]
    assert list(alone.floor_force_by_source) == ["break-through"]
    assert both["break-through"]["down"] == pytest.approx(
        -alone.least("ground_wrench", "z").signed_value, rel=1e-9
    )
    assert both["contact"]["down"] > 0 and alone.time_model_error < 0.2


def test_an_event_that_begins_at_rest_may_lift_the_feet_off():
    inst = samples.installation()
    ramp = uf.Record(4e5 * np.sin(np.pi * np.arange(21) / 20), 1e-3)
    event = ramp.force("z")
    bonded, loose = inst.shock(event), inst.shock_with_contacts(event, lift_off=False)
    assert loose.peak("velocity", "z").value == pytest.approx(
        bonded.peak("velocity", "z").value, rel=1e-9
    )
    assert loose.velocity.shape == loose.displacement.shape
    lifting = inst.shock_with_contacts(event)
    assert lifting.peak("ground_wrench", "z").value > 0
    with pytest.raises(uf.InvalidError, match="must be left out: it holds where"):
        inst.shock_with_contacts(event, "z")
    spinning = uf.RotatingUnbalance("y", [uf.UnbalancePlane(0.1, (0, 0, 1))]).steady(20)
    with pytest.raises(uf.InvalidError, match="must begin at rest"):
        inst.shock_with_contacts(spinning)
