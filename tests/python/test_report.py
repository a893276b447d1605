"""The report folder: whole or not at all, and never in place of somebody's files."""

import csv
import json
import os
import re
from pathlib import Path

import numpy as np
import pytest
import underfoot as uf
from example_job import SHORT, job, short_study, study
from underfoot import labeled, report
from underfoot.report.names import file_names

PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("reports") / "press_report"
    return report.write(study(), path, job().installation)


def table(path):
    with path.open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    return header, rows


def column(path, name):
    header, rows = table(path)
    return np.array([float(row[header.index(name)]) for row in rows])


def test_the_report_holds_every_part(folder):
    names = {p.name for p in folder.iterdir()}
    shocks = ["blanking", "brake", "emergency_stop", "feed_motor", "valve"]
    shocks += ["start_of_the_drive", "emergency_stop_of_the_drive", "stop_of_the_drive", "inching"]
    shocks += ["stuck_at_the_bottom", "freed_at_the_bottom", "fan", "fan_run_up", "fan_run_down"]
    shocks += ["ram", "drop", "decompression", "screw", "forklift", "neighbor"]
    shocks += ["cutting_force_of_the_feed"]
    wanted = {"summary.md", "study.json", "checks.csv", "figures.csv", "inputs.csv"}
    wanted |= {"levels.csv", "asks.csv", "rail_steps.csv", "options.csv"}
    wanted |= {"load_cases.csv", "mount_loads.csv", "modes.csv", "transmissibility.csv"}
    wanted |= {"floor_motion.csv"}
    works = ("drawing", "piercing", "shearing")
    wanted |= {f"break_through_{w}.{end}" for w in works for end in ("csv", "png")}
    wanted |= {f"shock_{s}.csv" for s in shocks} | {f"shock_{s}.png" for s in shocks}
    wanted |= {"steady_eccentric_at_full_speed.csv", "steady_flywheel_unbalance.csv"}
    for rate in (25, 50):
        name = f"running_at_{rate}_strokes_per_minute"
        wanted |= {f"{name}.csv", f"{name}.png"}
    wanted |= {"running.csv", "stroke_rates.csv", "stroke_rates.png", "meetings.csv"}
    wanted |= {"leveling.csv", "influence.csv"}
    wanted |= {"leveling_sheet.html", "leveling_sheet.txt"}
    wanted |= {"leveling_plan.png", "level_change.png"}
    wanted |= {"verdicts.png", "plan.png", "mount_loads.png", "modes.png", "transmissibility.png"}
    assert names == wanted
    assert list(folder.parent.iterdir()) == [folder]


def test_pictures_are_png_and_not_empty(folder):
    from matplotlib.image import imread

    for path in folder.glob("*.png"):
        assert path.read_bytes().startswith(PNG)
        pixels = imread(path)
        assert min(pixels.shape[:2]) > 400 and pixels.std() > 0.02, path.name


def test_the_summary_is_that_of_the_study_and_links_every_other_file(folder):
    text = (folder / "summary.md").read_text(encoding="utf-8")
    assert text.startswith(study().summary.rstrip())
    linked = set(re.findall(r"\]\(([^)]+)\)", text))
    assert linked == {p.name for p in folder.iterdir()} - {"summary.md"}


def test_the_json_is_that_of_the_study(folder):
    stored = json.loads((folder / "study.json").read_text(encoding="utf-8"))
    assert stored == json.loads(study().to_json())
    assert stored["title"] == study().title


def test_tables_are_utf8_with_units_in_the_header_and_full_rows(folder):
    bare = {"question", "verdict", "band low", "band high", "demand", "relation", "limit", "unit"}
    bare |= {"case", "source of the limit", "group", "figure", "value", "moved most by", "input"}
    bare |= {"source", "assumed", "why a default", "only reported", "load case", "mount", "mode"}
    bare |= {"case of least load", "case of greatest load", "what it is", "what", "component"}
    bare |= {"real", "imaginary", "peak", "who confirms it", "point", "from", "to", "rank"}
    bare |= {f"case of greatest {what}" for what in ("rise", "sinking", "horizontal load")}
    bare |= {"case of greatest compression", "flips a verdict", "turns", "step"}
    bare |= {"setting", "raised", "by"}
    bare |= {"harmonic", "least", "greatest", "peak to peak", "option", "accepted", "unbeaten"}
    bare |= {"price of all", "rejected because"}
    paths = sorted(folder.glob("*.csv"))
    assert len(paths) == 45
    for path in paths:
        header, rows = table(path)
        assert len(set(header)) == len(header) and rows
        assert {len(row) for row in rows} == {len(header)}
        for name in set(header) - bare:
            assert re.search(r" \([^()]+\)$", name), f"{path.name}: {name}"


def test_load_tables_hold_the_results(folder):
    envelope = study().envelope
    path = folder / "mount_loads.csv"
    np.testing.assert_allclose(column(path, "least load (kN)"), envelope.load_min / 1e3, rtol=1e-8)
    np.testing.assert_allclose(
        column(path, "greatest load (kN)"), envelope.load_max / 1e3, rtol=1e-8
    )
    header, rows = table(folder / "load_cases.csv")
    for case in study().cases:
        loads = [float(r[header.index("load z (kN)")]) for r in rows if r[0] == case]
        np.testing.assert_allclose(loads, study().statics(case).load[:, 2] / 1e3, rtol=1e-8)


def test_weight_of_the_table_is_that_of_the_machine(folder):
    header, rows = table(folder / "load_cases.csv")
    lasting = {c.name: sum(w.force[2] for w in c.loads) for c in job().installation.cases}
    for case in study().cases:
        mine = [r for r in rows if r[0] == case]
        mass = float(mine[0][header.index("mass of the machine (t)")])
        loads = sum(float(r[header.index("load z (kN)")]) for r in mine)
        # The conduit and the snubber of the template carry the rest.
        beside = job().installation.statics(case).beside.values()
        loads += sum(force[2] for force in beside) / 1e3
        weight = mass * job().installation.gravity
        assert loads == pytest.approx(weight - lasting.get(case, 0) / 1e3, rel=1e-7)


def test_histories_in_the_table_are_those_of_the_study(folder):
    shock = study().shock("blanking")
    path = folder / "shock_blanking.csv"
    np.testing.assert_allclose(column(path, "time (s)"), shock.time, rtol=1e-8, atol=1e-12)
    floor = column(path, "floor Fz (kN)")
    np.testing.assert_allclose(floor, shock.ground_wrench[:, 2] / 1e3, rtol=1e-7, atol=1e-9)
    mounts = sum(column(path, f"{mount} Fz (kN)") for mount in shock.mounts)
    np.testing.assert_allclose(mounts, floor, rtol=1e-6, atol=1e-6)
    crown = column(path, "crown z (mm)")
    expected = 1e3 * shock.at("crown").displacement[:, 2]
    np.testing.assert_allclose(crown, expected, rtol=1e-7, atol=1e-12)


def test_modes_transmissibility_and_steady_loads_are_those_of_the_study(folder):
    np.testing.assert_allclose(
        column(folder / "modes.csv", "frequency (Hz)"), study().modes.frequency, rtol=1e-8
    )
    np.testing.assert_allclose(
        column(folder / "transmissibility.csv", "vertical transmissibility to a rigid floor (1)"),
        study().transmissibility.vertical,
        rtol=1e-8,
    )
    header, rows = table(folder / "steady_eccentric_at_full_speed.csv")
    vertical = next(r for r in rows if r[1:3] == ["floor", "Fz"])
    force = abs(study().harmonic("eccentric at full speed").ground_wrench[0, 2])
    assert float(vertical[header.index("peak")]) == pytest.approx(force / 1e3, rel=1e-8)
    assert vertical[header.index("unit")] == "kN"


def test_us_units_on_request(tmp_path):
    folder = report.write(short_study("us"), tmp_path / "us")
    loads = column(folder / "mount_loads.csv", "greatest load (lbf)")
    np.testing.assert_allclose(loads, short_study().envelope.load_max / 4.4482216152605, rtol=1e-8)
    summary = (folder / "summary.md").read_text(encoding="utf-8")
    assert " lbf" in summary and " kN" not in summary
    assert not (folder / "plan.png").exists()


def test_a_report_takes_the_place_of_an_earlier_one(tmp_path):
    path = report.write(short_study(), tmp_path / "r")
    first = (path / "study.json").stat().st_ino
    assert report.write(short_study("us"), path) == path
    assert (path / "study.json").stat().st_ino != first
    assert "lbf" in (path / "mount_loads.csv").read_text(encoding="utf-8")
    assert list(tmp_path.iterdir()) == [path]


def strangers(folder):
    """Paths that hold no report of ours."""
    (folder / "file").write_text("mine")
    (folder / "empty").mkdir()
    (folder / "photos").mkdir()
    (folder / "photos" / "press.jpg").write_text("mine")
    (folder / "notes").mkdir()
    (folder / "notes" / "summary.md").write_text("# My own notes\n")
    (folder / "notes" / "study.json").write_text("{}")
    mixed = report.write(short_study(), folder / "mixed")
    (mixed / "signed.pdf").write_text("mine")
    half = report.write(short_study(), folder / "half")
    (half / "study.json").unlink()
    (folder / "broken").symlink_to("nowhere")
    return ["file", "empty", "photos", "notes", "mixed", "half", "broken", "."]


def test_nothing_but_a_report_is_replaced(tmp_path):
    def content():
        return {p: p.is_file() and p.read_bytes() for p in sorted(tmp_path.rglob("*"))}

    names = strangers(tmp_path)
    before = content()
    for name in names:
        with pytest.raises(uf.FileError) as caught:
            report.write(short_study(), tmp_path / name)
        assert (tmp_path / name).name in caught.value.path
    assert content() == before


@pytest.mark.parametrize("problem", [KeyboardInterrupt, MemoryError, OSError(28, "no space left")])
@pytest.mark.parametrize("place", ["plot.mode_map", "report.tables._modes"])
def test_what_goes_wrong_on_the_way_leaves_no_part_of_a_report(
    tmp_path, monkeypatch, problem, place
):
    def fails(*_, **__):
        raise problem

    monkeypatch.setattr(f"underfoot.{place}", fails)
    expected = uf.FileError if isinstance(problem, OSError) else problem
    with pytest.raises(expected):
        report.write(short_study(), tmp_path / "r")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("problem", [KeyboardInterrupt, OSError(28, "no space left")])
def test_an_earlier_report_stays_whole_when_a_new_one_fails(tmp_path, monkeypatch, problem):
    path = report.write(short_study(), tmp_path / "r")
    before = {p.name: p.read_bytes() for p in path.iterdir()}
    rename = Path.rename

    def fails(self, target):
        if self.suffix == ".part":
            raise problem
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", fails)
    with pytest.raises((uf.FileError, KeyboardInterrupt)):
        report.write(short_study("us"), path)
    assert {p.name: p.read_bytes() for p in path.iterdir()} == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_cannot_be_written_is_a_clear_error(tmp_path):
    with pytest.raises(uf.FileError, match="does not exist"):
        report.write(short_study(), tmp_path / "no" / "such" / "r")
    if os.name == "posix" and os.geteuid() != 0:
        tmp_path.chmod(0o500)
        with pytest.raises(uf.FileError, match="cannot be written"):
            report.write(short_study(), tmp_path / "r")


def test_file_names_are_safe_and_unique():
    names = ["a/b", "a b", "A-B", "../../etc", "con", "", "***", "\u6eb6\u63a5", "x" * 300, "\n"]
    made = list(file_names(names).values())
    assert len({n.casefold() for n in made}) == len(names)
    assert all(re.fullmatch(r"[A-Za-z0-9_]{1,64}", n) for n in made)
    assert not {"con", "nul"} & {n.casefold() for n in made}


def test_names_of_the_job_cannot_leave_the_folder(tmp_path):
    text = SHORT.replace('name = "valve"', 'name = "../../up \\n- [x](x) | valve"')
    folder = uf.Job.from_text(text).report(tmp_path / "r")
    assert list(tmp_path.iterdir()) == [folder]
    assert (folder / "shock_up_x_x_valve.csv").is_file()
    assert uf.Job.from_text(text).report(tmp_path / "r") == folder


def test_a_job_without_shocks_limits_or_bands_has_a_report(tmp_path):
    text = """
title = "Bare"
[machine]
name = "block"
mass = 1000
center = [0, 0, 1]
inertia = [300, 300, 200]
""" + "".join(
        f'[[mount]]\nname = "m{i}"\nposition = [{x}, {y}, 0]\nstiffness = [1e6, 1e6, 3e6]\n'
        "loss_factor = 0.1\n"
        for i, (x, y) in enumerate([(-1, -1), (1, -1), (-1, 1), (1, 1)])
    )
    folder = uf.Job.from_text(text).report(tmp_path / "r")
    assert (folder / "modes.png").is_file()
    assert not list(folder.glob("shock_*"))


def test_a_study_shows_itself_in_a_notebook_with_its_verdicts_and_units():
    page = study()._repr_html_()
    assert page == labeled.study_html(study())
    motions = [c for c in study().checks if c.question.startswith("peak motion")]
    worst = max(c.demand for c in motions)
    assert "<td>NO</td>" in page and f"{1e3 * worst:.2f} mm" in page and "at most 3.00 mm" in page
    for check in study().checks:
        assert check.question in page
    assert " in</td>" in short_study("us")._repr_html_()


def test_names_are_escaped_in_a_notebook():
    text = SHORT.replace('name = "crown"', 'name = "<b>crown"').replace('"crown"', '"<b>crown"')
    page = uf.Job.from_text(text).study()._repr_html_()
    assert "&lt;b&gt;crown" in page and "<b>crown" not in page


LOOSE = """
title = "a kick"
[machine]
mass = "10 t"
center = [0, 0, 1.5]
inertia = [19e3, 17e3, 9e3]
[[mount]]
name = "left"
position = [-1, 0, 0]
stiffness = [1e7, 1e7, 6e7]
rotational_stiffness = [1e7, 1e7, 1e7]
loss_factor = 0.1
[[mount]]
name = "right"
position = [1, 0, 0]
stiffness = [1e7, 1e7, 6e7]
rotational_stiffness = [1e7, 1e7, 1e7]
loss_factor = 0.1
[[point]]
name = "bed"
at = [0, 0, 1]
[[shock]]
name = "kick"
pulse = "half_sine"
peak = "800 kN"
duration = "10 ms"
direction = "z"
lift_off = true
"""


def test_histories_of_a_shock_that_lifts_feet_are_those_with_contacts(tmp_path):
    loose = uf.Job.from_text(LOOSE, "loose.toml").study()
    contacts = loose.contact_shock("kick")
    assert contacts.events
    folder = report.write(loose, tmp_path / "loose")
    up = column(folder / "shock_kick.csv", "floor Fz (kN)")
    np.testing.assert_allclose(up, contacts.ground_wrench[:, 2] / 1e3, rtol=1e-5, atol=1e-5)
    # Feet that only push lift the floor by no more than they stood on it with.
    assert up.max() == pytest.approx(10 * 9.80665, rel=1e-5)
    assert "center of mass z (mm)" in table(folder / "shock_kick.csv")[0]
    assert (folder / "shock_kick.png").read_bytes().startswith(PNG)
