"""Every class is a value: it pickles, copies, compares, shows itself, and cannot be changed."""

import copy
import pickle

import numpy as np
import pytest
import samples
import underfoot as uf


@pytest.fixture(scope="module")
def one():
    return samples.values()


@pytest.fixture(scope="module")
def other():
    return samples.values(stiffness=7e6, scale=1.25)


def properties(value):
    return [
        name
        for name in vars(type(value))
        if type(vars(type(value))[name]).__name__ == "getset_descriptor"
    ]


def arrays(value):
    found = {name: getattr(value, name) for name in properties(value)}
    return {name: item for name, item in found.items() if isinstance(item, np.ndarray)}


def test_there_is_a_sample_of_every_public_class(one):
    assert sorted(one) == samples.CLASSES
    assert len(samples.RESULTS) == 24


@pytest.mark.parametrize("name", samples.CLASSES)
def test_a_value_pickles_and_copies_to_an_equal_one(one, name):
    value = one[name]
    for protocol in range(2, pickle.HIGHEST_PROTOCOL + 1):
        assert pickle.loads(pickle.dumps(value, protocol)) == value
    assert copy.deepcopy(value) == value
    assert copy.copy(value) == value
    for attribute, array in arrays(pickle.loads(pickle.dumps(value))).items():
        np.testing.assert_array_equal(array, getattr(value, attribute))


@pytest.mark.parametrize("name", samples.CLASSES)
def test_a_value_equals_only_its_like(one, other, name):
    value, different = one[name], other[name]
    assert value == samples_again()[name]
    assert value != different
    assert different != value
    assert value != "text" and value is not None and value != 1
    assert value not in [v for n, v in one.items() if n != name]
    with pytest.raises(TypeError, match="unhashable"):
        hash(value)
    with pytest.raises(TypeError):
        value < different  # noqa: B015  values have no order


_AGAIN = {}


def samples_again():
    if not _AGAIN:
        _AGAIN.update(samples.values())
    return _AGAIN


@pytest.mark.parametrize("name", samples.CLASSES)
def test_a_value_cannot_be_changed(one, name):
    value = one[name]
    assert properties(value)
    for attribute in properties(value):
        with pytest.raises(AttributeError):
            setattr(value, attribute, 1.0)
        with pytest.raises(AttributeError):
            delattr(value, attribute)
    with pytest.raises(AttributeError):
        value.no_such_attribute = 1.0


@pytest.mark.parametrize("name", samples.CLASSES)
def test_arrays_are_read_only_contiguous_and_double(one, name):
    for attribute, array in arrays(one[name]).items():
        assert not array.flags.writeable, attribute
        assert array.flags.c_contiguous, attribute
        assert array.dtype in (np.float64, np.complex128, np.bool_), attribute
        with pytest.raises(ValueError, match="read-only"):
            array[...] = 0
        with pytest.raises(ValueError, match="WRITEABLE"):
            array.flags.writeable = True


# Places that a result belongs to, not data of it.
PLACES = {"elastic_center", "elastic_height", "point"}


@pytest.mark.parametrize("name", samples.CLASSES)
def test_the_text_of_a_value_names_its_class_and_units(one, name):
    text = repr(one[name])
    assert text.startswith(name)
    assert "object at 0x" not in text
    assert len(text) < 2500
    units = {
        "Job": "inputs",
        "Study": "OK|NO",
        "Input": "endurance",
        "Catalog": "shelf",
        "Choice": "values=",
        "Wlf": " K",
        "Ask": "of the way",
    }
    expected = units.get(name, " kg| N| m| s| Hz| rad| unit of the signal").split("|")
    assert any(unit in text for unit in expected), text


@pytest.mark.parametrize("name", [*samples.RESULTS, "Study"])
def test_the_html_of_a_result_is_a_table_of_all_fields(one, name):
    html = one[name]._repr_html_()
    assert html.startswith("<") and html.count("<table>") == html.count("</table>") > 0
    assert html.count("<tr>") == html.count("</tr>")
    for field, _, unit, long_name in getattr(one[name], "_fields", []):
        assert f"<td>{field}</td>" in html
        assert unit in html and long_name in html
    if name == "Study":
        assert all(check.verdict.split()[0] in html for check in one[name].checks)


@pytest.mark.parametrize("name", samples.RESULTS)
def test_a_result_becomes_a_dataset_with_dims_units_and_names(one, name):
    result = one[name]
    data = result.to_xarray()
    assert data.attrs["title"] == name
    fields = {field: (dims, unit, long) for field, dims, unit, long in result._fields}
    assert sorted(fields) == sorted(arrays(result).keys() - PLACES)
    for field, (dims, unit, long_name) in fields.items():
        variable = data[f"{field}_transfer" if field in dims and dims != [field] else field]
        assert list(variable.dims) == dims
        assert variable.attrs == {"units": unit, "long_name": long_name}
        np.testing.assert_array_equal(variable.values, getattr(result, field))
    for dim in data.dims:
        if dim not in ("root", "warp"):
            assert dim in data.coords, f"{dim} has no labels"
    if "mount" in data.dims and name != "Transmissibility":
        assert list(data.mount.values) == [m.name for m in samples.mounts()]


def test_labels_select_what_they_say(one):
    statics, shock = one["Statics"], one["Shock"]
    front = statics.to_xarray()["load"].sel(mount="left front", axis="z")
    assert float(front) == statics.load[0, 2]
    history = shock.to_xarray().mount_force.sel(mount="right rear", axis="x")
    np.testing.assert_array_equal(history, shock.mount_force[:, 3, 0])
    matrix = one["Transmissibility"].to_xarray().matrix
    tz = matrix.sel(ground_dof="z", source_dof="z")
    np.testing.assert_allclose(abs(tz), one["Transmissibility"].vertical, rtol=1e-15)


def test_what_another_version_stored_is_refused(one):
    for value in one.values():
        restore, (schema, state) = value.__reduce__()
        with pytest.raises(ValueError, match="stored by another version"):
            restore(schema + 1, state)
        for broken in (b"", state[: len(state) // 2], b"\xff" * 64):
            with pytest.raises(ValueError, match="cannot unpickle"):
                restore(schema, broken)


def test_lists_and_dicts_handed_out_are_copies(one):
    inst = one["Installation"]
    inst.mounts.clear()
    inst.points["new"] = 1
    assert len(inst.mounts) == 4 and list(inst.points) == ["bolster"]
    assert inst.gravity == 9.80665
    assert inst.warnings == []
    assert uf.Installation(inst.body, [uf.Mount((0, 0, 0), (1, 1, 1))]).warnings
