"""Units against pint, a general-purpose library: every row of the table to 1e-15."""

from fractions import Fraction

import numpy as np
import pint
import pytest
import underfoot as uf
from underfoot import units

registry = pint.UnitRegistry(non_int_type=Fraction)
float_registry = pint.UnitRegistry()

# Symbols that pint spells otherwise. Its percent, ppm, arcsecond and so on carry our meaning.
PINT_NAMES = {
    "in": "inch",
    "thou": "thou",
    "mil": "thou",
    "t": "metric_ton",
    "d": "day",
    "h": "hour",
    "min": "minute",
    "g_n": "standard_gravity",
    "lbf": "force_pound",
    "ozf": "force_ounce",
    "kgf": "force_kilogram",
    "tonf": "force_ton",
    "tf": "force_metric_ton",
    "psf": "force_pound / foot ** 2",
    "arcmin": "arcminute",
    "arcsec": "arcsecond",
    "rev": "revolution",
    "%": "percent",
    "spm": "1 / minute",
    "cpm": "1 / minute",
    "hp": "550 * foot * force_pound / second",
    "ft": "foot",
    "short_ton": "short_ton",
    "long_ton": "long_ton",
    "Gal": "cm / s ** 2",
    "us": "microsecond",
    "um": "micrometer",
}
BASES = ("kilogram", "meter", "second", "radian")
SI = {
    name: " * ".join(f"{b} ** ({p})" for b, p in zip(BASES, kind.exponents, strict=True) if p)
    for name, kind in units.dimensions().items()
}


@pytest.mark.parametrize("unit", units.table(), ids=lambda u: u.symbol)
def test_every_unit_of_the_table_is_the_unit_of_pint(unit):
    name = PINT_NAMES.get(unit.symbol, unit.symbol)
    quantity = registry.parse_expression(name)
    if not hasattr(quantity, "to"):
        pytest.fail(f"pint does not know {name}")
    bases = zip(BASES, unit.exponents, strict=True)
    coherent = registry.Quantity(
        Fraction(1), pint.util.UnitsContainer({b: Fraction(p) for b, p in bases if p})
    )
    ratio = quantity / coherent
    pint_factor = float(ratio.to("dimensionless").magnitude)
    assert unit.factor == pytest.approx(pint_factor, rel=1e-15, abs=0)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("92000 lb", "mass"),
        ("14 inch", "length"),
        ("30000 lbf/inch", "stiffness"),
        ("5 kN/mm", "stiffness"),
        ("170 lbf s/inch", "damping"),
        ("12 lb inch^2", "inertia"),
        ("0.284 lb/inch^3", "density"),
        ("800 psi", "pressure"),
        ("2000 lbf inch", "moment"),
        ("60 deg", "angle"),
        ("0.5 mm/m", "angle"),
        ("10 percent", "ratio"),
        ("5 ms", "time"),
        ("0.2 inch/s", "velocity"),
        ("3 Hz", "frequency"),
        ("600 rpm", "angular_velocity"),
    ],
)
def test_a_quantity_as_text_and_from_pint_is_the_same(text, dimension):
    ours = units.si(text.replace("inch", "in").replace("percent", "%"), dimension, "value")
    assert units.si(float_registry(text), dimension, "value") == pytest.approx(ours, rel=2e-15)


def test_revolutions_per_minute_are_turns_where_a_frequency_is_expected():
    assert units.si("600 rpm", "frequency", "f") == 10.0
    assert units.si(600 * float_registry.rpm, "frequency", "f") == pytest.approx(10.0, rel=1e-15)
    assert units.si(10 * float_registry.Hz, "angular_velocity", "w") == pytest.approx(
        units.si("10 Hz", "angular_velocity", "w"), rel=1e-15
    )


@pytest.mark.parametrize("dimension", units.dimensions())
def test_every_dimension_takes_its_us_unit_and_refuses_a_wrong_one(dimension):
    kind = units.dimensions()[dimension]
    factor, _ = uf._core.unit_factor(kind.us)
    assert units.si(f"3 {kind.us}", dimension, "x") == pytest.approx(3 * factor, rel=1e-15)
    assert units.si(3 * float_registry(SI[dimension] or "1"), dimension, "x") == 3.0
    wrong = "5 Hz" if dimension == "mass" else "5 kg"
    for value in (wrong, float_registry(wrong), [wrong], 5 * float_registry.kelvin):
        with pytest.raises(uf.errors.UnitError) as caught:
            units.si(value, dimension, "x")
        assert caught.value.argument.startswith("x")
        assert kind.words in str(caught.value)
        assert isinstance(caught.value, (uf.errors.UnderfootError, ValueError))


def test_a_refusal_names_argument_value_and_what_is_expected():
    with pytest.raises(uf.errors.UnitError) as caught:
        units.si(12 * float_registry.kg, "length", "stroke")
    assert str(caught.value) == (
        'stroke = "12 kilogram": kilogram is a mass, but a length is expected; '
        'write for example "14 in" or "0.35 m"'
    )
    with pytest.raises(uf.errors.UnitError, match=r'position\[1\] = "12 kg": this is a mass'):
        units.si(["1 m", "12 kg", 3], "length", "position")


def test_sequences_mix_numbers_texts_and_quantities():
    mixed = units.si([1, "50 cm", 250 * float_registry.mm], "length", "position")
    np.testing.assert_allclose(mixed, [1.0, 0.5, 0.25], rtol=1e-15)
    assert units.si([["1 m", 2], [3, "4 m"]], "length", "x").shape == (2, 2)
    array = np.array([1.0, 2.0])
    assert units.si(array, "length", "x") is array
    many = units.si(np.array([1.0, 2.0]) * float_registry.inch, "length", "x")
    np.testing.assert_allclose(many, [0.0254, 0.0508], rtol=1e-15)
    assert units.si(3, "length", "x") == 3


def test_truth_values_and_ragged_rows_and_unknown_dimensions_are_refused():
    with pytest.raises(uf.errors.UnitError, match="truth value"):
        units.si(True, "length", "x")
    with pytest.raises(uf.errors.UnitError, match="truth values"):
        units.si(np.array([True]), "length", "x")
    with pytest.raises(uf.errors.ShapeError, match="x has shape ragged"):
        units.si([[1, 2], [3]], "length", "x")
    with pytest.raises(uf.errors.UnknownNameError, match="use one of length"):
        units.si(1, "lenght", "x")
    with pytest.raises(uf.errors.UnknownNameError, match="use one of length"):
        uf._core.parse_quantity("x", "1 m", "lenght")


def test_text_goes_out_and_comes_back():
    assert units.text(0.3556, "in") == "14 in"
    assert units.text(5.0e6, "lbf/in", digits=3) == "28600 lbf/in"
    for value in (1.0, 1e-9, 123456.789, -3.3e12):
        assert units.si(units.text(value, "lbf s/in"), "damping", "c") == pytest.approx(
            value, rel=1e-15
        )
    assert units.convert([0.0254, 0.0508], "in").tolist() == [1.0, 2.0]
