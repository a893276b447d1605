"""Catalogs from a dict, a data frame or a file; options ranked; the command `rank`."""

import numpy as np
import pytest
import underfoot as uf
from samples import catalog, job
from underfoot.cli import main

SHELF = "notebooks/data/mount_shelf.csv"
PRESS = "notebooks/data/blanking_press.toml"


class Frame(dict):
    """Stands for a data frame: items() gives columns with NaN where there is nothing."""

    def items(self):
        return ((head, np.array(cells, dtype=object)) for head, cells in super().items())


def test_a_data_frame_reads_like_csv():
    heads = ["name", "stiffness_lateral", "stiffness_z", "load_min", "load_max", "price"]
    rows = [["A", 1e6, 2e6, "1 kN", "20 kN", float("nan")], ["B", 3e6, 4e6, "2 kN", "40 kN", 12]]
    frame = Frame(dict(zip(heads, zip(*rows, strict=True), strict=True)))
    text = "\n".join([",".join(heads), "A,1e6,2e6,1 kN,20 kN,", "B,3e6,4e6,2 kN,40 kN,12"])
    assert uf.Catalog.from_table(frame) == uf.Catalog.from_csv(text)


def test_a_curve_reads_from_text_lists_and_arrays():
    heads = ["name", "stiffness_lateral", "curve", "dynamic_ratio", "load_min", "load_max"]
    written = "2 mm: 9 kN; 4 mm: 21 kN"
    kinds = [
        written,
        [("2 mm", "9 kN"), ("4 mm", "21 kN")],
        [[0.002, 9e3], [0.004, 21e3]],
        np.array([[0.002, 9e3], [0.004, 21e3]]),
    ]
    text = ",".join(heads) + f"\nA,4e6,{written},1.3,1e3,2e4\n"
    want = uf.Catalog.from_csv(text)
    for curve in kinds:
        row = ["A", 4e6, curve, 1.3, 1e3, 2e4]
        frame = {head: [cell] for head, cell in zip(heads, row, strict=True)}
        assert uf.Catalog.from_table(frame) == want
    mount = want["A"].mount
    assert mount.curve == uf.Curve(["2 mm", "4 mm"], ["9 kN", "21 kN"])
    assert mount.stiffness[2] == pytest.approx(1.3 * mount.static_stiffness[2], rel=1e-15)
    assert ("curve", "m: N") in [column[:2] for column in uf.Catalog.columns()]
    for slip, word in (("2 mm: 9 kN; 4 mm: 8 kN", "point 2"), ([[1, 2, 3]], "no point")):
        row = ["A", 4e6, slip, 1.3, 1e3, 2e4]
        with pytest.raises(uf.TableError, match=word) as caught:
            uf.Catalog.from_table({h: [c] for h, c in zip(heads, row, strict=True)})
        assert (caught.value.row, caught.value.column) == ("1 (A)", "curve")


def test_a_model_stands_where_it_is_put():
    model = catalog()["soft pad"]
    mount = model.at(("1 m", 0, 0), "left")
    assert (mount.name, list(mount.position)) == ("left", [1, 0, 0])
    assert list(mount.stiffness) == [6e6, 6e6, 15e6]
    assert mount.load_range == uf.LoadRange(min=20e3, max=160e3)
    assert (model.price, catalog()["firm pad"].price) == (210, None)


def test_slips_name_row_and_column():
    with pytest.raises(uf.TableError) as caught:
        uf.Catalog.from_table(
            {
                "name": ["A", "B"],
                "stiffness_lateral": [1e6, 1e6],
                "stiffness_z": [1e6, 1e6],
                "load_min": ["1 kN", "30 kN"],
                "load_max": ["20 kN", "20 kN"],
            },
            "shelf",
        )
    error = caught.value
    assert (error.table, error.row, error.column) == ("shelf", "2 (B)", "load_max")
    with pytest.raises(uf.UnknownNameError, match="models of the catalog are"):
        catalog()["soft"]
    with pytest.raises(uf.FileError):
        uf.Catalog.load("no_such.csv")
    with pytest.raises(uf.FileError, match=r"\.csv or a \.toml"):
        uf.Catalog.load("pyproject.ini")
    with pytest.raises(uf.ShapeError, match="columns"):
        uf.Catalog.from_table([1, 2])


def test_the_shelf_is_ranked_for_the_demo_press(capsys):
    press, shelf = uf.Job.load(PRESS), uf.Catalog.load(SHELF)
    ranking = press.rank_options(shelf)
    accepted = [choice for choice in ranking.choices if choice.accepted]
    assert 0 < len(accepted) < len(ranking)
    assert list(ranking.accepted) == [c.accepted for c in ranking.choices]
    prices = [choice.price for choice in accepted]
    assert prices == sorted(prices)
    assert ranking.best == accepted[0]
    for choice in ranking.choices[len(accepted) :]:
        assert choice.reasons() and choice.reasons("us")
    assert main(["rank", PRESS, SHELF, "--by", "margin", "--one-model"]) == 0
    out = capsys.readouterr().out
    assert "pad 60 large" in out and "rejected because" in out
    data = ranking.to_xarray()
    assert data["value"].dims == ("option", "objective")


def test_a_choice_judges_as_the_study_of_the_same_mounts_does():
    """The job with the model of its own mounts comes to the verdicts of its own study."""
    shelf = uf.Catalog.from_csv(
        "name,stiffness_lateral [kN/mm],stiffness_z [kN/mm],static_stiffness_lateral [kN/mm],"
        "static_stiffness_z [kN/mm],loss_factor,load_min [kN],load_max [kN],load_dynamic_max [kN],"
        "screw_pitch [mm],screw_steps_per_turn,screw_down [mm],screw_up [mm]\n"
        "same,28,54,21,41,0.14,50,180,230,2,24,4,10\n"
    )
    press = uf.Job.load(PRESS)
    ranking = press.rank_options(shelf, objectives=["frequency of mode 1"])
    assert ranking.units == ["Hz"]
    (only,) = ranking.choices
    study = press.study(bands=False)
    assert only.values[0] == pytest.approx(study.modes.frequency[0], rel=1e-12)
    failed = {check.question for check in study.checks if check.verdict == "NO"}
    assert {check.question for check in only.rejected_by} == failed
    assert only.margin == pytest.approx(min(check.margin for check in study.checks), rel=1e-9)


def test_bad_wishes_are_refused():
    with pytest.raises(uf.UnknownNameError, match="least"):
        job().rank_options(catalog(), objectives=[("margin", "most")])
    with pytest.raises(uf.InvalidError, match="has none"):
        job().rank_options(catalog(), objectives=["price"])
    with pytest.raises(uf.UnknownNameError, match='use "si"'):
        job().rank_options(catalog(), mixed=False).table("metric")


def test_an_installation_ranks_a_catalog_by_what_its_mounts_allow():
    inst = job().installation
    ranking = inst.rank_options(catalog(), mixed=False)
    assert len(ranking) == len(catalog())
    strict = inst.rank_options(catalog(), mixed=False, tilt="1e-9 mm/m")
    assert strict.best is None
    assert any("tilt" in reason for reason in strict.choices[0].reasons())
    with pytest.raises(uf.InvalidError, match="tilt"):
        inst.rank_options(catalog(), tilt=0)
