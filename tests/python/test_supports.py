"""Pads, coils, air springs and dampers against SciPy, and as users meet them."""

import pickle

import numpy as np
import pytest
import underfoot as uf
from scipy import integrate, optimize, special

HERE = (0, 0, 0)


def disc(**given):
    return uf.RubberPad(60, uf.Disc("100 mm"), "25 mm", **given)


def slender():
    return uf.CoilSpring("20 mm", "100 mm", 6, "400 mm")


@pytest.mark.parametrize("law", ["linear", "constant_shape", "growing_shape"])
def test_the_strain_under_a_load_is_that_of_brentq(law):
    pad = disc(law=law)
    for load in (10.0, 2e3, 9e3, 2e4):
        found = optimize.brentq(lambda e, f=load: pad.force([e])[0] - f, 0, 0.5, xtol=1e-15)
        assert pad.strain(load) == pytest.approx(found, rel=1e-10)
        h = 1e-5
        slope = (pad.force([found + h]) - pad.force([found - h]))[0] / (2 * h * 0.025)
        assert pad.tangent_stiffness(load) == pytest.approx(slope, rel=1e-7)
        assert pad.secant_stiffness(load) == pytest.approx(load / (found * 0.025), rel=1e-9)


def test_the_exact_bulk_term_is_that_of_the_bessel_functions_of_scipy():
    for thickness in (0.05, 0.01, 0.002, 0.0005):
        pad = uf.RubberPad(60, uf.Disc(0.1), thickness, bulk="exact")
        e0, k = pad.young_modulus, pad.bulk_modulus
        b = np.sqrt(8 * e0 * 2 * pad.phi * pad.shape_factor**2 / k)
        pressure = k * special.iv(2, b) / special.iv(0, b)
        assert pad.apparent_modulus == pytest.approx(e0 + pressure, rel=1e-12)


def test_friction_limited_compression_is_the_integral_of_scipy():
    for s, mu in [(0.5, 0.3), (1, 0.2), (2, 0.5), (4, 0.1), (4, 1.0), (1, 1e-6)]:
        thickness = 0.1 / (4 * s)
        pad = uf.RubberPad(60, uf.Disc(0.1), thickness, friction=mu, phi=1, bulk="incompressible")
        rho = 2 * s
        z = optimize.brentq(
            lambda z, m=mu, r=rho: z - m * np.exp(2 * m * (r - z)), 0, rho, xtol=1e-15
        )

        def stress(x, m=mu, r=rho, z=z):
            stuck = z * z - x * x if x < z else 0.0
            return np.exp(2 * m * (r - max(x, z))) + stuck

        whole = integrate.quad(lambda x: stress(x) * x, 0, rho, points=[z], epsrel=1e-12)[0]
        ratio = 2 / rho**2 * whole
        assert pad.apparent_modulus / pad.young_modulus == pytest.approx(ratio, rel=1e-9)


def test_the_thin_pad_constant_of_a_rectangle_is_that_of_finite_differences():
    # lap(w) = -1 on a grid, by the fast sine transform: exact for the difference equation.
    from scipy.fft import dstn, idstn

    a, b, found = 1.0, 2.0, []
    for n in (64, 128):
        h = a / n
        m = round(b / h)
        rhs = np.ones((n - 1, m - 1))
        i = np.arange(1, n)[:, None]
        j = np.arange(1, m)[None, :]
        eigen = (2 - 2 * np.cos(np.pi * i / n)) / h**2 + (2 - 2 * np.cos(np.pi * j / m)) / h**2
        w = idstn(dstn(rhs, type=1) / eigen, type=1)
        mean = w.sum() * h * h / (a * b)
        found.append((12 * mean / (a * b / (2 * (a + b))) ** 2, w.max() / mean))
    constant, peak = ((4 * fine - coarse) / 3 for coarse, fine in zip(*found, strict=True))
    shape = uf.Rectangle(a, b)
    assert shape.thin_pad_constant == pytest.approx(constant, rel=1e-6)
    assert shape.peak_over_mean == pytest.approx(peak, rel=1e-5)


def test_shear_under_load_is_the_boundary_value_problem_of_haringx():
    # Force in the section H + P theta with H = 1: w' = theta + (1 + P theta) / S, B theta' = -M,
    # M' = 1 + P w'; theta = 0 at foot and top.
    pad = uf.RubberPad(45, uf.Disc("50 mm"), "50 mm", bending_modulus="1.8 MPa")
    area = np.pi * 0.05**2 / 4
    s, b, h = pad.shear_modulus * area, 1.8e6 * area * 0.05**2 / 16, 0.05
    for load in (0.0, 300.0, 700.0):

        def slopes(x, y, p=load):
            _, theta, moment = y
            section = 1.0 + p * theta
            lean = theta + section / s
            return [lean, -moment / b, 1.0 + p * lean]

        def end(start, p=load):
            y0 = [0.0, 0.0, start]
            run = integrate.solve_ivp(slopes, (0, h), y0, rtol=1e-12, atol=1e-18)
            return run.y[:, -1]

        # Linear in the unknown moment at the foot.
        zero, one = end(0.0), end(1.0)
        start = -zero[1] / (one[1] - zero[1])
        top = zero[0] + start * (one[0] - zero[0])
        assert pad.lateral_stiffness(load)[0] == pytest.approx(1 / top, rel=1e-8)


def test_a_pad_beyond_its_rubber_is_refused_with_its_range():
    with pytest.raises(uf.InvalidError, match=r"hardness = -5 IRHD: .*30 to 75 IRHD"):
        uf.RubberPad(-5, uf.Disc("100 mm"), "20 mm", bonded=True)
    pad = uf.RubberPad(55, uf.Disc("100 mm"), "20 mm", bonded=True)
    with pytest.raises(uf.InvalidError, match=r"load = 100000000 N"):
        pad.lateral_stiffness(1e8)


def test_a_coil_buckles_where_brentq_finds_its_lateral_stiffness_zero():
    spring = slender()
    k = spring.axial_stiffness
    lateral = optimize.brentq(lambda s: spring.lateral_stiffness(k * s), 0.06, 0.1, xtol=1e-14)
    assert spring.buckling_deflection == pytest.approx(lateral, rel=1e-9)
    assert spring.lateral_stiffness(1.1 * k * lateral) < 0
    assert uf.CoilSpring("20 mm", "100 mm", 6, "250 mm").buckling_deflection is None


def test_surge_is_the_lowest_frequency_of_a_chain_of_masses():
    spring = slender()
    n = 400
    k, m = spring.axial_stiffness * n, 7850 * np.pi * 0.01**2 * np.pi * 0.1 * 6 / n
    lowest = 2 * np.sqrt(k / m) * np.sin(np.pi / (2 * n)) / (2 * np.pi)
    assert spring.surge_frequency == pytest.approx(lowest, rel=1e-4)


def test_a_pad_is_the_mount_that_a_study_of_modes_takes():
    pad = disc(dynamic_factor=1.4, loss_factor=0.1)
    feet = [(x, y, 0) for x in (-0.6, 0.6) for y in (-0.4, 0.4)]
    mounts = [pad.mount(foot, f"foot {i}", load="8 kN") for i, foot in enumerate(feet)]
    body = uf.RigidBody(32e3 / 9.80665, (0, 0, 0), (400, 600, 700))
    inst = uf.Installation(body, mounts)
    np.testing.assert_allclose(inst.statics().deflection[:, 2], pad.strain(8e3) * 0.025, rtol=1e-12)
    heave = np.sqrt(4 * 1.4 * pad.tangent_stiffness(8e3) / body.mass) / (2 * np.pi)
    assert np.min(np.abs(inst.modes().frequency - heave)) < 1e-9 * heave


def test_bonding_friction_and_oil_go_down_in_that_order():
    stiffness = [
        disc(**g).compression_stiffness for g in ({}, {"friction": 0.6}, {"friction": 0.1})
    ]
    assert stiffness == sorted(stiffness, reverse=True)
    assert disc().bonded and not disc(friction=0.6).bonded
    with pytest.raises(uf.InvalidError, match="bonded = True: excludes friction"):
        disc(bonded=True, friction=0.3)
    with pytest.raises(uf.InvalidError, match="needs the friction"):
        disc(bonded=False)


def test_what_does_not_fit_is_said():
    with pytest.raises(uf.InvalidError, match=r"hardness = 90 IRHD.*30 to 75 IRHD.*young_modulus"):
        uf.RubberPad(90, uf.Disc(0.1), 0.02)
    with pytest.raises(uf.InvalidError, match="shape = 0.1.*Disc Rectangle Ring"):
        uf.RubberPad(60, 0.1, 0.02)
    with pytest.raises(uf.UnknownNameError, match=r"route.*table.*gent.*ruess.*probit"):
        disc(route="shore")
    with pytest.raises(uf.InvalidError, match="layers"):
        disc(layers=-3)
    with pytest.raises(uf.InvalidError, match=r"parts\[1\].position"):
        uf.parallel([disc().mount(HERE, linear=True), disc().mount((1, 0, 0), linear=True)])
    with pytest.raises(uf.InvalidError, match=r"parts\[0\].curve.*linear"):
        uf.parallel([disc().mount(HERE)])
    with pytest.raises(TypeError):
        uf.parallel([disc()])
    flat = uf.RubberPad(60, uf.Disc(0.1), 0.001)
    assert any("shape factor" in warning for warning in flat.warnings)


def test_a_pad_tells_its_limits_bands_and_what_moves_it():
    pad = disc()
    assert [limit.quantity for limit in pad.allowed] == ["compression", "shear", "load", "load"]
    assert pad.allowed[0].max == pytest.approx(0.15 * 0.025)
    low, high = pad.compression_band()
    assert low < pad.compression_stiffness < high
    assert low == pad.with_hardness(55).compression_stiffness
    assert set(pad.moduli_by_route()) == {"table", "gent", "ruess", "probit"}
    causes = [cause for cause, *_ in pad.spread()]
    assert len(causes) == 6 and causes[0] == "hardness 55 to 65 IRHD"
    np.testing.assert_allclose(pad.creep(["1 min", "10 min"]), [1, 1 + pad.creep_per_decade])
    mount = pad.mount(HERE)
    assert mount.allowed == pad.allowed
    assert mount.creep_per_decade == pad.creep_per_decade
    assert pickle.loads(pickle.dumps(mount)) == mount


def test_parts_side_by_side_and_in_series_are_one_mount():
    coil, damper = uf.CoilSpring("20 mm", "100 mm", 6, "250 mm"), uf.ViscousDamper("5 kN s/m")
    whole = uf.parallel([coil.mount(HERE, "coil"), damper.mount(HERE, "dashpot")])
    assert whole.name == "coil + dashpot"
    np.testing.assert_allclose(whole.damping, 5e3)
    np.testing.assert_allclose(whole.stiffness, coil.mount(HERE).stiffness)
    pad = disc().mount(HERE, linear=True)
    stacked = uf.series([pad, coil.mount(HERE)], name="foot")
    expected = 1 / (
        1 / (pad.stiffness * (1 + 1j * pad.loss_factor))
        + 1 / (coil.mount(HERE).stiffness * (1 + 0.01j))
    )
    np.testing.assert_allclose(stacked.stiffness, expected.real, rtol=1e-12)
    np.testing.assert_allclose(stacked.loss_factor, expected.imag / expected.real, rtol=1e-12)
    assert stacked.name == "foot"


def test_a_pad_carries_its_curve_unless_it_is_taken_as_linear():
    pad = disc()
    mount, linear = pad.mount(HERE), pad.mount(HERE, load="8 kN", linear=True)
    assert linear.curve is None
    assert mount.curve.force(0.002) == pytest.approx(pad.force(0.002 / 0.025), rel=1e-12)
    assert linear.stiffness[2] == pytest.approx(
        pad.tangent_stiffness(8e3) * pad.dynamic_factor, rel=1e-12
    )


def test_a_limit_says_whether_it_holds_in_motion():
    still = uf.Allowed("strain", "compression", "4 mm")
    moving = uf.Allowed("strain", "compression", "4 mm", in_motion=True)
    assert not still.in_motion and moving.in_motion and still != moving
    assert "in_motion=True" in repr(moving)
    assert pickle.loads(pickle.dumps(moving)) == moving
    coil = uf.CoilSpring("20 mm", "100 mm", 6, "250 mm")
    assert coil.mount(HERE).allowed[0].in_motion
