"""Drives, blows, rotors, records and floors that move, from Python."""

import pickle

import numpy as np
import pytest
import underfoot as uf

BODY = uf.RigidBody(60e3, (0, 0, 0.8), (6e4, 6e4, 6e4))
K = 60e3 * (2 * np.pi * 5) ** 2 / 4


def installation(zeta=0.2):
    c = 2 * zeta * 60e3 * 2 * np.pi * 5 / 4
    feet = [uf.Mount((x, y, 0), (K, K, K), damping=(c, c, c)) for x in (-1, 1) for y in (-0.8, 0.8)]
    return uf.Installation(BODY, feet, points={"anvil": (0, 0, 0.8)})


def blow(**given):
    return uf.Blow(**{"mass": 2500, "speed": 6, "restitution": 0.5, **given})


def train(slide=None, **given):
    rotors = [
        uf.Rotor("flywheel", 400, -5.5, "driving"),
        uf.Rotor("crank", 900),
    ]
    return uf.DriveTrain(**{"axis": "y", "speed": "50 spm", "rotors": rotors, **given}, slide=slide)


def slide():
    return uf.SlideDrive(3000, 0.25, 4.5, at=(0, 0, 2.5))


def hydraulic(**given):
    usual = {
        "force": 4e6,
        "piston_area": 0.16,
        "column": 0.4,
        "bulk_modulus": 1.4e9,
        "frame_stiffness": 2e9,
    }
    return uf.Hydraulic(**{**usual, **given})


def rotor(**given):
    return uf.RotatingUnbalance("y", [uf.UnbalancePlane(0.1, (0, 0, 1))], **given)


def screw(**given):
    usual = {"inertia": 60, "speed": 1.5, "stop_time": 0.025, "rebound": 0.15}
    return uf.ScrewBlow(**{**usual, **given})


def rows(value):
    return [value] * 3 if isinstance(value, str) else value * np.ones(3)


INST = installation()

CALLS = [
    ("Blow.mass", "mass", lambda v: blow(mass=v).mass),
    ("Blow.speed", "velocity", lambda v: blow(speed=v).speed),
    ("Blow.restitution", "ratio", lambda v: blow(restitution=v).restitution),
    ("Blow.at", "length", lambda v: blow(at=rows(v)).at[0]),
    ("fall_speed.height", "length", lambda v: uf.Blow.fall_speed(1, v, gravity=1) ** 2 / 2),
    ("fall_speed.push", "force", lambda v: uf.Blow.fall_speed(1, 0.5, v) ** 2 - 9.80665),
    ("impulse.struck_mass", "mass", lambda v: 1 / (9 / blow().impulse(v) - 1 / 2500)),
    ("Rotor.inertia", "inertia", lambda v: uf.Rotor("r", v).inertia),
    ("Rotor.ratio", "ratio", lambda v: uf.Rotor("r", 1, v).ratio),
    ("DriveTrain.speed", "frequency", lambda v: train(speed=v).speed),
    ("start.clutch_time", "time", lambda v: train(slide=slide()).start(v).end - 1.2),
    ("start.torque_rise", "time", lambda v: train().start(0.5, v) and None),
    ("stop.brake_time", "time", lambda v: train().stop(v).end),
    ("stop.angle", "angle", lambda v: train().stop(0.2, angle=v) and None),
    ("inching.pause", "time", lambda v: train().inching(0.1, 0.1, 0.1, v, 1).end and None),
    ("stuck.clutch_torque", "moment", lambda v: train().stuck(0.1, v, 0.1) and None),
    ("stuck.slip_time", "time", lambda v: train().stuck(0.1, 10, v).end - 0.1),
    ("freed.rise", "time", lambda v: train().freed(10, v, 0.1).end - 0.1),
    ("Hydraulic.force", "force", lambda v: hydraulic(force=v).pressure * 0.16),
    ("Hydraulic.piston_area", "area", lambda v: 4e6 / hydraulic(piston_area=v).pressure),
    ("Hydraulic.column", "length", lambda v: 1.4e9 * 0.16 / hydraulic(column=v).oil_stiffness),
    ("Hydraulic.bulk_modulus", "pressure", lambda v: hydraulic(bulk_modulus=v).oil_stiffness / 0.4),
    (
        "Hydraulic.frame_stiffness",
        "stiffness",
        lambda v: 0.5 * 16e12 / hydraulic(frame_stiffness=v).frame_energy,
    ),
    ("decompression.springing_mass", "mass", lambda v: hydraulic().decompression(v, 0.1) and None),
    ("decompression.time", "time", lambda v: hydraulic().decompression(1, v).end),
    ("UnbalancePlane.unbalance", "mass_moment", lambda v: uf.UnbalancePlane(v).unbalance),
    ("UnbalancePlane.angle", "angle", lambda v: uf.UnbalancePlane(1, angle=v).angle),
    ("RotatingUnbalance.inertia", "inertia", lambda v: rotor(inertia=v) and None),
    ("steady.speed", "frequency", lambda v: 1 / rotor().steady(v).every),
    ("run_up.time", "time", lambda v: rotor().run_up(0, 50, v).end),
    ("run_up.from_speed", "frequency", lambda v: rotor().run_up(v, 90, 1) and None),
    (
        "ScrewBlow.inertia",
        "inertia",
        lambda v: screw(inertia=v).angular_impulse / (2 * np.pi * 1.5 * 1.15),
    ),
    ("ScrewBlow.stop_time", "time", lambda v: screw(stop_time=v).excitation.end),
    ("ScrewBlow.slide_mass", "mass", lambda v: screw(slide_mass=v, lead=0.1) and None),
    ("ScrewBlow.lead", "length", lambda v: screw(slide_mass=1, lead=v) and None),
    ("Record.interval", "time", lambda v: uf.Record([0, 1, 0], v).interval),
    ("resampled.rate", "frequency", lambda v: uf.Record([0, 1, 0], 1).resampled(v).sample_rate),
    ("blow.interval", "time", lambda v: INST.blow(blow(), v) and None),
    (
        "floor_shock.duration",
        "time",
        lambda v: INST.floor_shock(uf.HalfSine(1, 0.01), "z", duration=v) and None,
    ),
]


def test_a_hammer_keeps_its_feet_down_and_comes_to_rest():
    found = INST.blow(blow(), "1 s")
    assert found.velocity == pytest.approx(0.36)
    assert found.left == pytest.approx(0.001867442731708, rel=1e-9)
    down = found.shock.peak("displacement", "z")
    assert (down.signed_value, down.time > 0) == (pytest.approx(-0.008664668010054, rel=1e-9), True)
    assert found.mode_amplitude.shape == (6, 6) and len(found.mode_frequency) == 6
    # Many blows leave the state of a geometric series of single ones.
    many = INST.repeated_blows(blow(), 1.0)
    single = INST.blow(blow(), duration=12, dt=0.5).shock.displacement[:, 2]
    assert many.displacement[0, 2] == pytest.approx(single[2::2].sum(), abs=1e-9)


def test_a_brake_on_the_frame_gives_all_and_a_clutch_on_the_flywheel_none():
    stop = train().stop(0.1)
    torque = stop.wrench(0.05)[0, 4]
    assert torque == pytest.approx(900 * 2 * np.pi * 50 / 60 / 0.1)
    straight = train(rotors=[uf.Rotor("flywheel", 400, 1, "driving"), uf.Rotor("crank", 900)])
    assert abs(straight.start(0.2).wrench(0.1)[0, 4]) < 1e-9
    shock = INST.shock(stop)
    assert shock.peak("displacement", "ry").value > 0
    with pytest.raises(uf.InvalidError, match="says itself"):
        INST.shock(stop, "z")


def test_a_stop_with_a_heavy_rod_leaves_no_moment_where_there_is_none():
    # Of the rod's moment on the frame only rounding is left: nothing acts there.
    heavy = uf.SlideDrive(3000, 0.25, 4.5, at=(0, 0, 2.5), rod_mass=300)
    still = train(slide=heavy).stop(0.2)
    light = train(slide=slide()).stop(0.2)
    assert np.abs(still.wrench(0.1)[0, [1, 3, 5]]).max() == 0.0
    assert abs(still.wrench(0.1)[0, 2]) > abs(light.wrench(0.1)[0, 2])


def test_a_stop_with_a_slide_is_split_by_source():
    stop = train(slide=slide()).stop(0.15)
    assert stop.after_running and stop.sources == ["slide inertia", "start and stop"]
    parts = INST.floor_force_by_source(stop)
    whole = INST.shock(stop).peak("ground_wrench", "z")
    assert set(parts) == set(stop.sources)
    # It brakes near the top, where the slide's inertia lifts.
    assert whole.signed_value > 0
    assert parts["slide inertia"]["up"] == pytest.approx(whole.value, rel=1e-9)
    assert parts["start and stop"]["up"] < 1e-3 * whole.value


def test_a_rotor_passes_its_resonance_late_and_settles_to_its_steady_state():
    steady = INST.shock(rotor().steady(20)).peak("ground_wrench", "z").value
    omega = 2 * np.pi * 20
    vertical = INST.vertical_transmissibility([20])[0]
    assert steady == pytest.approx(0.1 * omega**2 * vertical, rel=1e-9)
    down = rotor().run_up(20, 0, 10)
    assert down.after_running and not rotor().run_up(20, 0, 10, from_rest=True).after_running
    low = installation(0.03)
    peak = low.shock(down).peak("displacement", "z")
    assert peak.time > 10 * (1 - 5 / 20)


def test_a_servo_repeats_itself():
    motion = train(slide=slide()).servo([(0, 1), (0.5, 1), (0.6, 1), (1, 1)])
    assert motion.every == 1
    shock = INST.shock(motion)
    assert shock.time[-1] == pytest.approx(1, abs=0.05)


def test_a_record_is_read_checked_and_resampled():
    t = np.arange(40) * 0.01
    wave = np.sin(2 * np.pi * 5 * t)
    record = uf.Record(wave, time=t)
    assert record == uf.Record(wave, "10 ms") or record.interval == pytest.approx(0.01)
    finer = record.resampled(1000)
    assert "Fourier" in finer.notes[0]
    text = "t,a\n" + "\n".join(f"{a:.6f},{b:.12e}" for a, b in zip(t, wave, strict=True))
    np.testing.assert_allclose(uf.Record.from_csv(text).values, wave, atol=1e-11)
    for bad, word in [
        (lambda: uf.Record([0, float("nan")], 0.1), "must be a number"),
        (lambda: uf.Record([0, 1, 2], time=[0, 1, 3]), "without a sample"),
        (lambda: uf.Record([0, 1, 2, 3], time=[0, 1, 2.2, 3]), "evenly"),
        (lambda: uf.Record([0, 1], time=[1, 0]), "ascend"),
        (lambda: uf.Record([0, 1]), "either interval or time"),
        (lambda: uf.Record.from_csv("a,b\n1,2\n2,x\n"), "line 3"),
    ]:
        with pytest.raises(uf.InvalidError, match=word):
            bad()
    slow = INST.floor_shock(uf.Record([0, 1, 0], 0.05), "z")
    assert any("asks for" in w for w in slow.warnings)
    forced = INST.shock(uf.Record([0, 1, 0], 0.05).force("z"))
    assert any("20.0000 samples a second" in w for w in forced.warnings), forced.warnings
    fine = INST.shock(uf.Record(np.zeros(100), 1e-4).force("z"))
    assert not any("samples a second" in w for w in fine.warnings)
    comma = uf.Record.from_csv("Zeit;Kraft\n0,00;1,5\n0,01;2,5\n")
    np.testing.assert_array_equal(comma.values, [1.5, 2.5])


def test_strokes_that_repeat_come_to_the_state_that_a_long_train_of_them_leads_to():
    one = np.zeros(51)
    one[1:4] = (4e4, 1e5, 3e4)
    train = uf.Record(np.concatenate([np.tile(one[:-1], 80), [0]]), 0.01).force("z")
    every = INST.shock(uf.Record(one, 0.01).force("z"), every="0.5 s", dt=0.01)
    long = INST.shock(train, duration=40, dt=0.01)
    last = long.displacement[-51:]
    np.testing.assert_allclose(every.displacement, last, atol=1e-9 * np.abs(last).max())
    assert every.time[-1] == pytest.approx(0.5)
    pulse = uf.HalfSine(1e5, 0.02)
    lone, often = INST.shock(pulse, "z"), INST.shock(pulse, "z", every=0.12)
    assert often.peak("displacement", "z").value != lone.peak("displacement", "z").value
    seldom = INST.shock(pulse, "z", every=60)
    assert seldom.peak("displacement", "z").value == pytest.approx(
        lone.peak("displacement", "z").value, rel=1e-9
    )
    for call, words in (
        (lambda: INST.shock(pulse, "z", every=0.5, duration=1), "duration = given beside every"),
        (lambda: INST.shock(pulse, "z", every=0), "every = 0 s"),
        (lambda: INST.shock(rotor().steady(20), every=1), "acts once"),
    ):
        with pytest.raises(uf.InvalidError, match=words):
            call()


def test_a_step_longer_than_the_motion_is_refused_not_answered_with_one_sample():
    for call in (
        lambda: INST.shock(uf.HalfSine(1e3, 0.01), "z", duration=0.1, dt=0.2),
        lambda: INST.shock(rotor().steady(20), dt=1e9),
        lambda: INST.shock_with_contacts(uf.HalfSine(1e3, 0.01), "z", duration=0.1, dt="1 s"),
    ):
        with pytest.raises(uf.InvalidError, match="dt = .* must not be longer than the motion"):
            call()


def test_a_floor_that_moves_is_the_transpose_of_a_force():
    frequency = np.linspace(0.5, 30, 30)
    base = INST.base_transmissibility(frequency, "anvil")
    force = INST.transmissibility(frequency, "anvil")
    np.testing.assert_allclose(base.matrix, force.matrix.transpose(0, 2, 1), atol=1e-12)
    assert base.to_xarray()["matrix"].dims == ("frequency", "dof", "floor")
    shock = INST.floor_shock(uf.HalfSine(2.0, 0.02), "x")
    assert shock.peak("acceleration", "x").value < 2.0
    t = np.linspace(0, 1, 201)
    still = uf.Record(1e-3 * (1 - np.cos(2 * np.pi * t)), 0.005)
    slow = INST.floor_shock(still, "z", displacement=True)
    assert slow.peak("displacement", "z").value < 1e-3 * 0.2
    with pytest.raises(uf.InvalidError, match="needs a Record"):
        INST.floor_shock(uf.HalfSine(1, 1), "z", displacement=True)


def test_oil_and_screw():
    press = hydraulic()
    assert press.oil_stiffness == pytest.approx(560e6)
    assert (press.oil_energy, press.frame_energy) == pytest.approx((14285.714285714, 4000))
    pulse = press.decompression(12e3, 0.015)
    t = np.linspace(0, 0.015, 1001)
    force = pulse.wrench(t)[:, 2]
    assert abs(np.trapezoid(force, t)) < 1e-6 * force.max() * 0.015
    blow = screw(slide_mass=800, lead=0.3, axis="z")
    assert blow.excitation.wrench(0.0125)[0, 5] == pytest.approx(blow.torque, rel=1e-9)
    assert blow.excitation.sources == ["contact"]


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: blow(restitution=1.5), "restitution = 1.5: must lie between"),
        (lambda: blow(mass=0), "mass = 0 kg"),
        (lambda: uf.Rotor("gear", 1, 0), "ratio = 0: must not be zero"),
        (lambda: uf.Rotor("gear", 1, side="left"), "side"),
        (lambda: train().stop(0), "brake_time = 0 s"),
        (lambda: train(rotors=[]), "at least one rotor"),
        (lambda: rotor().run_up(1, 1, 1), "must differ"),
        (lambda: uf.RotatingUnbalance("y", []), "planes"),
        (lambda: screw(rebound=2), "rebound = 2"),
        (lambda: hydraulic(column=0), "column = 0 m"),
        (lambda: train(slide=slide(), axis="x"), "crankshaft"),
    ],
)
def test_what_cannot_be_is_refused(make, message):
    with pytest.raises(ValueError, match=message):
        make()


def test_every_value_is_frozen_equal_to_its_pickle_and_has_a_repr():
    values = [
        blow(),
        train(slide=slide()),
        train().rotors[0],
        train().start(0.2),
        hydraulic(),
        rotor(),
        uf.UnbalancePlane(0.1),
        screw(),
        uf.Record([0, 1], 0.1),
        INST.blow(blow(), 1.0),
        INST.base_transmissibility([1, 2]),
    ]
    for value in values:
        again = pickle.loads(pickle.dumps(value))
        assert again == value and type(value).__name__ in repr(value)
        with pytest.raises(AttributeError):
            value.extra = 1


def test_a_universal_file_is_read_by_pyuff(tmp_path):
    pyuff = pytest.importorskip("pyuff")
    values = np.sin(np.arange(64) * 0.3)
    path = tmp_path / "floor.uff"
    data = pyuff.prepare_58(
        binary=0,
        func_type=1,
        rsp_node=1,
        rsp_dir=3,
        ref_node=1,
        ref_dir=3,
        data=values,
        x=np.arange(64) * 0.002,
        abscissa_spacing=1,
        abscissa_min=0.0,
        abscissa_inc=0.002,
        orddenom_spec_data_type=0,
        id1="floor",
    )
    pyuff.UFF(str(path)).write_sets([data], "overwrite")
    record = uf.read_uff58(path)
    assert record.interval == pytest.approx(0.002)
    np.testing.assert_allclose(record.values, values, atol=1e-5)
    with pytest.raises(uf.TableError, match="not among"):
        uf.read_uff58(path, 3)
    again = uf.Record.from_csv(record.to_csv())
    np.testing.assert_array_equal(again.values, record.values)
    assert again.interval == pytest.approx(record.interval, rel=1e-12)
    with pytest.raises(uf.FileError, match="there is no such file"):
        uf.read_uff58(tmp_path / "none.uff")
