"""Slide drives and steady running from Python: arguments, errors, and NumPy as a second method."""

import numpy as np
import pytest
import underfoot as uf
from samples import installation, slide

TURN = np.linspace(0, 2 * np.pi, 241)


def drive(**given):
    return uf.SlideDrive(**{"mass": 1, "stroke": 0.2, "rod_ratio": 4, **given})


def counter(**given):
    return drive(**{"counter_slide_mass": 1, **given}) and None


def link(**given):
    known = {"crank_radius": 0.2, "coupler_length": 0.75, "rocker_length": 0.6}
    known |= {"pivot": (0.7, 0.15), "rod_length": 0.95}
    return uf.LinkDrive(**{**known, **given})


def profile(angle=TURN, height=None, time=None):
    height = 0.1 * (1 + np.cos(TURN)) if height is None else height
    if time is not None:
        return uf.MotionProfile.from_time(time, height)
    return uf.MotionProfile.from_angle(angle, height)


def scaled(value, shape):
    """A list in the unit of `value`."""
    if isinstance(value, str):
        number, _, unit = value.partition(" ")
        return [f"{float(number) * s} {unit}" for s in shape]
    return np.asarray(shape) * value


CALLS = [
    ("SlideDrive.mass", "mass", lambda v: drive(mass=v).mass),
    ("SlideDrive.stroke", "length", lambda v: drive(stroke=v).stroke),
    ("SlideDrive.offset", "length", lambda v: drive(stroke=0.5, offset=v) and None),
    ("SlideDrive.upper_die_mass", "mass", lambda v: drive(upper_die_mass=v).upper_die_mass),
    ("SlideDrive.counterbalance", "force", lambda v: drive(counterbalance=v).counterbalance),
    ("SlideDrive.at", "length", lambda v: drive(at=[v, v, v]).at[0]),
    ("SlideDrive.rod_mass", "mass", lambda v: drive(rod_mass=v).rod_mass),
    ("SlideDrive.rod_center", "ratio", lambda v: drive(rod_center=v).rod_center),
    ("SlideDrive.rod_inertia", "inertia", lambda v: drive(rod_inertia=v).rod_inertia),
    (
        "SlideDrive.crank_unbalance",
        "mass_moment",
        lambda v: drive(crank_unbalance=v).crank_unbalance,
    ),
    (
        "SlideDrive.rotating_balance",
        "mass_moment",
        lambda v: drive(rotating_balance=v).rotating_balance,
    ),
    ("SlideDrive.counter_slide_mass", "mass", lambda v: counter(counter_slide_mass=v)),
    ("SlideDrive.counter_slide_stroke", "length", lambda v: counter(counter_slide_stroke=v)),
    ("position.angle", "angle", lambda v: drive().position([v]) and None),
    ("angle_above_bottom.height", "length", lambda v: drive().angle_above_bottom(v) and None),
    ("wrench.angle", "angle", lambda v: drive().wrench(60, v) and None),
    (
        "drive_force.gravity",
        "acceleration",
        lambda v: -drive().drive_force(1e-9, 0, v)[0],
    ),
    (
        "steady.stroke_rate_spm",
        "frequency",
        lambda v: installation().steady(slide(), v).stroke_rate_spm / 60,
    ),
    (
        "map.stroke_rates_spm",
        "frequency",
        lambda v: installation().stroke_rate_map(slide(), [v]).stroke_rate_spm[0] / 60,
    ),
    ("SliderCrank.crank_radius", "length", lambda v: uf.SliderCrank(v, 1).crank_radius),
    ("SliderCrank.rod_length", "length", lambda v: uf.SliderCrank(0.01, v).rod_length),
    ("SliderCrank.offset", "length", lambda v: uf.SliderCrank(0.01, 1, v).offset),
    ("LinkDrive.crank_radius", "length", lambda v: link(crank_radius=v).crank_radius),
    ("LinkDrive.rod_length", "length", lambda v: (link(rod_length=big(v)), None)[1]),
    ("LinkDrive.offset", "length", lambda v: link(offset=v) and None),
    ("LinkDrive.crank_pin_mass", "mass", lambda v: link(crank_pin_mass=v) and None),
    ("LinkDrive.rocker_pin_mass", "mass", lambda v: link(rocker_pin_mass=v) and None),
    ("MotionProfile.height", "length", lambda v: profile(height=rows(v)).height[0] / 2),
]


def big(value):
    """Ten times: a rod of two inches would not reach."""
    if isinstance(value, str):
        number, _, unit = value.partition(" ")
        return f"{20 * float(number)} {unit}"
    return 20 * value


def rows(value):
    return scaled(value, 1 + np.cos(TURN))


def test_numbers_are_strokes_per_minute_and_text_has_its_unit():
    inst = installation()
    plain = inst.steady(slide(), 40)
    assert plain == inst.steady(slide(), "40 spm")
    assert plain.source == "slide inertia"
    both = inst.stroke_rate_map(slide(), ["30 spm", "60 spm"])
    assert both == inst.stroke_rate_map(slide(), [30, 60])


def test_coefficients_are_those_of_the_published_series():
    found = drive(rod_ratio=5).acceleration_coefficients(4)
    np.testing.assert_allclose(found, [0, 1, 0.2020383986, 0, -0.0020618042], atol=5e-11)
    offset = drive(offset=0.02)
    assert np.abs(offset.acceleration_sine_coefficients(3)).max() > 1e-3


def test_kinematics_agree_with_differences_and_wrenches_with_kinematics():
    moved = drive(mass=700, upper_die_mass=50, offset=0.01, at=(0.2, 0, 3))
    angle = np.linspace(0, 2 * np.pi, 2001)
    omega = 40 * 2 * np.pi / 60
    z = moved.position(angle)
    v, a = moved.velocity(40, angle), moved.acceleration(40, angle)
    np.testing.assert_allclose(np.gradient(z, angle)[1:-1] * omega, v[1:-1], atol=1e-5)
    np.testing.assert_allclose(np.gradient(v, angle)[1:-1] * omega, a[1:-1], atol=1e-4)
    history = moved.wrench_history(40, angle)
    np.testing.assert_allclose(history[:, 2], -750 * a, rtol=1e-12)
    one = moved.wrench(40, 1.0)
    assert one.force[2] == pytest.approx(-750 * moved.acceleration(40, 1.0)[0])
    np.testing.assert_array_equal(one.at, (0.2, 0, 3))
    force = moved.drive_force(40, angle)
    np.testing.assert_allclose(force, -750 * (9.80665 + a), rtol=1e-12)
    assert moved.position(moved.angle_above_bottom("50 mm"))[0] == pytest.approx(0.05)


def test_harmonics_are_the_fourier_transform_of_the_wrench():
    count = 512
    moved = drive(mass=700, rod_mass=90, crank_unbalance=3, offset=0.01, at=(0.2, 0.1, 3))
    history = moved.wrench_history(90, 2 * np.pi * np.arange(count) / count)
    expected = 2 / count * np.fft.rfft(history, axis=0)[:9]
    expected[0] = 0  # the mean of anything periodic is zero
    np.testing.assert_allclose(moved.harmonics(90, 8), expected, atol=1e-9 * abs(expected).max())


def test_steady_running_agrees_with_numpy():
    inst, moved, rate = installation(), slide(), 55.0
    found = inst.steady(moved, rate, harmonics=6)
    wrench = moved.harmonics(rate, 6)
    for n in range(1, 7):
        omega = n * rate * 2 * np.pi / 60
        force = uf.Wrench(force=wrench[n, :3].real, moment=wrench[n, 3:].real, at=moved.at)
        other = uf.Wrench(force=wrench[n, :3].imag, moment=wrench[n, 3:].imag, at=moved.at)
        frequency = [omega / (2 * np.pi)]
        expected = inst.response(frequency, force).displacement[0]
        expected = expected + 1j * inst.response(frequency, other).displacement[0]
        scale = abs(found.displacement).max()
        np.testing.assert_allclose(found.displacement[n - 1], expected, atol=1e-12 * scale)
    motion = found.at("bolster")
    dense = motion.orbit(20000)
    np.testing.assert_allclose(motion.max[:3], dense[:, :3].max(axis=0), atol=1e-9 * dense.max())
    np.testing.assert_allclose(motion.peak_to_peak, motion.max - motion.min)
    np.testing.assert_array_equal(dense[0], dense[-1])
    floor = found.history("ground_wrench", 5000)
    np.testing.assert_allclose(floor.max(axis=0)[2], found.ground_wrench_max[2], rtol=1e-5)
    assert found.horizontal_peak >= np.abs(floor[:, 0]).max() * (1 - 1e-12)


def test_the_map_holds_the_steady_states_and_ranks_meetings():
    inst, moved = installation(), slide()
    rates = np.linspace(20, 300, 57)
    found = inst.stroke_rate_map(moved, rates, point="bolster")
    run = inst.steady(moved, rates[9])
    np.testing.assert_allclose(found.peak_motion[9], run.at("bolster").peak[:3], rtol=1e-10)
    order = found.meeting_amplitude
    assert (np.diff(order) <= 0).all() and len(order) == len(found.meetings)
    q = np.exp(
        -2 * np.pi * found.damping_ratio * found.frequency * 60 / found.stroke_rate_spm[:, None]
    )
    np.testing.assert_allclose(found.carry_over, q, rtol=1e-12)
    assert (found.gain <= 1 / (1 - q) * (1 + 1e-12)).all()


REFUSED = [
    (lambda: uf.SlideDrive(1), "stroke = not given"),
    (lambda: drive(rod_ratio=1), "rod_ratio = 1: must be greater than 1"),
    (lambda: drive(offset=0.5), "offset = 0.5 m: .* locks"),
    (lambda: drive(motion=uf.SliderCrank(0.1, 0.4)), "stroke = 0.2: must be left out"),
    (lambda: uf.SlideDrive(1, motion="crank"), "motion = 'crank': must be a SliderCrank"),
    (lambda: uf.SliderCrank(0.1, 0.1), "rod_length = 0.1 m: must be longer than the crank"),
    (lambda: uf.SliderCrank(0.1, 0.4, 0.31), "offset = 0.31 m"),
    (lambda: link(coupler_length=0.1), "coupler_length"),
    (lambda: link(rod_length=0.01), "rod_length = 0.01 m: .* degrees of crank angle"),
    (lambda: profile(height=np.abs(np.cos(TURN / 2))), "crank angle 180.0 degrees .* speed jumps"),
    (lambda: profile(height=TURN), "must be the height of the first row"),
    (lambda: profile(np.sort(TURN)[::-1]), r"angle\[1\]"),
    (lambda: profile(TURN[:5], np.ones(5)), "at least 12 rows"),
    (lambda: profile(height=np.ones(241)), "must vary"),
    (lambda: profile(time=[0] * 241), "must be greater than zero"),
    (lambda: uf.SlideDrive(1, motion=profile(), rod_mass=3), "rod_mass = 3 kg: must be left out"),
    (lambda: drive().angle_above_bottom(0.3), "height = 0.3 m"),
    (lambda: installation().steady(slide(), 0), "stroke_rate_spm = 0 strokes per minute"),
    (lambda: installation().steady(slide(), 30, harmonics=0), "harmonics = 0: must be between"),
    (lambda: installation().stroke_rate_map(slide(), [30, 20]), r"stroke_rates_spm\[1\]"),
    (lambda: installation().stroke_rate_map(slide(), []), "must not be empty"),
]


@pytest.mark.parametrize(("call", "words"), REFUSED, ids=[words for _, words in REFUSED])
def test_what_cannot_be_is_refused_with_a_remedy(call, words):
    with pytest.raises(uf.InvalidError, match=words):
        call()


def test_a_corner_in_a_table_is_told_and_a_dwell_is_not():
    angle = np.linspace(0, 2 * np.pi, 181)
    swing = np.clip((angle / (2 * np.pi) - 0.2) / 0.8, 0, 1)
    smooth = swing - np.sin(2 * np.pi * swing) / (2 * np.pi)
    dwell = 0.1 * (1 + np.cos(2 * np.pi * smooth))
    held = uf.SlideDrive(1000, motion=profile(angle, dwell))
    assert held.stroke == pytest.approx(0.2, rel=1e-6)
    assert np.abs(held.velocity(30, [0.3, 0.6])).max() < 1e-6
    run = installation().steady(held, 30, harmonics=2)
    assert any("harmonics above 2" in w for w in run.warnings)


def test_a_drive_gives_back_what_it_was_made_from():
    given = link(coupler_point=(0.45, -0.22), offset=0.12, crank_pin_mass=180, rocker_pin_mass=240)
    on_link = uf.SlideDrive(900, motion=given)
    assert on_link.motion == given and on_link.counter_slide is None
    np.testing.assert_array_equal(given.coupler_point, (0.45, -0.22))
    assert (given.branch, given.offset) == ("left", 0.12)
    assert (given.crank_pin_mass, given.rocker_pin_mass) == (180, 240)
    assert drive().motion == uf.SliderCrank(0.1, 0.4) and drive().rod_inertia is None
    with_counter = drive(counter_slide_mass=300, counter_slide_stroke=0.1)
    np.testing.assert_allclose(with_counter.counter_slide, (300, 0.1, 4), rtol=1e-15)
    assert uf.SlideDrive(900, motion=profile()).motion == profile()


def test_a_table_is_neither_filled_in_nor_smoothed_in_silence():
    assert profile().notes == []
    with pytest.raises(uf.InvalidError, match="180.0 degrees of crank angle have no row.*mirrored"):
        half = np.linspace(0, np.pi, 61)
        uf.MotionProfile.from_angle(half, 0.1 * np.cos(half))
    with pytest.raises(uf.InvalidError, match="36.0 degrees of crank angle have no row"):
        early = np.radians(np.arange(0, 325, 4))
        uf.MotionProfile.from_angle(early, 0.1 * np.cos(early))
    # A corner of five per cent of the greatest speed: told, with its angle, wherever it is used.
    bent = 0.1 * np.cos(TURN) + 0.0025 * np.abs(np.sin(TURN / 2) ** 2 - 0.5)
    rounded = profile(height=bent)
    (note,) = rounded.notes
    assert "speed jumps by" in note and "rounds it" in note
    run = installation().steady(uf.SlideDrive(900, motion=rounded), 30)
    assert note in run.warnings
    rates = installation().stroke_rate_map(uf.SlideDrive(900, motion=rounded), [30, 40])
    assert note in rates.warnings
