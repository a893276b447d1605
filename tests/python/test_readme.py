"""The README's Python runs from top to bottom in one session, as a new user would type it."""

import re
from pathlib import Path

README = Path(__file__).parents[2] / "README.md"
BLOCK = re.compile(r"^```python\n(.*?)^```", re.MULTILINE | re.DOTALL)


def test_the_python_of_the_readme_runs_in_one_session(monkeypatch, tmp_path, capsys):
    monkeypatch.setenv("MPLBACKEND", "Agg")
    monkeypatch.chdir(tmp_path)
    blocks = BLOCK.findall(README.read_text(encoding="utf-8"))
    assert len(blocks) >= 6
    session = {}
    for number, block in enumerate(blocks):
        exec(compile(block, f"README.md, Python block {number + 1}", "exec"), session)
    press, run, stop = session["press"], session["run"], session["stop"]
    # What the comments beside the lines say.
    load = press.statics().load[:, 2]
    assert abs(load.sum() - press.body.mass * 9.80665) < 1e-6 * load.sum()
    assert run.source == "slide inertia"
    assert set(press.floor_force_by_source(stop)) == {"slide inertia", "start and stop"}
    assert "LOCK OUT" in capsys.readouterr().out
    assert session["grid"].sizes["mass"] == 50
    assert session["snap"].reverse_load > 0
