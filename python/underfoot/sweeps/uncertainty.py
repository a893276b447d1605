"""How sure is it? Probabilities that checks hold, percentile bands, Sobol indices, a tornado table.

Statistics of swept numbers; what is swept is computed by the core.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from underfoot.sweeps.distributions import Correlated, Distribution, Paired, paired, uniform
from underfoot.sweeps.plan import SAMPLE, invalid
from underfoot.sweeps.sweep import axes as legal_axes
from underfoot.sweeps.sweep import sweep


def tolerances(job: Any) -> dict[Any, Distribution]:
    """The bands of a job as axes of a sweep: each input equally likely from low to high.

    A band is the range that the job states, not a probability: equal likelihood is an assumption,
    and mostly a cautious one.
    """
    found = {}
    for i in job.inputs:
        if not i.informational and (i.low is not None or i.high is not None):
            low, high = (i.value if end is None else end for end in (i.low, i.high))
            if low < high:
                found[i.path] = uniform(low, high)
    if not found:
        what = "has no input with a band"
        raise invalid("job", repr(job), what, "give bands, or axes of your own")
    return found


def probability(swept: Any) -> Any:
    """Probability that each check holds, given the tolerances that were sampled.

    Parameters
    ----------
    swept : xarray.Dataset
        From a sweep over distributions with the output `margin`.

    Returns
    -------
    xarray.Dataset
        By check: `probability` that its margin is not negative, `standard_error` of that (of a
        random sample; a Sobol sample is mostly closer), and `all`: that all hold together.

    Notes
    -----
    A design that fails (a free motion, say) holds none of its checks. The standard error of a
    probability p of n samples is sqrt(p (1 - p) / n).
    """
    if "margin" not in swept or SAMPLE not in swept.margin.dims:
        what = "needs the output margin over samples"
        raise invalid("swept", list(swept.data_vars), what, "sweep a Job over distributions")
    holds = swept.margin >= 0
    chance = holds.mean(SAMPLE)
    together = holds.all("check").mean(SAMPLE)
    count = swept.sizes[SAMPLE]
    found = chance.to_dataset(name="probability")
    found["standard_error"] = np.sqrt(chance * (1 - chance) / count)
    found["all"] = together
    found["probability"].attrs = {"units": "1", "long_name": "probability that the check holds"}
    found["all"].attrs = {"units": "1", "long_name": "probability that all checks hold together"}
    found["standard_error"].attrs = {"units": "1", "long_name": "standard error of the probability"}
    return found


def bands(swept: Any, percentiles: Sequence[float] = (5, 50, 95)) -> Any:
    """Percentile bands of every output over the samples, such as those of a transmissibility curve.

    Parameters
    ----------
    swept : xarray.Dataset
        From a sweep over distributions.
    percentiles : sequence of float
        Per cent, 0 to 100.

    Returns
    -------
    xarray.Dataset
        The real outputs with the dim `percentile` in place of `sample`; designs that failed are
        left out.
    """
    if SAMPLE not in swept.dims:
        what = "needs samples"
        raise invalid("swept", list(swept.dims), what, "sweep over distributions")
    parts = np.asarray(percentiles, float)
    if parts.ndim != 1 or parts.size == 0 or not ((parts >= 0) & (parts <= 100)).all():
        raise invalid("percentiles", percentiles, "must lie between 0 and 100", "give per cent")
    real = [
        name
        for name, values in swept.data_vars.items()
        if values.dtype.kind == "f" and SAMPLE in values.dims
    ]
    found = swept[real].quantile(parts / 100, SAMPLE, skipna=True, keep_attrs=True)
    return found.rename(quantile="percentile").assign_coords(
        percentile=("percentile", parts, {"units": "%"})
    )


def sobol_indices(
    base: Any,
    axes: Mapping[Any, Distribution],
    outputs: str | Sequence[str],
    *,
    samples: int = 1024,
    seed: int = 0,
    **options: Any,
) -> Any:
    """Which input matters how much? First-order and total Sobol indices of every output.

    S_i = Var(E(y | x_i)) / Var(y), the part of the variance that input i explains alone;
    T_i = E(Var(y | all but x_i)) / Var(y), with all its interactions.

    Parameters
    ----------
    base, outputs
        As for `sweep`.
    axes : mapping of path -> distribution
        Independent inputs.
    samples : int
        Base samples n, a power of two; n (inputs + 2) designs are computed.
    seed : int
        Seed of the samples.
    options
        Further arguments of `sweep`: frequencies, shocks, threads, progress ...

    Returns
    -------
    xarray.Dataset
        `<output>_first` and `<output>_total` with the dim `input` first; NaN where the output does
        not vary, or a design failed.

    Notes
    -----
    Estimators: first order after A. Saltelli et al., Computer Physics Communications 181 (2010),
    p. 259, table 2 (b): S_i = mean(f_B (f_ABi - f_A)) / Var, total after M. J. W. Jansen, Computer
    Physics Communications 117 (1999), p. 35: T_i = mean((f_A - f_ABi)^2) / (2 Var), with the
    variance over A and B together and f counted from its mean (both from memory; held against
    another library in the tests).
    """
    if not isinstance(axes, Mapping) or not all(isinstance(d, Distribution) for d in axes.values()):
        what = "must be a mapping of path -> distribution (independent inputs)"
        raise invalid("axes", repr(axes), what, "Sobol indices are defined for independent inputs")
    matrices = saltelli_samples(base, axes, samples, seed, options.get("shocks"))
    values = {key: matrices[..., i].ravel() for i, key in enumerate(axes)}
    swept = sweep(base, paired(values, dim="design"), outputs, **options)
    return _indices(swept, [_name(key) for key in axes], samples)


def saltelli_samples(
    base: Any, axes: Mapping[Any, Distribution], samples: int, seed: int, shocks: Any = None
) -> np.ndarray:
    """Values of the inputs, (n, inputs + 2, inputs): A, then A with column i of B, then B."""
    from underfoot.sweeps import plan

    count = len(axes)
    # A point of twice the dimensions gives a row of A and one of B; the first of a pair of equal
    # distributions is A's.
    twice = {("A", key): d for key, d in axes.items()} | {("B", key): d for key, d in axes.items()}
    columns = plan.draws(base, list(twice.items()), samples, seed, shocks)
    a, b = columns[:count].T, columns[count:].T
    rows = np.repeat(a[:, None, :], count + 2, axis=1)
    for i in range(count):
        rows[:, i + 1, i] = b[:, i]
    rows[:, -1, :] = b
    return rows


def _indices(swept: Any, names: list[str], samples: int) -> Any:
    import xarray as xr

    count = len(names)
    found: dict[str, Any] = {}
    for name, values in swept.data_vars.items():
        if values.dtype.kind != "f":
            continue
        shape = (samples, count + 2, *values.shape[1:])
        f = values.values.reshape(shape)
        # Offsets cancel in exact arithmetic; counted from the mean they do so in rounding too.
        f = f - f.mean(axis=(0, 1))
        a, mixed, b = f[:, 0], f[:, 1:-1], f[:, -1]
        with np.errstate(invalid="ignore", divide="ignore"):
            variance = np.var(np.concatenate([a, b]), axis=0)
            first = np.mean(b[:, None] * (mixed - a[:, None]), axis=0) / variance
            total = 0.5 * np.mean((a[:, None] - mixed) ** 2, axis=0) / variance
        for suffix, index in (("first", first), ("total", total)):
            long_name = f"{suffix}-order Sobol index" if suffix == "first" else "total Sobol index"
            attrs = {"units": "1", "long_name": f"{long_name} of {values.attrs['long_name']}"}
            found[f"{name}_{suffix}"] = (("input", *values.dims[1:]), index, attrs)
    coords = {k: v for k, v in swept.coords.items() if "design" not in v.dims}
    attrs = {**swept.attrs, "samples": samples}
    return xr.Dataset(found, coords={"input": names, **coords}, attrs=attrs)


def tornado(
    base: Any,
    outputs: str | Sequence[str],
    axes: Mapping[Any, Any] | None = None,
    **options: Any,
) -> Any:
    """Each input in turn to the two ends of its tolerance, all others as given.

    Parameters
    ----------
    base, outputs
        As for `sweep`.
    axes : mapping of path -> (low, high) or distribution, optional
        Ends of each input; of a distribution its 5th and 95th percentile. By default every input of
        a job that has a band.
    options
        Further arguments of `sweep`.

    Returns
    -------
    xarray.Dataset
        Outputs with the dims `input` and `end` (low, high), `<output>_base` for the inputs as
        given, and `<output>_swing` = |high - low| to rank them by.
    """
    import xarray as xr

    legal = {a.path: a for a in legal_axes(base, options.get("shocks"))}
    if axes is None:
        axes = {
            i.path: (i.value if i.low is None else i.low, i.value if i.high is None else i.high)
            for i in getattr(base, "inputs", [])
            if (i.low is not None or i.high is not None) and not i.informational
        }
    if not axes:
        what = "has nothing to move"
        raise invalid("axes", "none", what, "give axes, or bands in the job")
    found = []
    given: Any = None
    for key, ends in axes.items():
        if isinstance(ends, (Paired, Correlated)):
            raise invalid("axes", repr(ends), "must be (low, high) or a distribution", "give ends")
        if isinstance(ends, Distribution):
            from underfoot.sweeps import plan

            ends = plan.percentiles(base, key, ends, (0.05, 0.95), options.get("shocks"))
        low, high = ends
        one = sweep(base, paired({key: [low, high]}, dim="end"), outputs, **options)
        found.append(one.drop_vars([c for c in one.coords if one[c].dims == ("end",)]))
        if given is None and not isinstance(key, str):
            key = next(iter(key))
        if given is None and key in legal and legal[key].value is not None:
            still = paired({key: [legal[key].value]}, dim="end")
            given = sweep(base, still, outputs, **options).isel(end=0, drop=True)
    table = xr.concat(found, dim=xr.IndexVariable("input", [_name(k) for k in axes]))
    table = table.assign_coords(end=["low", "high"])
    for name in [n for n, v in table.data_vars.items() if v.dtype.kind == "f"]:
        swing = abs(table[name].sel(end="high") - table[name].sel(end="low"))
        table[f"{name}_swing"] = swing.drop_vars("end", errors="ignore")
        if given is not None:
            table[f"{name}_base"] = given[name]
    return table


def _name(key: Any) -> str:
    return key if isinstance(key, str) else " & ".join(key)
