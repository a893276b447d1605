"""Probabilities, bands, Sobol indices, tornado tables and search, against other libraries
and closed forms."""

import numpy as np
import pytest
import underfoot as uf
from example_job import SHORT, short_job
from scipy.optimize import brentq, minimize_scalar
from scipy.stats import norm
from underfoot.sweeps.uncertainty import saltelli_samples

FEET = [(x, y, 0) for x in (-1.3, 1.3) for y in (-0.9, 0.9)]
BODY = uf.RigidBody(40e3, (0, 0, 1.2), (60e3, 50e3, 40e3))
EVEN = uf.Installation(BODY, [uf.Mount(r, (2e7, 2e7, 4e7), loss_factor=0.1) for r in FEET])


def test_the_probability_that_a_check_holds_is_the_normal_one():
    # A range that ends where the load of a likely mass does.
    text = SHORT.replace('max = "160 kN"', 'max = "130 kN"')
    job, check = uf.Job.from_text(text), "greatest static load of mount front left"

    def margin(mass):
        found = uf.sweep(job, {"machine.mass": [mass]}, "margin")
        names = [name for name in found.check.values if name.startswith(check)]
        return found.margin.sel(check=names[0]).item(), names[0]

    limit = brentq(lambda m: margin(m)[0], 42e3, 53e3, xtol=1.0)
    mean, sd = limit * 0.97, limit * 0.05
    swept = uf.sweep(job, {"machine.mass": uf.normal(mean, sd)}, "margin", samples=512, seed=1)
    found = uf.probability(swept)
    one = found.sel(check=margin(42e3)[1])
    # A Sobol sample of n points in one dimension is off by 1 / n at most.
    assert one.probability.item() == pytest.approx(norm.cdf((limit - mean) / sd), abs=1 / 512)
    assert found["all"].item() <= found.probability.min().item()
    assert one.standard_error.item() == pytest.approx(
        np.sqrt(one.probability.item() * (1 - one.probability.item()) / 512)
    )


def test_correlated_tolerances_spread_more_than_independent_ones():
    # The vertical frequency squared is the sum of four stiffnesses over the mass: one batch of
    # rubber moves it four times as much as one pad, four pads by themselves only twice as much.
    d = uf.normal(4e7, 2e6)
    each = {f"mounts[{i}].stiffness[z]": d for i in range(4)}

    def spread(axes):
        found = uf.sweep(EVEN, axes, "transmissibility", frequencies=[60], samples=4096)
        return found.transmissibility.std("sample").item()

    together, alone = spread({tuple(each): d}), spread(each)
    correlated = spread(uf.correlated(each, 0.999999))
    assert together / alone == pytest.approx(2, rel=0.05)
    assert correlated / together == pytest.approx(1, rel=0.02)


def test_bands_of_a_curve_are_its_values_at_the_percentiles_of_the_input():
    # Above resonance a stiffer mount lets more through: percentiles go with the stiffness.
    frequency = [40.0, 60.0]
    d = uf.normal(4e7, 4e6)
    swept = uf.sweep(
        EVEN, {"mounts.stiffness[z]": d}, "transmissibility", frequencies=frequency, samples=4096
    )
    found = uf.bands(swept, [5, 50, 95])
    stiffness = 4e7 + 4e6 * norm.ppf([0.05, 0.5, 0.95])
    known = uf.sweep(
        EVEN, {"mounts.stiffness[z]": stiffness}, "transmissibility", frequencies=frequency
    )
    assert found.transmissibility.dims == ("percentile", "frequency")
    np.testing.assert_allclose(found.transmissibility, known.transmissibility, rtol=2e-3)


AXES = {
    "mass": uf.normal(40e3, 4e3),
    "gravity": uf.normal(9.8, 1.5),
    "mounts.stiffness[x]": uf.uniform(1e7, 3e7),
}


def test_sobol_indices_of_a_product_are_the_closed_form():
    # Each of four mounts carries m g / 4. Var = sm^2 g^2 + sg^2 m^2 + sm^2 sg^2.
    found = uf.sobol_indices(EVEN, AXES, "mount_load", samples=4096)
    sm, sg = 4e3 * 9.8, 1.5 * 40e3
    both = 4e3 * 1.5
    variance = sm**2 + sg**2 + both**2
    first = np.array([sm**2, sg**2, 0]) / variance
    total = (np.array([sm**2, sg**2, 0]) + np.array([both**2, both**2, 0])) / variance
    one = found.sel(case="as it runs", mount="mount 1")
    np.testing.assert_allclose(one.mount_load_first, first, atol=0.01)
    np.testing.assert_allclose(one.mount_load_total, total, atol=0.01)


def test_sobol_indices_are_those_of_another_library():
    from SALib.analyze import sobol

    n, outputs = 256, "transmissibility"
    found = uf.sobol_indices(EVEN, AXES, outputs, samples=n, seed=4, frequencies=[30])
    x = saltelli_samples(EVEN, AXES, n, 4)
    values = {path: x[..., i].ravel() for i, path in enumerate(AXES)}
    y = uf.sweep(EVEN, uf.paired(values), outputs, frequencies=[30]).transmissibility.values[:, 0]
    problem = {"num_vars": 3, "names": list(AXES), "bounds": [[0, 1]] * 3}
    known = sobol.analyze(problem, y, calc_second_order=False, num_resamples=2, seed=1)
    ours = found.transmissibility_first.squeeze(), found.transmissibility_total.squeeze()
    np.testing.assert_allclose(ours[0], known["S1"], rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(ours[1], known["ST"], rtol=1e-9, atol=1e-9)


def test_a_tornado_moves_one_input_at_a_time():
    job = short_job()
    table = uf.tornado(job, ["mode_frequency"])
    banded = [i for i in job.inputs if i.low is not None or i.high is not None]
    assert set(table.input.values) == {i.path for i in banded if not i.informational}
    mass = next(i for i in banded if i.path == "machine.mass")
    heavy = job.with_input("machine.mass", mass.high).installation.modes().frequency
    one = table.mode_frequency.sel(input="machine.mass", end="high")
    np.testing.assert_allclose(one, heavy, rtol=1e-10)
    np.testing.assert_allclose(
        table.mode_frequency_base, job.installation.modes().frequency, rtol=1e-10
    )
    swing = abs(table.mode_frequency.sel(end="high") - table.mode_frequency.sel(end="low"))
    np.testing.assert_array_equal(table.mode_frequency_swing, swing)


def test_a_search_finds_the_stiffness_of_a_wanted_frequency():
    # Heave alone: (2 pi f)^2 m = 4 k.
    wanted = 5.0
    target = uf.objective(
        EVEN,
        {"mounts.stiffness[z]": ("1 kN/mm", "100 kN/mm")},
        "mode_frequency",
        lambda d: ((d.mode_frequency - wanted) ** 2).min("mode"),
    )
    found = minimize_scalar(
        lambda k: target([k]), bounds=(5e6, 2e7), method="bounded", options={"xatol": 1.0}
    )
    # The roots of other modes are not near: heave is the one that passes 5 Hz here.
    heave = (2 * np.pi * wanted) ** 2 * 40e3 / 4
    assert found.x == pytest.approx(heave, rel=1e-5)
    assert target.bounds == [(1e6, 1e8)]


def test_a_population_is_one_sweep_and_margins_are_kept():
    pymoo = pytest.importorskip("pymoo")
    assert pymoo
    from pymoo.algorithms.moo.nsga2 import NSGA2
    from pymoo.optimize import minimize

    def limit(d):
        return 1 - d.transmissibility.isel(frequency=0) / 0.3

    target = uf.objective(
        EVEN,
        {"mounts.stiffness[z]": (1e6, 1e8), "mounts.loss_factor": (0.02, 0.4)},
        ["transmissibility", "mount_deflection"],
        [
            lambda d: d.mount_deflection.max(("case", "mount")),
            lambda d: d.transmissibility.isel(frequency=1),
        ],
        limit,
        frequencies=[20, 40],
    )
    found = minimize(target.problem(), NSGA2(pop_size=24), ("n_gen", 12), seed=1, verbose=False)
    assert len(found.F) > 3
    objectives, margins = target.evaluate(found.X)
    np.testing.assert_array_equal(objectives, found.F)
    assert (margins >= 0).all()
    # Nothing of the front is worse in both than another.
    for a in found.F:
        assert not ((a >= found.F).all(axis=1) & (a > found.F).any(axis=1)).any()


def test_designs_that_fail_are_never_best():
    target = uf.objective(
        EVEN, {"mass": (-1e4, 5e4)}, "mode_frequency", lambda d: d.mode_frequency.isel(mode=0)
    )
    objectives, _ = target.evaluate([[-5e3], [4e4]])
    assert objectives[0, 0] == np.inf and np.isfinite(objectives[1, 0])


@pytest.mark.parametrize(
    "call, words",
    [
        (
            lambda: uf.objective(EVEN, {"mass": (5.0, 1.0)}, "mode_frequency", "mode_frequency"),
            "lower",
        ),
        (lambda: uf.bands(uf.sweep(EVEN, {"mass": [4e4]}, "mode_frequency")), "samples"),
        (lambda: uf.probability(uf.sweep(EVEN, {"mass": [4e4]}, "mode_frequency")), "margin"),
        (lambda: uf.sobol_indices(EVEN, {"mass": [4e4]}, "mode_frequency"), "independent"),
        (lambda: uf.tornado(EVEN, "mode_frequency"), "nothing to move"),
        (lambda: uf.correlated({"mass": uf.normal(1, 1)}, [[1, 2]]), "correlation"),
        (
            lambda: uf.sweep(
                EVEN,
                uf.correlated({"mass": uf.normal(1, 1), "gravity": uf.normal(9, 1)}, 1.5),
                "tilt",
                samples=2,
            ),
            "positive definite",
        ),
    ],
)
def test_bad_input_is_told(call, words):
    with pytest.raises(uf.UnderfootError, match=words):
        call()


def test_the_bands_of_a_job_are_tolerances_and_the_command_prints_probabilities(capsys, tmp_path):
    from underfoot.cli import main

    job = short_job()
    axes = uf.tolerances(job)
    mass = next(i for i in job.inputs if i.path == "machine.mass")
    assert axes["machine.mass"] == uf.uniform(mass.low, mass.high)
    path = tmp_path / "job.toml"
    path.write_text(job.text)
    assert main(["sweep", str(path), "--samples", "16"]) == 0
    printed = capsys.readouterr().out
    known = uf.probability(uf.sweep(job, axes, "margin", samples=16))
    for name, chance in zip(known.check.values, known.probability.values, strict=True):
        assert f"{100 * chance:7.2f} %  {name}\n" in printed
    assert "all of them together" in printed
