"""Every dimensional argument takes US text and pint quantities, and refuses a wrong dimension."""

import pint
import pytest
import underfoot as uf
from arguments_forming import CALLS as FORMING
from arguments_leveling import CALLS as LEVELING
from arguments_machine import CALLS as MACHINE
from arguments_parts import CALLS as PARTS
from test_events import CALLS as EVENTS
from test_running import CALLS as RUNNING

registry = pint.UnitRegistry()
RIGHT = {
    "length": "2 in",
    "area": "40 in^2",
    "subgrade_modulus": "200 lbf/in^3",
    "mass": "30 lb",
    "inertia": "500 lb in^2",
    "stiffness": "900 lbf/in",
    "rotational_stiffness": "900 lbf in/rad",
    "damping": "12 lbf s/in",
    "force": "700 lbf",
    "moment": "700 lbf in",
    "time": "20 ms",
    "frequency": "300 rpm",
    "acceleration": "1 g_n",
    "velocity": "3 ft/s",
    "ratio": "10 %",
    "angle": "30 deg",
    "pressure": "700 psi",
    "volume": "600 in^3",
    "density": "0.3 lb/in^3",
    "impulse": "3 lbf s",
    "mass_moment": "30 lb in",
}
PINT = {"g_n": "standard_gravity", "lbf in/rad": "lbf in/rad", "%": "percent"}
CALLS = [*MACHINE, *PARTS, *LEVELING, *RUNNING, *EVENTS, *FORMING]


def quantity(text):
    number, _, unit = text.partition(" ")
    return float(number) * registry(PINT.get(unit, unit))


@pytest.mark.parametrize(("name", "dimension", "call"), CALLS, ids=[c[0] for c in CALLS])
def test_an_argument_takes_us_text_and_pint_and_refuses_a_wrong_dimension(name, dimension, call):
    text = RIGHT[dimension]
    expected = uf.units.si(text, dimension, name)
    for given in (text, quantity(text)):
        found = call(given)
        if found is not None:
            assert found == pytest.approx(expected, rel=1e-9)
    wrong = "12 kg" if dimension != "mass" else "12 m"
    argument = name.rpartition(".")[2]
    for given in (wrong, quantity(wrong)):
        with pytest.raises(uf.UnitError) as caught:
            call(given)
        # Methods without a dot name their argument as they call it.
        assert (
            argument in str(caught.value)
            or "point" in str(caught.value)
            or "time" in str(caught.value)
        )
