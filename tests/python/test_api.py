"""The public names, their signatures, what their docstrings say, and their types."""

import ast
import inspect
import re
import subprocess
import sys
from pathlib import Path

import pytest
import samples
import underfoot as uf

# What the documentation promises, name by name.
SIGNATURES = {
    "RigidBody": "(mass, center, inertia)",
    "RigidBody.from_parts": "(parts)",
    "RigidBody.with_parts": "(self, /, parts)",
    "RigidBody.without_parts": "(self, /, parts)",
    "Box": "(mass, size, center, axes=None)",
    "Cylinder": "(mass, diameter, length, center, axes=None)",
    "PointMass": "(mass, center)",
    "Mount": "(position, stiffness=None, damping=None, loss_factor=None, axes=None,"
    " static_stiffness=None, load_range=None, name='', *, rotational_stiffness=None, law=None,"
    " allowed=None, creep_per_decade=None, curve=None, dynamic_ratio=None, screw=None)",
    "CoilSpring.lateral_stiffness": "(self, /, load=None)",
    "RubberPad.force": "(self, /, strain)",
    "RubberPad.mount": "(self, /, position, name='', load=None, *, linear=False)",
    "parallel": "(parts, name=None)",
    "series": "(parts, frequency=None, name=None)",
    "seismic_acceleration": "(sds, *, amplification=2.5, response=2.0, importance=1.0,"
    " height_ratio=None, gap=None)",
    "snubber_speed": "(gap, sds, *, gravity=None)",
    "LoadRange": "(min=None, max=None, dynamic_max=None)",
    "Wrench": "(force=None, moment=None, at=None)",
    "Case": "(name, body, loads=Ellipsis)",
    "Installation": "(body, mounts, foundation=None, gravity=None, *, cases=Ellipsis, points=None,"
    " stops=Ellipsis, bridges=Ellipsis)",
    "Installation.statics": "(self, /, case=None, *, unilateral=False, gravity_stiffness=False,"
    " floor_height=None)",
    "Installation.load_cases": "(self, /, *, unilateral=False)",
    "Installation.stability": "(self, /, case=None)",
    "Installation.unevenness": "(self, /)",
    "Installation.leveling_influence": "(self, /, case=None, *, gravity_stiffness=False,"
    " frame_twist_stiffness=None)",
    "Installation.level_from_settlement": "(self, /, settlement=None, *, subgrade_modulus=None,"
    " plate_area=None, case=None, gravity_stiffness=False, frame_twist_stiffness=None)",
    "Installation.leveling_plan": "(self, /, settlement=None, level_tolerance=None,"
    " load_band=None, travel=None, raise_only=False, screw_pitch=None, *, steps_per_turn=None,"
    " subgrade_modulus=None, plate_area=None, readings=None, start='level', target=None,"
    " objective='least motion', reserve=None,"
    " frame_twist_stiffness=None, gravity_stiffness=False, tilt_on_the_way=None, age=None,"
    " case=None)",
    "LevelReading": "(station, at, along, value, reversed=None, *, division=None)",
    "LevelingPlan.sheet": "(self, /, units='both', *, html=False)",
    "level_readings": "(readings, *, level_uncertainty=None, height_uncertainty=None,"
    " twist_limit=None)",
    "Screw": "(pitch, steps_per_turn, down, up)",
    "Installation.modes": "(self, /, case=None)",
    "Installation.transmissibility": "(self, /, frequency, source=None, receiver='ground',"
    " case=None)",
    "Installation.response": "(self, /, frequency, wrench, case=None)",
    "Installation.shock": "(self, /, pulse, direction=None, point=None, duration=None, *,"
    " moment=None, dt=None, case=None, every=None)",
    "Press": "(body, *, slide_mass, crown_mass, slide_position, crown_position, frame_stiffness,"
    " drive_stiffness, frame_damping=None, drive_damping=None, frame_loss_factor=None,"
    " drive_loss_factor=None, frame_damping_ratio=None, drive_damping_ratio=None, bed_mass=None,"
    " clearance=None, counterbalance=None, rated_force=None, reverse_limit=None,"
    " guide_length=None)",
    "BreakThrough": "(force, rise, release, *, softened_to=None, softening_time=None,"
    " residual=None, residual_time=None, dwell=None, point=None, stroke_rate_spm=None)",
    "Installation.snap_through": "(self, /, force, *, case=None, duration=None, dt=None,"
    " overload=False, rule='force-clipped', lift_off=False, reverse_limit=None,"
    " cushions=Ellipsis, slide_stops=Ellipsis)",
    "Installation.shock_with_contacts": "(self, /, pulse, direction=None, point=None,"
    " duration=None, *, moment=None, dt=None, case=None, rule='force-clipped', lift_off=True)",
    "Installation.envelope": "(self, /, *, unilateral=False)",
    "Installation.rail_step": "(self, /, to, start=None, points=None, *, unilateral=False,"
    " gravity_stiffness=False)",
    "Installation.with_cases": "(self, /, cases)",
    "Die": "(name, mass, center, size=None, off_center=None)",
    "DieSet": "(dies, mounted=None)",
    "DieSet.cases": "(self, /, body)",
    "RollingBolster": "(mass, center, direction, travel, wheel_base, rails, *, size=None,"
    " carries=Ellipsis, name='bolster')",
    "RollingBolster.cases": "(self, /, body)",
    "RollingBolster.rolled": "(self, /, body, distance)",
    "SetDown": "(name, die, impact_factor=None)",
    "Cart": "(name, at, mass=None, push=None)",
    "EmergencyStop": "(name, inertia, speed, brake_time, axis)",
    "EmergencyStop.case": "(self, /, body, factor=2.0)",
    "first_answer": "(kind, tonnage, outline, stroke_rate, stroke, heaviest_die=None, *, mass=None,"
    " assumed=None)",
    "Shock.peak": "(self, /, quantity, component=None)",
    "Shock.at": "(self, /, point)",
    "Response.at": "(self, /, point)",
    "Statics.at": "(self, /, point)",
    "RampStep": "(peak, rise, hold)",
    "ExponentialDecay": "(peak, time_constant, duration)",
    **{pulse.__name__: "(peak, duration)" for pulse in samples.SIMPLE_PULSES},
    **{f"{pulse.__name__}.value": "(self, /, time)" for pulse in samples.PULSES},
    "instruction_set": "()",
    "many_modes": "(mass, stiffness)",
    "many_shock_peaks": "(mass, stiffness, pulse, direction, *, damping=None, loss=None,"
    " loss_factor=None, displacement=None, velocity=None, acceleration=None, force=None,"
    " duration=None)",
    "shock_response_spectrum": "(signal, sample_rate, frequency, damping_ratio,"
    " response='absolute_acceleration')",
    "turned": "(about_x=None, about_y=None, about_z=None)",
    "Job.load": "(path)",
    "Job.from_text": "(text, name='job')",
    "Job.with_input": "(self, /, path, value)",
    "Job.study": "(self, /, bands=True)",
    "Job.report": "(self, /, path)",
    "Study.to_json": "(self, /)",
}
ATTRIBUTES = {
    "RubberPad": "compression_stiffness shear_stiffness force",
    "CoilSpring": "axial_stiffness lateral_stiffness buckling_deflection",
    "Statics": "load deflection displacement tilt",
    "LevelingPlan": "adjustment turns order load_after tilt_after step_load step_tilt",
    "Modes": "frequency damping_ratio shape energy",
    "Transmissibility": "matrix mount vertical",
    "Response": "displacement mount_force ground_wrench",
    "Shock": "time displacement acceleration mount_force ground_wrench",
    "SnapThrough": "drive_force reverse_load bed_acceleration crown_acceleration ground_wrench"
    " stored_energy",
    "Peak": "value signed_value time component",
    "RailStep": "rise shift tilt start to points",
    "FirstAnswer": "body die moving_mass slide_force assumptions",
    "Study": "summary verdict figures checks asks rail_steps inputs warnings",
}


def find(dotted):
    item = uf
    for part in dotted.split("."):
        item = getattr(item, part)
    return item


def public_members(cls):
    """Methods, without properties and double underscores."""
    for name in vars(cls):
        if not name.startswith("_") and callable(getattr(cls, name)):
            yield name, getattr(cls, name)


FUNCTIONS = {name: item for name, item in vars(uf).items() if inspect.isbuiltin(item)}
DOCUMENTED = {
    **FUNCTIONS,
    **{name: getattr(uf, name) for name in samples.CLASSES},
    **{
        f"{name}.{method}": item
        for name in samples.CLASSES
        for method, item in public_members(getattr(uf, name))
    },
}


def parameters(item):
    text = item.__text_signature__
    return [] if text is None else [p for p in inspect.signature(item).parameters if p != "self"]


@pytest.mark.parametrize("name", SIGNATURES)
def test_a_public_name_has_the_promised_signature(name):
    assert str(inspect.signature(find(name))) == SIGNATURES[name]


@pytest.mark.parametrize("name", ATTRIBUTES)
def test_a_result_has_the_promised_attributes(name):
    for attribute in ATTRIBUTES[name].split():
        assert hasattr(getattr(uf, name), attribute)


def test_every_public_name_is_exported_and_named_in_order():
    modules = {"errors", "plot", "units"}  # others are there once something has imported them
    assert set(uf.__all__) - modules == {
        name
        for name, item in vars(uf).items()
        if not (name.startswith("_") or name == "annotations" or inspect.ismodule(item))
    }
    assert all(hasattr(uf, name) for name in uf.__all__)
    assert uf.GROUND == "ground"
    assert set(FUNCTIONS) == {
        "coining_force",
        "drawing_force",
        "fatigue_check",
        "first_answer",
        "friction_needed",
        "instruction_set",
        "level_readings",
        "lift_off_checks",
        "many_modes",
        "many_shock_peaks",
        "maxwell_fit",
        "parallel",
        "seismic_acceleration",
        "series",
        "shock_response_spectrum",
        "snubber_rebound",
        "snubber_speed",
        "turned",
    }


@pytest.mark.parametrize("name", sorted(DOCUMENTED))
def test_every_docstring_says_what_each_parameter_is(name):
    item = DOCUMENTED[name]
    doc = inspect.getdoc(item)
    assert doc and doc.splitlines()[0].rstrip().endswith((".", ";", ":")) or len(doc) > 60
    for parameter in parameters(item):
        assert re.search(rf"\b{parameter}\b", doc), f"{name} does not explain {parameter}"
    if parameters(item):
        assert "Parameters\n----------" in doc, f"{name} has no list of parameters"


@pytest.mark.parametrize("name", samples.CLASSES)
def test_every_property_is_documented(name):
    for attribute, item in vars(getattr(uf, name)).items():
        if type(item).__name__ == "getset_descriptor" and not attribute.startswith("_"):
            assert item.__doc__, f"{name}.{attribute}"


def test_python_functions_document_their_parameters_too():
    for name in uf.units.__all__:
        assert inspect.getdoc(getattr(uf.units, name)), name
    assert all(argument in uf.units.si.__doc__ for argument in ("value", "dimension", "argument"))


STUB = Path(uf.__file__).with_name("_core.pyi")


def stub_signatures():
    """Name -> parameter names in the stub."""
    found = {}
    for node in ast.parse(STUB.read_text()).body:
        if isinstance(node, ast.FunctionDef):
            found[node.name] = names_of(node)
        elif isinstance(node, ast.ClassDef):
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef) and not is_property(inner):
                    own = "" if inner.name == "__new__" else f".{inner.name}"
                    found[node.name + own] = names_of(inner)
    return found


def is_property(function):
    return any(ast.unparse(d) == "property" for d in function.decorator_list)


def names_of(function):
    named = [a.arg for a in function.args.args if a.arg not in ("self", "cls")]
    return named + ["*", *(a.arg for a in function.args.kwonlyargs)] * bool(
        function.args.kwonlyargs
    )


def runtime_names(item):
    names, star = [], False
    for name, parameter in inspect.signature(item).parameters.items():
        if parameter.kind is inspect.Parameter.KEYWORD_ONLY and not star:
            names.append("*")
            star = True
        if name != "self":
            names.append(name)
    return names


def test_the_stub_has_the_parameters_of_the_module():
    stub = stub_signatures()
    for name, item in DOCUMENTED.items():
        if item.__text_signature__ is not None:
            assert stub[name] == runtime_names(item), name


def test_the_stub_has_the_types_that_attributes_have():
    arrays = {"_Float": "float64", "_Complex": "complex128", "_Bool": "bool"}
    plain = {"float": float, "int": int, "str": str, "bool": bool}
    values = samples.values()
    for node in ast.parse(STUB.read_text()).body:
        if not isinstance(node, ast.ClassDef) or node.name.startswith("_"):
            continue
        if not hasattr(uf, node.name):  # a plan of a sweep is the package's own
            continue
        for inner in node.body:
            if not is_property_def(inner):
                continue
            value = getattr(values[node.name], inner.name)
            said = ast.unparse(inner.returns).removesuffix(" | None")
            where = f"{node.name}.{inner.name}: {said}"
            if value is None:
                assert ast.unparse(inner.returns).endswith("| None"), where
            elif said in arrays:
                assert value.dtype == arrays[said], where
            elif said in plain:
                assert type(value) is plain[said], where
            elif said.startswith(("list", "tuple", "dict")):
                assert type(value).__name__ == said.split("[")[0], where
            elif said.startswith("Literal"):
                assert value in ast.literal_eval(said.removeprefix("Literal")), where
            else:
                assert type(value).__name__ in said.split(" | "), where


def is_property_def(node):
    return isinstance(node, ast.FunctionDef) and is_property(node)


def test_types_hold_for_mypy_and_stubtest():
    root = Path(__file__).parents[2]
    for tool in (["mypy.stubtest", "underfoot._core"], ["mypy"]):
        run = subprocess.run(
            [sys.executable, "-m", *tool], capture_output=True, text=True, cwd=root, check=False
        )
        assert run.returncode == 0, run.stdout + run.stderr
