"""One sample of every public class, and another that differs from it."""

import inspect
from functools import lru_cache

import underfoot as uf

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


def job():
    return uf.Job.from_text(uf._core.job_template())


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


@lru_cache(maxsize=1)
def study():
    return job().study()


def values(stiffness=6e6, scale=1.0):
    """Name of each class -> an instance; `stiffness` and `scale` make another one."""
    inst = installation(stiffness)
    shock = inst.shock(uf.HalfSine(1e5 * scale, 8e-3), "z", "bolster", duration=0.2, dt=1e-3)
    samples = [
        body(42e3 * scale),
        uf.Box(12.0 * scale, (1, 2, 3), (0, 0, 1)),
        uf.Cylinder(12.0 * scale, 0.5, 2.0, (0, 0, 1)),
        uf.PointMass(3.0 * scale, (1, 2, 3)),
        mounts(stiffness)[0],
        uf.LoadRange(min=1e4 * scale, max=2e6),
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
        inst.modes(),
        inst.transmissibility(FREQUENCY),
        inst.response(FREQUENCY, uf.Wrench(force=(0, 0, 1e3 * scale))),
        shock,
        shock.at("bolster"),
        shock.peak("mount_force"),
        uf.shock_response_spectrum(uf.HalfSine(100 * scale, 11e-3), None, FREQUENCY, 0.05),
    ]
    whole = job() if scale == 1.0 else job().with_input("machine.mass", 42e3 * scale)
    done = study() if scale == 1.0 else whole.study()
    samples += [whole, done, whole.inputs[-1 if scale == 1.0 else 0]]
    samples += [done.figures[0], done.checks[0]]
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
