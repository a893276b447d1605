"""Every result of a random machine against NumPy, SciPy or pyYeti, from matrices rebuilt here.

The equations are the textbook's (L. Meirovitch, Fundamentals of Vibrations, 2001, from memory);
nothing of this library is used on the other side. Tolerances are those of double precision.
"""

import os
from dataclasses import dataclass, field

import numpy as np
import pytest
import scipy.linalg as sl
import underfoot as uf
from hypothesis import given, settings
from hypothesis import strategies as st
from pyyeti.srs import srs
from scipy.integrate import solve_ivp
from scipy.optimize import linear_sum_assignment

LONG = os.environ.get("UNDERFOOT_LONG") == "1"
MANY = settings(derandomize=not LONG, deadline=None, max_examples=1000 if LONG else 25)
FEW = settings(derandomize=not LONG, deadline=None, max_examples=50 if LONG else 3)
FREQUENCY = np.array([0.0, 0.7, 3.0, 8.0, 21.0, 90.0, 600.0])


def crossed(v):
    return np.array([[0, -v[2], v[1]], [v[2], 0, -v[0]], [-v[1], v[0], 0]])


def rotation(angles):
    """Turned about x, then y, then z of the floor."""
    turn = np.eye(3)
    for axis, angle in enumerate(angles):
        turn = sl.expm(crossed(np.eye(3)[axis] * angle)) @ turn
    return turn


@dataclass
class Machine:
    """What the library is told, and the matrices made of it here."""

    mass: float
    center: np.ndarray
    inertia: np.ndarray
    mounts: list[dict]
    ports: list[np.ndarray] = field(init=False)

    def __post_init__(self):
        self.ports = [self.port(mount) for mount in self.mounts]

    def port(self, mount):
        """(6, 6): forces, then moments of the mount along its principal axes -> wrench."""
        axes = rotation(mount["angles"])
        port = np.zeros((6, 6))
        port[:3, :3] = port[3:, 3:] = axes
        port[3:, :3] = crossed(np.array(mount["position"]) - self.center) @ axes
        return port

    def installation(self):
        mounts = [
            uf.Mount(
                m["position"],
                m["stiffness"],
                damping=m["damping"],
                loss_factor=m["loss_factor"],
                axes=uf.turned(*m["angles"]),
                static_stiffness=m["static_stiffness"],
                rotational_stiffness=m["rotational_stiffness"],
            )
            for m in self.mounts
        ]
        return uf.Installation(uf.RigidBody(self.mass, self.center, self.inertia), mounts)

    def m(self):
        return sl.block_diag(self.mass * np.eye(3), self.inertia)

    def total(self, law):
        pairs = zip(self.ports, self.mounts, strict=True)
        return sum(port @ np.diag(law(mount)) @ port.T for port, mount in pairs)

    def k(self):
        return self.total(lambda m: [*m["stiffness"], *m["rotational_stiffness"]])

    def k_static(self):
        return self.total(lambda m: [*m["static_stiffness"], *m["rotational_stiffness"]])

    def h(self):
        return self.total(lambda m: loss(m) * [*m["stiffness"], *m["rotational_stiffness"]])

    def c(self):
        return self.total(lambda m: [*m["damping"], 0, 0, 0])

    def wrench_at(self, force, point):
        return np.concatenate([force, np.cross(np.subtract(point, self.center), force)])

    def scale(self):
        """Lengths that make moments and turns comparable with forces and shifts."""
        radius = np.sqrt(np.trace(self.inertia) / self.mass)
        return np.array([1, 1, 1, radius, radius, radius])


def loss(mount):
    return np.tile(mount["loss_factor"], 2)


def spread(low, high):
    """Between the bounds, evenly in the logarithm."""
    return st.floats(np.log(low), np.log(high)).map(lambda x: float(np.exp(x)))


def three(values):
    return st.tuples(values, values, values)


@st.composite
def machines(draw, viscous=False):
    mass = draw(spread(1e3, 3e5))
    # Moments of inertia of some solid: pairs of the squared radii of gyration.
    a, b, c = draw(three(st.floats(0.3, 1.6)))
    turn = rotation(draw(three(st.floats(-0.7, 0.7))))
    inertia = (
        turn @ np.diag(mass * np.array([b * b + c * c, a * a + c * c, a * a + b * b])) @ turn.T
    )
    center = np.array(draw(three(st.floats(-0.3, 0.3)))) + [0, 0, draw(st.floats(0.3, 2.5))]
    stiffness = mass * (2 * np.pi * draw(st.floats(2.0, 12.0))) ** 2 / 4
    corners = [(-1.2, -0.9), (1.2, -0.9), (-1.2, 0.9), (1.2, 0.9), (0, 0)]
    mounts = []
    for x, y in corners[: draw(st.integers(3, 5))]:
        shift = draw(three(st.floats(-0.25, 0.25)))
        k = stiffness * np.array(draw(three(st.floats(0.3, 2.0))))
        c = draw(three(st.floats(0.0, 0.02))) if viscous or draw(st.booleans()) else (0, 0, 0)
        mounts.append(
            {
                "position": (x + shift[0], y + shift[1], shift[2]),
                "stiffness": k,
                "static_stiffness": k * draw(st.floats(0.5, 1.0)),
                "rotational_stiffness": 0.1 * k * draw(st.sampled_from([0.0, 1.0])),
                "damping": k * np.array(c) / 10,
                "loss_factor": (0, 0, 0) if viscous else draw(three(st.floats(0.0, 0.4))),
                "angles": draw(three(st.floats(-3.0, 3.0))),
            }
        )
    return Machine(mass, center, (inertia + inertia.T) / 2, mounts)


def agree(found, wanted, tolerance=1e-9, scale=1.0):
    """Within the tolerance of the greatest, after division by the scale of the entries."""
    found, wanted = np.asarray(found) / scale, np.asarray(wanted) / scale
    np.testing.assert_allclose(found, wanted, rtol=0, atol=tolerance * np.abs(wanted).max())


@MANY
@given(machines())
def test_modes_are_those_of_scipy_eigh(machine):
    modes = machine.installation().modes()
    square, _ = sl.eigh(machine.k(), machine.m())
    np.testing.assert_allclose(modes.frequency, np.sqrt(square) / (2 * np.pi), rtol=1e-9)
    # Shapes belong to the frequencies, whatever stands in a repeated one.
    agree(modes.shape.T @ machine.m() @ modes.shape, np.eye(6))
    agree(modes.shape.T @ machine.k() @ modes.shape, np.diag(square))


@MANY
@given(machines(viscous=True))
def test_damped_eigenvalues_are_those_of_the_state_matrix(machine):
    inverse = np.linalg.inv(machine.m())
    state = np.block(
        [[np.zeros((6, 6)), np.eye(6)], [-inverse @ machine.k(), -inverse @ machine.c()]]
    )
    wanted = sl.eig(state, right=False)
    found = machine.installation().modes().eigenvalue
    assert found.shape == (12,)
    distance = np.abs(found[:, None] - wanted[None, :])
    row, column = linear_sum_assignment(distance)
    assert sorted(column) == list(range(12))
    assert distance[row, column].max() < 1e-9 * np.abs(wanted).max()


@MANY
@given(machines())
def test_damped_eigenvalues_are_roots_of_the_dynamic_stiffness_with_loss_factors(machine):
    m, k, h, c = machine.m(), machine.k(), machine.h(), machine.c()
    inverse = np.linalg.inv(m)
    state = np.block([[np.zeros((6, 6)), np.eye(6)], [-inverse @ (k + 1j * h), -inverse @ c]])
    roots = sl.eig(state, right=False)
    found = machine.installation().modes().eigenvalue
    upper = found[found.imag > 0]
    assert len(upper) == 6
    for s in upper:
        assert np.abs(roots - s).min() < 1e-9 * np.abs(roots).max()


@MANY
@given(machines())
def test_transmissibility_and_mount_forces_are_those_of_numpy_solve(machine):
    m, k, h, c = machine.m(), machine.k(), machine.h(), machine.c()
    inst = machine.installation()
    found = inst.transmissibility(FREQUENCY)
    vertical = inst.vertical_transmissibility(FREQUENCY)
    scale = machine.scale()[:, None] / machine.scale()[None, :]
    for i, w in enumerate(2 * np.pi * FREQUENCY):
        d = k + 1j * h + 1j * w * c
        x = np.linalg.solve(d - w**2 * m, np.eye(6))
        agree(found.matrix[i], d @ x, scale=scale)
        assert abs(vertical[i] - abs((d @ x)[2, 2])) < 1e-9 * np.abs((d @ x) / scale).max()
        assert found.vertical[i] == pytest.approx(vertical[i], rel=1e-9, abs=1e-12)
        forces = []
        for port, mount in zip(machine.ports, machine.mounts, strict=True):
            law = (1 + 1j * loss(mount)[:3]) * mount["stiffness"] + 1j * w * mount["damping"]
            axes = port[:3, :3]
            forces.append(axes @ np.diag(law) @ port[:, :3].T @ x)
        agree(found.mount[i], forces, scale=1 / machine.scale())


@MANY
@given(machines(), three(st.floats(-1e4, 1e4)), three(st.floats(-2, 2)))
def test_response_to_a_wrench_at_a_point_is_that_of_numpy_solve(machine, force, at):
    force = np.add(force, [0, 0, 2e4])
    moment = [300.0, -200.0, 500.0]
    load = machine.wrench_at(force, at)
    load[3:] += moment
    found = machine.installation().response(FREQUENCY, uf.Wrench(force, moment, at))
    for i, w in enumerate(2 * np.pi * FREQUENCY):
        d = machine.k() + 1j * machine.h() + 1j * w * machine.c()
        x = np.linalg.solve(d - w**2 * machine.m(), load)
        agree(found.displacement[i], x, scale=1 / machine.scale())
        agree(found.ground_wrench[i], d @ x, scale=machine.scale())


@MANY
@given(machines())
def test_statics_is_numpy_solve_with_the_static_stiffness(machine):
    statics = machine.installation().statics()
    weight = np.array([0, 0, -machine.mass * 9.80665, 0, 0, 0])
    wanted = np.linalg.solve(machine.k_static(), weight)
    agree(statics.displacement, wanted, scale=1 / machine.scale())
    loads = [
        -port[:3, :3] @ (mount["static_stiffness"] * (port[:, :3].T @ wanted))
        for port, mount in zip(machine.ports, machine.mounts, strict=True)
    ]
    agree(statics.load, loads)


# Each shape in smooth pieces (end, force at t), for P = 2e4 and T = 0.03.
P, T = 2e4, 0.03
SHAPES = {
    "half-sine": (uf.HalfSine(P, T), [(T, lambda t: P * np.sin(np.pi * t / T))]),
    "haversine": (uf.Haversine(P, T), [(T, lambda t: P * np.sin(np.pi * t / T) ** 2)]),
    "rectangular": (uf.Rectangular(P, T), [(T, lambda t: P)]),
    "triangular": (
        uf.Triangular(P, T),
        [(T / 2, lambda t: 2 * P * t / T), (T, lambda t: 2 * P * (1 - t / T))],
    ),
    "initial peak": (uf.InitialPeakSawtooth(P, T), [(T, lambda t: P * (1 - t / T))]),
    "terminal peak": (uf.TerminalPeakSawtooth(P, T), [(T, lambda t: P * t / T)]),
    "ramp step": (
        uf.RampStep(P, T / 3, 2 * T / 3),
        [(T / 3, lambda t: 3 * P * t / T), (T, lambda t: P)],
    ),
    "decay": (uf.ExponentialDecay(P, T / 4, T), [(T, lambda t: P * np.exp(-4 * t / T))]),
}


def integrate(machine, load, pieces, time):
    """Displacement and velocity at the times by DOP853, piece by piece."""
    inverse = np.linalg.inv(machine.m())
    k, c, push = inverse @ machine.k(), inverse @ machine.c(), inverse @ load
    peak = np.abs(np.linalg.solve(machine.k(), load * P)).max()
    state, start, rows = np.zeros(12), 0.0, []
    for end, force in [*pieces, (time[-1] + 1e-3, lambda t: 0.0)]:

        def slope(t, y, force=force):
            return np.concatenate([y[6:], push * force(t) - k @ y[:6] - c @ y[6:]])

        inside = time[(time >= start) & (time < end)]
        span = np.concatenate([inside, [end]])
        done = solve_ivp(
            slope, (start, end), state, method="DOP853", t_eval=span, rtol=1e-12, atol=1e-13 * peak
        )
        assert done.success
        rows.append(done.y[:, :-1])
        state, start = done.y[:, -1], end
    both = np.concatenate(rows, axis=1).T
    assert len(both) == len(time)
    return both[:, :6], both[:, 6:]


@pytest.mark.parametrize("shape", SHAPES)
@FEW
@given(machine=machines(viscous=True), at=three(st.floats(-1.5, 1.5)))
def test_a_shock_is_what_dop853_integrates(shape, machine, at):
    pulse, pieces = SHAPES[shape]
    direction = np.array([0.48, -0.6, 0.64])
    shock = machine.installation().shock(pulse, direction, at, duration=0.2, dt=1e-3)
    load = machine.wrench_at(direction, at)
    x, v = integrate(machine, load, pieces, shock.time)
    agree(shock.displacement, x, 1e-8, 1 / machine.scale())
    agree(shock.velocity, v, 1e-8, 1 / machine.scale())
    a = np.linalg.solve(machine.m(), -machine.k() @ x.T - machine.c() @ v.T).T
    force = np.array([pulse.value(t) for t in shock.time])
    a += np.linalg.solve(machine.m(), load) * np.reshape(force, (-1, 1))
    agree(shock.acceleration, a, 1e-8, 1 / machine.scale())


STYPE = {
    "absolute_acceleration": "absacce",
    "relative_displacement": "reldisp",
    "pseudo_acceleration": "pacce",
}


@pytest.mark.parametrize("response", STYPE)
@MANY
@given(
    st.lists(st.floats(-10, 10), min_size=30, max_size=120),
    st.floats(0.01, 0.3),
    spread(2.0, 100.0),
)
def test_the_spectrum_of_a_record_is_that_of_pyyeti(response, record, zeta, frequency):
    # Both end the record by a straight line to zero and follow one period of free vibration.
    record, rate = np.array([*record, 1.0]), 1000.0
    options = {"stype": STYPE[response], "rolloff": "none", "time": "total", "parallel": "no"}
    found = uf.shock_response_spectrum(record, rate, [frequency], zeta, response)
    for name, peak in (("maximax", "abs"), ("positive", "poss"), ("negative", "negs")):
        (wanted,) = srs(record, rate, np.array([frequency]), 1 / (2 * zeta), peak=peak, **options)
        if response == "pseudo_acceleration" and name != "maximax":
            # pyyeti keeps the sign of y; here -omega^2 y has that of the absolute acceleration.
            other = "negs" if peak == "poss" else "poss"
            wanted = -srs(record, rate, [frequency], 1 / (2 * zeta), peak=other, **options)[0]
        wanted = max(-wanted if name == "negative" else wanted, 0.0)
        scale = found.maximax[0]
        assert getattr(found, name)[0] == pytest.approx(wanted, abs=1e-9 * scale)


@pytest.mark.parametrize("shape", SHAPES)
def test_the_spectrum_of_a_pulse_is_that_of_its_dense_samples(shape):
    pulse, _ = SHAPES[shape]
    # At higher rates the coefficients of the usual filter lose their digits (as (omega T)^-3).
    rate = 4e5
    # A sample in the middle of the step halves what a straight line makes of a jump.
    time = (np.arange(int(T * rate)) + 0.5) / rate
    record = np.asarray(pulse.value(time))
    frequency = [7.0, 25.0, 60.0, 180.0]
    for response, stype in STYPE.items():
        exact = uf.shock_response_spectrum(pulse, None, frequency, 0.05, response)
        theirs = srs(
            record, rate, np.array(frequency), 10.0, stype=stype, rolloff="none", time="total",
            parallel="no",
        )  # fmt: skip
        np.testing.assert_allclose(exact.maximax, theirs, rtol=1e-4)
