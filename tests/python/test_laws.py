"""Laws of motion of a mount axis: SciPy as a second method, limits, and clear refusals."""

import numpy as np
import pytest
import underfoot as uf
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, nnls

HZ = np.geomspace(0.3, 80, 23)


def press(law):
    body = uf.RigidBody(9000, (0, 0, 0), (6500, 8200, 9000))
    corners = [(-0.95, -0.7), (0.95, -0.7), (-0.95, 0.7), (0.95, 0.7)]
    return uf.Installation(body, [uf.Mount((x, y, 0), law=law) for x, y in corners])


@pytest.mark.parametrize("variable", ["frequency", "log_frequency"])
def test_a_table_is_interpolated_as_scipy_does(variable):
    rng = np.random.default_rng(3)
    rows = np.sort(rng.uniform(0.2, 100, 14))
    storage, loss = np.cumsum(rng.uniform(1e5, 1e6, 14)), rng.uniform(1e4, 4e5, 14)
    law = uf.TabulatedStiffness(rows, storage, loss, variable)
    x = np.linspace(rows[0], rows[-1], 301)[1:-1]
    see = np.log if variable == "log_frequency" else np.asarray
    found = law.at(x)
    expected = [PchipInterpolator(see(rows), y)(see(x)) for y in (storage, loss)]
    np.testing.assert_allclose(found.real, expected[0], rtol=1e-12)
    np.testing.assert_allclose(found.imag, expected[1], rtol=1e-12)
    np.testing.assert_allclose(law.at(rows), storage + 1j * loss, rtol=1e-12)
    assert (found.imag > 0).all()


def test_no_table_reaches_beyond_its_rows():
    law = uf.TabulatedStiffness([2, 10, 30], [1e6, 2e6, 3e6], [1e5, 2e5, 2e5])
    for f in (1.9, 30.1):
        with pytest.raises(uf.InvalidError, match="must lie in the table .*, 2 to 30 Hz"):
            law.at(f)
    with pytest.raises(uf.InvalidError, match="2 to 30 Hz"):
        press(law).transmissibility([5, 40])


def test_a_zener_shock_agrees_with_solve_ivp():
    k0, k1, c1, mass = 3.6e6, 2.9e6, 5.8e4, 9000
    inst = press(uf.Zener(k0, k1, c1))
    pulse = uf.HalfSine(6e4, 0.02)
    shock = inst.shock(pulse, "z", duration=0.5, dt=0.01)
    assert shock.time_model == "internal variables of the laws"

    def rate(t, u):
        x, v, xi = u
        force = np.sin(np.pi * t / 0.02) * 6e4 if t < 0.02 else 0.0
        return [v, (force - 4 * (k0 * x + k1 * (x - xi))) / mass, k1 * (x - xi) / c1]

    options = {"rtol": 1e-12, "atol": 1e-14, "method": "DOP853"}
    one = solve_ivp(rate, (0, 0.02), [0, 0, 0], t_eval=[0.01, 0.02], **options)
    two = solve_ivp(rate, (0.02, 0.5), one.y[:, -1], t_eval=shock.time[3:], **options)
    z = np.concatenate([one.y[0], two.y[0]])
    largest = np.abs(z).max()
    np.testing.assert_allclose(shock.displacement[1:, 2], z, atol=1e-9 * largest)


def test_a_mode_of_a_fractional_law_is_where_brentq_finds_it():
    law = uf.FractionalZener(3e6, 3e9, 1e-9, 0.36)
    modes = press(law).modes()
    own = brentq(
        lambda f: (2 * np.pi * f) ** 2 * 9000 - 4 * law.at(f).real[0], 0.1, 100, xtol=1e-14
    )
    assert np.abs(modes.frequency - own).min() < 1e-11 * own
    assert (modes.iterations > 0).all() and (modes.residual < 1e-12).all()
    assert modes.damping_model == "laws as they are, by iteration on each root"


def test_the_maxwell_fit_is_the_least_squares_of_nnls():
    law = uf.FractionalZener(0.7e6, 700e6, 1e-9, 0.36)
    fit = uf.maxwell_fit(law, [1e-1, 1e2], 2)
    low, high = 1e-1, 1e2
    omega = 2 * np.pi * low * (high / low) ** (np.arange(61) / 60)
    d = law.at(omega / (2 * np.pi))
    first = np.floor(-np.log10(omega[-1])) - 1
    last = np.ceil(-np.log10(omega[0]))
    tau = 10 ** np.arange(first, last + 0.1, 0.5)
    z = omega[:, None] * tau
    a = np.vstack(
        [
            np.hstack([np.ones((61, 1)), z**2 / (1 + z**2)]) / d.real[:, None],
            np.hstack([np.zeros((61, 1)), z / (1 + z**2)]) / d.imag[:, None],
        ]
    )
    x, residual = nnls(a, np.ones(122))
    at = fit.law.at(omega / (2 * np.pi))
    ours = np.hypot(np.linalg.norm(at.real / d.real - 1), np.linalg.norm(at.imag / d.imag - 1))
    assert ours == pytest.approx(residual, rel=1e-5)
    assert fit.storage_error == pytest.approx(np.abs(a[:61] @ x - 1).max(), rel=1e-2)


def test_limits_and_scale():
    law = uf.Maxwell("2 kN/mm", ["1 kN/mm", "500 N/mm"], ["10 ms", "0.2 s"])
    assert law.static_stiffness == 2e6 and law.high_frequency_stiffness == 3.5e6
    at = law.at(HZ)
    assert (np.diff(at.real) > 0).all() and (at.imag > 0).all()
    np.testing.assert_allclose(law.scaled(0.4).at(HZ), 0.4 * at, rtol=1e-14)
    assert law.at(0)[0] == 2e6
    assert uf.Viscous(1e6, 10).high_frequency_stiffness == np.inf
    series = uf.Series([law, law])
    np.testing.assert_allclose(series.at(HZ), at / 2, rtol=1e-14)
    assert series.static_stiffness == 1e6
    np.testing.assert_allclose(uf.Parallel([law, law]).at(HZ), 2 * at, rtol=1e-14)


def test_a_cold_mount_is_a_fast_mount():
    law = uf.FractionalZener(1e6, 1e9, 1e-9, 0.4)
    wlf = uf.Wlf(6.1, 146.75, 20)
    cold = uf.TemperatureShift(law, wlf, -10)
    assert cold.factor > 10
    np.testing.assert_allclose(cold.at(HZ), law.at(HZ * cold.factor), rtol=1e-13)
    with pytest.raises(uf.InvalidError, match="must be above -126.75 C"):
        wlf.shift(-130)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: uf.Zener(1e6, 1e6, -1e4), r"branch_damping = -10000 N s/m: .*at 15\.915 Hz"),
        (
            lambda: uf.Maxwell(1e6, [1e6, -2e6], [0.01, 0.02]),
            r"stiffness\[1\] = -2000000 N/m: .*Hz",
        ),
        (lambda: uf.FractionalZener(2e6, 1e6, 0.01, 0.5), r"create energy, as it would at 15\.915"),
        (lambda: uf.ComplexStiffness(1e6, -0.1), "must not create energy, as it would at every"),
        (
            lambda: uf.TabulatedStiffness([1, 2, 3], [1, 1, 1], [0, -1, 0]),
            r"stiffness\[1\] = -1 N/m of loss: .* at 2 Hz",
        ),
        (lambda: uf.TabulatedStiffness([1, 3, 2], [1, 1, 1], [0, 0, 0]), r"frequency\[2\] = 2 Hz"),
        (lambda: uf.FractionalZener(1, 2, 1, 1.2), "order = 1.2: must not be greater than 1"),
        (lambda: uf.Mount((0, 0, 0)), "stiffness = None: must be given"),
        (
            lambda: uf.Mount((0, 0, 0), (1, 1, 1), law=uf.Zener(1, 1, 1)),
            r"stiffness\[0\] = 1 N/m: must be zero where the axis has a law",
        ),
        (
            lambda: uf.Mount((0, 0, 0), loss_factor=0.1, law=uf.Zener(1, 1, 1)),
            r"loss_factor\[0\] = 0.1: must be zero where the axis has a law of its own \(zener\)",
        ),
    ],
)
def test_what_makes_no_sense_is_refused_with_the_reason(make, message):
    with pytest.raises(uf.InvalidError, match=message):
        make()


def test_a_negative_branch_is_let_through_where_the_others_outweigh_it():
    law = uf.Maxwell(1e6, [1e6, -1e5], [0.01, 0.011])
    assert (law.at(np.geomspace(1e-4, 1e5, 400)).imag > 0).all()


def test_axes_with_and_without_a_law_stand_side_by_side():
    zener = uf.Zener(2e6, 1e6, 1e4)
    mount = uf.Mount((0, 0, 0), (1e6, 1e6, 0), damping=(1e3, 1e3, 0), law=(None, None, zener))
    assert mount.law == [None, None, zener]
    assert list(mount.static_stiffness) == [1e6, 1e6, 2e6]
    stiffer = uf.Mount((0, 0, 0), law=zener, static_stiffness=(1e6, 1e6, 1e6))
    assert list(stiffer.static_stiffness) == [1e6] * 3


def test_constant_laws_are_the_same_as_stiffness_damping_and_loss_factor():
    plain = press(uf.ComplexStiffness(3e6, 0.1))
    mounts = [uf.Mount(m.position, (3e6,) * 3, loss_factor=0.1) for m in plain.mounts]
    same = uf.Installation(plain.body, mounts)
    np.testing.assert_array_equal(
        plain.transmissibility(HZ).matrix, same.transmissibility(HZ).matrix
    )
    np.testing.assert_array_equal(plain.modes().eigenvalue, same.modes().eigenvalue)
    assert (plain.modes().iterations == 0).all()


def test_a_fractional_shock_says_how_it_was_found():
    shock = press(uf.FractionalZener(3e6, 3e9, 1e-9, 0.36)).shock(
        uf.HalfSine(6e4, 0.02), "z", duration=0.5
    )
    assert "Fourier" in shock.time_model
    assert any("kinetic energy lies before the start" in w for w in shock.warnings)
    assert shock.peak("mount_force").value > 1e3
