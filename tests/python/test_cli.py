"""The command `underfoot`, in this process and as a process of its own."""

import json
import os
import signal
import subprocess
import sys
import time
from importlib.metadata import version
from pathlib import Path

import pytest
import underfoot as uf
from example_job import SHORT, TEXT, short_study
from underfoot.cli import main


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "press.toml").write_text(SHORT, encoding="utf-8")
    return tmp_path


def run(*arguments, **options):
    """The command as a process; warnings are errors there too."""
    command = [sys.executable, "-W", "error", "-m", "underfoot", *map(str, arguments)]
    options = {"capture_output": True, "text": True, "timeout": 120} | options
    return subprocess.run(command, **options)


def test_study_prints_the_summary_and_writes_the_report_beside(here, capsys):
    assert main(["study", "press.toml"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith(short_study().summary.rstrip())
    assert "press_report" in out.splitlines()[-1]
    assert err == ""
    assert (here / "press_report" / "summary.md").stat().st_size > 1000


def test_a_verdict_of_no_is_a_result_and_exits_with_zero(here, capsys):
    assert short_study().verdict == "NO"
    assert main(["study", "press.toml", "--output", "there"]) == 0
    assert "**NO**" in capsys.readouterr().out
    assert (here / "there" / "study.json").is_file()


def test_study_prints_json_if_asked(here, capsys):
    assert main(["study", "press.toml", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == short_study().title


def test_a_new_job_is_the_template_and_passes_check_and_study(here, capsys):
    assert main(["new", "mine.toml"]) == 0
    assert (here / "mine.toml").read_text(encoding="utf-8") == TEXT
    assert main(["check", "mine.toml"]) == 0
    assert main(["study", "mine.toml"]) == 0
    assert (here / "mine_report").is_dir()
    assert sorted(p.name for p in here.iterdir()) == ["mine.toml", "mine_report", "press.toml"]


def test_a_new_job_may_start_from_a_few_facts(here, capsys):
    assert main(["new", "--facts", "first.toml"]) == 0
    text = (here / "first.toml").read_text(encoding="utf-8")
    assert text == uf._core.job_template_of_facts() and "[machine.facts]" in text
    assert main(["study", "first.toml"]) == 0
    assert "Ask the client for: 1. mass over tonnage" in capsys.readouterr().out


def test_new_never_overwrites(here, capsys):
    (here / "link.toml").symlink_to("nowhere.toml")
    (here / "folder").mkdir()
    (here / "precious.toml").write_text("precious")
    for name in ("precious.toml", "folder", "link.toml"):
        assert main(["new", name]) == 2
        assert name in capsys.readouterr().err
    assert (here / "precious.toml").read_text() == "precious"
    assert not (here / "nowhere.toml").exists()
    assert main(["new", "no/such/folder/job.toml"]) == 2
    assert "job.toml" in capsys.readouterr().err


def test_check_says_what_it_read_and_computes_nothing(here, capsys, monkeypatch):
    (here / "press.toml").write_text(TEXT, encoding="utf-8")
    assert main(["check", "press.toml"]) == 0
    words = " ".join(capsys.readouterr().out.split())
    job = uf.Job.from_text(TEXT)
    banded = sum(i.low is not None for i in job.inputs)
    assumed = sum(i.assumed for i in job.inputs)
    for part in (
        f"OK: {job.title}",
        "4 mounts",
        "13 load cases",
        "4 points",
        "21 shocks",
        "2 steady loads",
        f"{banded} inputs with a band",
        f"{assumed} inputs assumed",
    ):
        assert part in words
    assert list(here.iterdir()) == [here / "press.toml"]


# The command stands beside the interpreter of its environment.
SCRIPT = Path(sys.executable).with_name("underfoot")


@pytest.mark.parametrize("module", [True, False])
def test_version_is_that_of_the_package(module):
    command = [sys.executable, "-m", "underfoot"] if module else [str(SCRIPT)]
    done = subprocess.run([*command, "--version"], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout) == (0, f"underfoot {version('underfoot')}\n")


def bad_files(folder):
    """(name, what the message must say) of files that are no jobs."""
    (folder / "folder.toml").mkdir()
    (folder / "binary.toml").write_bytes(b"\x7fELF\0\1\2")
    (folder / "latin.toml").write_bytes('title = "Pr\u00e9sse"\n'.encode("latin-1"))
    (folder / "empty.toml").write_bytes(b"")
    (folder / "comment.toml").write_text("# nothing but a comment\n")
    with (folder / "huge.toml").open("wb") as file:
        file.truncate(1 << 30)
    (folder / "syntax.toml").write_text('title = "x"\nmachine = = 3\n')
    (folder / "unit.toml").write_text(TEXT.replace('"42 t"', '"42 kN"'))
    (folder / "key.toml").write_text(TEXT.replace("unilateral =", "unilaterall ="))
    return {
        "missing.toml": "no such file",
        "folder.toml": "directory",
        "binary.toml": "binary",
        "latin.toml": "UTF-8",
        "empty.toml": "empty",
        "comment.toml": "empty",
        "huge.toml": "larger than",
        "syntax.toml": "syntax.toml:2:11",
        "unit.toml": "this is a force, but a mass is expected",
        "key.toml": "unilateral",
    }


@pytest.mark.parametrize("command", ["study", "check"])
def test_bad_files_get_one_clear_message_and_leave_nothing(here, capsys, command):
    wanted = bad_files(here)
    before = sorted(here.iterdir())
    for name, words in wanted.items():
        start = time.perf_counter()
        assert main([command, name]) == 2
        assert time.perf_counter() - start < 2.0
        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith("error: ") and err.count("\n") == 1, err
        assert name in err and words in err
    assert sorted(here.iterdir()) == before


def test_messages_name_line_and_column_of_the_value(here, capsys):
    bad_files(here)
    lines = (here / "unit.toml").read_text().splitlines()
    line = next(i for i, text in enumerate(lines) if text.startswith("mass = "))
    column = lines[line].index('"42 kN"')
    assert main(["check", "unit.toml"]) == 2
    place = f"unit.toml:{line + 1}:{column + 1}: machine.mass.value: "
    assert place in capsys.readouterr().err


def test_no_traceback_for_a_machine_that_is_free_to_move(here, capsys):
    text = TEXT.replace('"6 kN/mm", "6 kN/mm", "14 kN/mm"', '0, 0, "14 kN/mm"')
    text = text.replace('"5 kN/mm", "5 kN/mm", "11 kN/mm"', '0, 0, "11 kN/mm"')
    text = text.replace('stiffness = ["6 kN/mm", "6 kN/mm", 0]', "stiffness = [0, 0, 0]")
    text = text.replace('"0.1 kN/mm", "0.1 kN/mm"', "0, 0")
    text = text.replace('damping = "2 kN s/m"', "damping = 0")
    (here / "free.toml").write_text(text)
    assert main(["study", "free.toml"]) == 2
    err = capsys.readouterr().err
    assert err.startswith("error: ") and "Traceback" not in err
    assert not (here / "free_report").exists()


@pytest.mark.parametrize(
    "arguments", [[], ["frobnicate"], ["study"], ["study", "a", "b"], ["check", "a", "--nope"]]
)
def test_wrong_arguments_exit_with_two(arguments, capsys):
    assert main(arguments) == 2
    err = capsys.readouterr().err
    assert err.startswith("error: ") and "--help" in err


def test_a_foreign_folder_is_refused_before_the_work(here, capsys, monkeypatch):
    (here / "press_report").mkdir()
    (here / "press_report" / "thesis.txt").write_text("do not lose me")
    monkeypatch.setattr(uf.report, "write", lambda *_, **__: pytest.fail("wrote"))
    assert main(["study", "press.toml"]) == 2
    assert "press_report" in capsys.readouterr().err
    assert (here / "press_report" / "thesis.txt").read_text() == "do not lose me"


@pytest.mark.skipif(sys.platform == "win32", reason="pipes break differently there")
def test_a_broken_pipe_ends_quietly(here):
    command = f"'{sys.executable}' -m underfoot study press.toml | head -1"
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {command}"], capture_output=True, text=True, timeout=120
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == f"# {short_study().title}\n"
    closed = subprocess.Popen(
        [sys.executable, "-m", "underfoot", "check", "press.toml"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    closed.stdout.close()
    assert closed.stderr.read() == b""
    closed.stderr.close()
    assert closed.wait(60) == 0


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full device here")
def test_a_full_disk_is_said_and_exits_with_one(here):
    with open("/dev/full", "w") as full:
        done = run("check", "press.toml", stdout=full, stderr=subprocess.PIPE, capture_output=False)
    assert done.returncode == 1
    assert done.stderr.startswith("error: ") and done.stderr.count("\n") == 1


def test_a_terminal_without_the_letters_still_gets_the_lines(here):
    text = TEXT.replace('title = "Invented', 'title = "\u538b\u529b\u673a Invented')
    (here / "press.toml").write_text(text, encoding="utf-8")
    done = run("check", "press.toml", env=os.environ | {"PYTHONIOENCODING": "ascii"})
    assert (done.returncode, done.stderr) == (0, "")
    assert "Invented straight-side press" in done.stdout


def test_an_interrupt_exits_with_130_and_leaves_nothing(here, capsys, monkeypatch):
    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("underfoot.plot.mode_map", interrupted)
    assert main(["study", "press.toml"]) == 130
    err = capsys.readouterr().err
    assert "Traceback" not in err
    assert list(here.iterdir()) == [here / "press.toml"]


@pytest.mark.skipif(sys.platform == "win32", reason="signals differ there")
def test_control_c_while_the_report_is_written_exits_with_130_and_leaves_nothing(here):
    process = subprocess.Popen(
        [sys.executable, "-m", "underfoot", "study", "press.toml"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        # A test run in the background of a shell hands down that SIGINT is ignored.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    deadline = time.monotonic() + 60
    while not list(here.glob(".underfoot-*/*.png")):
        assert process.poll() is None and time.monotonic() < deadline
        time.sleep(0.01)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert (process.returncode, out, err) == (130, "", "error: interrupted\n")
    assert list(here.iterdir()) == [here / "press.toml"]
