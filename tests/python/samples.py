"""One sample of every public class, and another that differs from it."""

import inspect
import math

import underfoot as uf
from example_job import job, short_job, study

FREQUENCY = [5.0, 10.0, 40.0]


def mounts(stiffness=6e6):
    return [
        uf.Mount(
            (x, y, 0),
            (stiffness, stiffness, 2.5 * stiffness),
            damping=2e3,
            loss_factor=0.1,
            load_range=uf.LoadRange(min=1e4, max=2e5),
            name=f"{side} {end}",
        )
        for y, end in ((-1.0, "front"), (1.0, "rear"))
        for x, side in ((-1.4, "left"), (1.4, "right"))
    ]


def body(mass=42e3):
    return uf.RigidBody(mass, (0.0, 0.05, 2.1), ((82e3, 0, 0), (0, 76e3, -1500), (0, -1500, 30e3)))


def installation(stiffness=6e6):
    die = uf.Box(6e3, (1.8, 1.1, 0.7), (0.15, 0, 1.3))
    case = uf.Case("heavy die", body().with_parts([die]), [uf.Wrench(force=(0, 2e3, 0))])
    return uf.Installation(body(), mounts(stiffness), cases=[case], points={"bolster": (0, 0, 0.9)})


def readings(scale=1.0):
    places = ((-0.8, -0.4, 0.9), (0.8, -0.4, 0.9), (0.0, 0.5, 0.9))
    return [
        uf.LevelReading(f"{n} {along}", at, along, value * scale, -value * scale + 1e-5)
        for n, at in enumerate(places)
        for along, value in (("x", 1.2e-4), ("y", 9e-5))
    ]


def pipe(scale=1.0):
    return uf.Bridge((1.4, 1.0, 0), (0, 0, 4e7 * scale), loss_factor=0.02, name="pipe", kind="pipe")


def laws(stiffness=6e6):
    zener = uf.Zener(stiffness, 0.8 * stiffness, 0.01 * stiffness)
    wlf = uf.Wlf(6.1 * stiffness / 6e6, 146.75, 20)
    fractional = uf.FractionalZener(stiffness, 1000 * stiffness, 1e-9, 0.36)
    return [
        uf.ComplexStiffness(stiffness, 0.1),
        uf.Viscous(stiffness, 2e3),
        zener,
        uf.Maxwell(stiffness, [0.5 * stiffness, 0.3 * stiffness], [0.01, 0.1]),
        fractional,
        uf.TabulatedStiffness(
            [0, 10, 100], [stiffness, 1.2 * stiffness, 2 * stiffness], [0, 5e5, 1e6]
        ),
        wlf,
        uf.TemperatureShift(zener, wlf, 5),
        uf.AmplitudeReduction(zener, 0.02, 0.01, 0.4, 0.55),
        uf.Parallel([zener, uf.Viscous(0, 2e3)]),
        uf.Series([zener, uf.Viscous(0, 2e6)]),
        uf.maxwell_fit(fractional, [1, 100]),
    ]


def catalog(price=210):
    columns = {
        "name": ["soft pad", "firm pad"],
        "stiffness_lateral [kN/mm]": [6, 12],
        "stiffness_z [kN/mm]": [15, 30],
        "load_min": ["20 kN", "40 kN"],
        "load_max": ["160 kN", "300 kN"],
        "price": [price, None],
    }
    return uf.Catalog.from_table(columns, "shelf")


def daily_work(scale=1.0):
    """Dies, bolster, crane, cart, brake and a first answer."""
    die = uf.Die("die", 5e3 * scale, (0, 0, 1.2), (1.8, 1.0, 0.6), off_center=(0.2, 0, 0))
    rails = [(-0.6, -0.9, 0.7), (0.6, -0.9, 0.7)]
    size = (2.0, 1.4, 0.25)
    first = uf.first_answer(
        "straight-side",
        "400 tonf",
        (3.6, 2.4, 5.2),
        "40 spm",
        0.3,
        9e3 * scale,
        assumed={"mass_per_kN": 15.0 * scale},
    )
    return [
        die,
        uf.DieSet([die]),
        uf.RollingBolster(3e3 * scale, (0, 0, 0.85), "-y", 2.6, 1.0, rails, size=size),
        uf.SetDown("down", die),
        uf.Cart("cart", (0, -0.9, 0.7), 2e3 * scale),
        uf.EmergencyStop("stop", 900 * scale, "50 spm", 0.15, "x"),
        first,
        first.assumptions[0],
    ]


def slides(scale=1.0):
    """A slide on each kind of drive, and what moves it."""
    angle = [2 * math.pi * i / 24 for i in range(25)]
    height = [0.1 * scale * (1 + math.cos(a)) for a in angle]
    crank = uf.SliderCrank(0.1, 0.45 * scale, 0.01)
    link = uf.LinkDrive(0.2, 0.75, 0.6, (0.7, 0.15), 0.95 * scale, offset=0.1)
    profile = uf.MotionProfile.from_angle(angle, height)
    return crank, link, profile, slide(scale)


def slide(scale=1.0):
    return uf.SlideDrive(2e3 * scale, 0.2, 4.5, upper_die_mass=500, rod_mass=150, at=(0.05, 0, 3))


def events(inst, scale=1.0):
    """Drives, blows, rotors, records, and what follows from them."""
    blow = uf.Blow(500 * scale, 4, 0.4)
    rotor = uf.Rotor("crank", 900 * scale)
    train = uf.DriveTrain("y", 1, [rotor])
    plane = uf.UnbalancePlane(0.1 * scale)
    return [
        blow,
        rotor,
        train,
        train.stop(0.2),
        plane,
        uf.RotatingUnbalance("y", [plane]),
        uf.Hydraulic(4e6 * scale, 0.16, 0.4, 1.4e9, 2e9),
        uf.ScrewBlow(60 * scale, 1.5, 0.025, 0.2),
        uf.Record([0, scale, 0], 0.01),
        inst.blow(blow, 1.0, duration=0.2, dt=1e-3),
        inst.base_transmissibility(FREQUENCY),
    ]


def press(scale=1.0):
    return uf.Press(
        uf.RigidBody(26.5e3, (0, 0, 1.5), (52e3, 48e3, 18e3)),
        slide_mass=2.5e3,
        crown_mass=6e3,
        slide_position=(0, 0, 2.1),
        crown_position=(0, 0, 3.2),
        frame_stiffness=2.4e9 * scale,
        drive_stiffness=1.6e9,
        frame_damping_ratio=0.03,
        drive_damping_ratio=0.03,
        rated_force=2.5e6,
    )


def forming(scale=1.0):
    """Work forces, what stands beside the tool, and what a press makes of them."""
    force = uf.BreakThrough(1e6 * scale, 0.02, 0.002, softened_to=0.7, softening_time=0.005)
    blank = uf.Blanking(0.8 * scale, 3e-3, 300e6, 0.38)
    inst = uf.Installation(press(scale), mounts())
    snap = inst.snap_through(force, duration=0.1, dt=1e-3)
    fine = inst.snap_through(force, duration=0.06, dt=1e-3)
    known = inst.calibrate_snap_through(fine.time, fine.column_force, force, fit=["force"])
    return [
        press(scale),
        force,
        blank,
        blank.curve,
        blank.curve.at_speed(0.1),
        uf.Cushion(1e5 * scale, 0.01, 0.1),
        uf.SlideStop(1e-3 * scale, damping=1e6),
        uf.EquivalentPulse(force, 80),
        snap,
        inst.shock_with_contacts(uf.HalfSine(1e6 * scale, 8e-3), "z", duration=0.1, dt=1e-3),
        known,
    ]


def supports(scale=1.0):
    """One of each part that a mount is made of."""
    return [
        uf.Allowed("lift of the pipes", "compression", 4e-3 * scale, "pipe fitter"),
        uf.Disc(0.1 * scale),
        uf.Rectangle(0.15 * scale, 0.1),
        uf.Ring(0.16 * scale, 0.04),
        uf.RubberPad(60, uf.Disc(0.1 * scale), 0.025, friction=0.5),
        uf.CoilSpring(0.02, 0.1, 6, 0.3 * scale),
        uf.AirSpring(5e5, 0.02 * scale, 0.01),
        uf.ViscousDamper((1e3, 1e3, 5e3 * scale)),
    ]


def values(stiffness=6e6, scale=1.0):
    """Name of each class -> an instance; `stiffness` and `scale` make another one."""
    inst = installation(stiffness)
    shock = inst.shock(uf.HalfSine(1e5 * scale, 8e-3), "z", "bolster", duration=0.2, dt=1e-3)
    samples = [
        *supports(scale),
        body(42e3 * scale),
        uf.Box(12.0 * scale, (1, 2, 3), (0, 0, 1)),
        uf.Cylinder(12.0 * scale, 0.5, 2.0, (0, 0, 1)),
        uf.PointMass(3.0 * scale, (1, 2, 3)),
        mounts(stiffness)[0],
        uf.LoadRange(min=1e4 * scale, max=2e6),
        uf.Screw(2e-3 * scale, 8, 5e-3, 8e-3),
        uf.HeightReading("rail", (0.1, 0.2, 1.0), 1e-4 * scale),
        readings(scale)[0],
        uf.level_readings(readings(scale)),
        inst.leveling_influence(),
        inst.level_from_settlement([1e-3 * scale, 0, 0, 0]),
        inst.leveling_plan([1e-3 * scale, 0, 0, 2e-4], screw_pitch=2e-3),
        *laws(stiffness),
        uf.Curve((1e-3, 3e-3), (1e4, 5e4 * scale)),
        pipe(scale),
        uf.Stop((0, 0, 0), "-z", 0.012 * scale, 1e8, name="snubber"),
        uf.snubber_rebound(5e3, 4e6, 4e7, 3e-3, 0.5 * scale),
        uf.Wrench(force=(1, 2, 3 * scale), moment=(4, 5, 6), at=(0, 0, 1)),
        uf.Case("die out", body(42e3 * scale)),
        *(cls(2e4 * scale, 1e-2) for cls in SIMPLE_PULSES),
        uf.RampStep(2e4 * scale, 1e-2, 2e-2),
        uf.ExponentialDecay(2e4 * scale, 1e-2, 5e-2),
        inst,
        inst.statics(),
        inst.stability(),
        inst.unevenness(),
        inst.load_cases(),
        inst.rail_step("heavy die"),
        inst.modes(),
        inst.what_if_bridged(pipe(scale), FREQUENCY),
        inst.transmissibility(FREQUENCY),
        inst.response(FREQUENCY, uf.Wrench(force=(0, 0, 1e3 * scale))),
        shock,
        *slides(scale),
        inst.steady(slide(scale), 40),
        inst.steady(slide(scale), 40).at("bolster"),
        inst.stroke_rate_map(slide(scale), [30, 60, 200]),
        *events(inst, scale),
        shock.at("bolster"),
        shock.peak("mount_force"),
        uf.shock_response_spectrum(uf.HalfSine(100 * scale, 11e-3), None, FREQUENCY, 0.05),
        inst.check_walking(shock),
        uf.Interface("feed", (0, 0, scale), "xz", static_limit=1e-3),
    ]
    whole = job() if scale == 1.0 else short_job().with_input("machine.mass", 42e3 * scale)
    done = study() if scale == 1.0 else whole.study()
    samples += [whole, done, whole.inputs[-1 if scale == 1.0 else 0]]
    samples += [done.figures[0], done.checks[0], done.asks[0], *daily_work(scale)]
    samples += forming(scale)
    shelf = catalog(210 * scale)
    ranking = whole.rank_options(shelf, mixed=False)
    samples += [shelf, shelf["soft pad"], ranking, ranking.choices[0]]
    return {type(sample).__name__: sample for sample in samples}


SIMPLE_PULSES = (
    uf.HalfSine,
    uf.Haversine,
    uf.Rectangular,
    uf.Triangular,
    uf.InitialPeakSawtooth,
    uf.TerminalPeakSawtooth,
)
PULSES = (*SIMPLE_PULSES, uf.RampStep, uf.ExponentialDecay)
CLASSES = sorted(
    name
    for name, item in vars(uf).items()
    if inspect.isclass(item) and item.__module__ == "underfoot"
)
RESULTS = sorted(name for name in CLASSES if hasattr(getattr(uf, name), "to_xarray"))
