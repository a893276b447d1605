"""The command `underfoot`: a job file in, a summary and a report folder out.

Exit codes: 0 done, whatever the verdict (a NO is a result, not a failure); 1 the output could not
be written (a full disk); 2 bad input or a file that cannot be read or written, with one message on
stderr; 130 interrupted.
"""

from __future__ import annotations

import argparse
import os
import secrets
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from underfoot import _core
from underfoot.errors import FileError, UnderfootError

OK, NOT_WRITTEN, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130


class _Parser(argparse.ArgumentParser):
    """A parser whose errors read like all others."""

    def error(self, message: str) -> NoReturn:
        self.exit(BAD_INPUT, f"error: {message}; see {self.prog} --help\n")


def main(argv: Sequence[str] | None = None) -> int:
    """Runs the command with `argv` (by default that of the process); returns the exit code."""
    try:
        return _run(argv)
    except UnderfootError as error:
        _complain(str(error))
        return BAD_INPUT
    except BrokenPipeError:
        # The reader has seen enough (`| head`). Python flushes stdout once more at exit.
        _discard_stdout()
        return OK
    except OSError as error:
        _discard_stdout()
        _complain(f"the output cannot be written: {error.strerror or error}")
        return NOT_WRITTEN
    except KeyboardInterrupt:
        _complain("interrupted")
        return INTERRUPTED


def _run(argv: Sequence[str] | None) -> int:
    try:
        arguments = _parser().parse_args(argv)
    except SystemExit as stop:
        sys.stdout.flush()
        return stop.code if isinstance(stop.code, int) else OK
    arguments.run(arguments)
    sys.stdout.flush()
    return OK


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="underfoot",
        description="What a machine does to the floor underfoot: a press on its mounts, from a job "
        "file to verdicts, key figures with bands, tables and plots.",
        epilog="Exit code 0: done, whatever the verdict; 2: bad input; 130: interrupted.",
    )
    parser.add_argument("--version", action="version", version=f"underfoot {version()}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    study = commands.add_parser("study", help="compute a job; print the summary, write the report")
    study.add_argument("job", metavar="JOB.toml", type=Path)
    study.add_argument(
        "--output",
        metavar="DIR",
        type=Path,
        help="report folder (default: JOB_report in the current directory)",
    )
    study.add_argument(
        "--json", action="store_true", help="print the study as JSON instead of the summary"
    )
    study.set_defaults(run=_study)

    rank = commands.add_parser(
        "rank", help="judge and rank the mount models of a catalog for a job"
    )
    rank.add_argument("job", metavar="JOB.toml", type=Path)
    rank.add_argument("catalog", metavar="CATALOG", type=Path, help="a .csv or .toml file")
    rank.add_argument(
        "--by",
        metavar="OBJECTIVE",
        action="append",
        help="price, margin or a key figure, the most important first; may be repeated "
        "(default: price, where every model has one, then margin)",
    )
    rank.add_argument(
        "--one-model", action="store_true", help="the same model at every mount; no mixtures"
    )
    rank.set_defaults(run=_rank)

    new = commands.add_parser(
        "new", help="write a commented job file with every key, to start from"
    )
    new.add_argument("job", metavar="JOB.toml", type=Path)
    new.add_argument(
        "--facts",
        action="store_true",
        help="start from a few facts instead: tonnage, outline, strokes, heaviest die",
    )
    new.set_defaults(run=_new)

    check = commands.add_parser("check", help="check a job file without computing it")
    check.add_argument("job", metavar="JOB.toml", type=Path)
    check.set_defaults(run=_check)
    sweep = commands.add_parser(
        "sweep", help="probability that each check of a job holds, from the bands of its inputs"
    )
    sweep.add_argument("job", metavar="JOB.toml", type=Path)
    sweep.add_argument(
        "--samples", type=int, default=1024, help="designs to draw (default: 1024)", metavar="N"
    )
    sweep.add_argument("--seed", type=int, default=0, help="seed of the samples (default: 0)")
    sweep.add_argument(
        "--store", metavar="X.zarr", help="keep the designs; the same command resumes"
    )
    sweep.set_defaults(run=_sweep)
    return parser


def version() -> str:
    """Version of the installed package."""
    from importlib.metadata import version

    return version("underfoot")


def _study(arguments: argparse.Namespace) -> None:
    from underfoot import report

    job = _core.Job.load(arguments.job)
    folder = arguments.output or Path(f"{arguments.job.stem}_report")
    report.refuse_if_not_ours(folder)
    study = job.study()
    written = report.write(study, folder, installation=job.installation)
    if arguments.json:
        _say(study.to_json())
    else:
        _say(study.summary)
        _say(f"Report: {written / 'summary.md'}")


def _rank(arguments: argparse.Namespace) -> None:
    job = _core.Job.load(arguments.job)
    catalog = _core.Catalog.load(arguments.catalog)
    ranking = job.rank_options(catalog, arguments.by, mixed=not arguments.one_model)
    _say(ranking.table(job.units))


def _new(arguments: argparse.Namespace) -> None:
    text = _core.job_template_of_facts() if arguments.facts else _core.job_template()
    _write_new(arguments.job, text)
    _say(f"Wrote {arguments.job}. Change what differs, then: underfoot study {arguments.job}")


def _check(arguments: argparse.Namespace) -> None:
    job = _core.Job.load(arguments.job)
    installation = job.installation
    inputs = job.inputs
    _say(f"OK: {job.title}")
    counts = [
        (len(installation.mounts), "mount", ""),
        (1 + len(installation.cases), "load case", " with the machine as it runs"),
        (len(installation.points), "point", ""),
        (len(job.shocks), "shock", ""),
        (len(job.harmonics), "steady load", ""),
        (len(inputs), "input", ""),
        (sum(i.low is not None for i in inputs), "input", " with a band"),
        (sum(i.assumed for i in inputs), "input", " assumed"),
        (sum(i.default is not None for i in inputs), "input", " left to a default"),
    ]
    for count, noun, detail in counts:
        _say(f"{count:6d} {noun}{'' if count == 1 else 's'}{detail}")
    for warning in installation.warnings:
        _say(f"warning: {warning}")


def _sweep(arguments: argparse.Namespace) -> None:
    from underfoot import sweeps

    job = _core.Job.load(arguments.job)
    axes = sweeps.tolerances(job)
    drawn = {"samples": arguments.samples, "seed": arguments.seed, "store": arguments.store}
    found = sweeps.probability(sweeps.sweep(job, axes, "margin", **drawn))
    _say(
        f"{job.title}: {arguments.samples} designs, {len(axes)} inputs equally likely within their "
        f"bands, seed {arguments.seed}"
    )
    for name, chance in zip(found.check.values, found.probability.values, strict=True):
        _say(f"{100 * chance:7.2f} %  {name}")
    _say(f"{100 * found['all'].item():7.2f} %  all of them together")


def _write_new(path: Path, text: str) -> None:
    """Writes a file that must not be there yet: all of it or nothing."""
    part = path.parent / f".underfoot-{secrets.token_hex(4)}.part"
    try:
        if path.exists() or path.is_symlink():
            raise FileExistsError
        try:
            part.write_text(text, encoding="utf-8")
            _rename_to_new(part, path)
        finally:
            part.unlink(missing_ok=True)
    except FileExistsError:
        problem = "is there already; give another name"
        raise FileError(f"{path}: {problem}", path=str(path), problem=problem) from None
    except OSError as error:
        problem = f"cannot be written: {error.strerror or error}"
        raise FileError(f"{path}: {problem}", path=str(path), problem=problem) from error


def _rename_to_new(part: Path, path: Path) -> None:
    """A rename would replace what came in between; a link does not."""
    try:
        os.link(part, path)
    except FileExistsError:
        raise
    except OSError:
        # No links here (some network drives): the check before must do.
        part.rename(path)


def _say(text: str) -> None:
    """Prints, with marks in place of letters that the terminal does not have."""
    encoding = sys.stdout.encoding or "utf-8"
    print(text.encode(encoding, "replace").decode(encoding))


def _complain(text: str) -> None:
    print(f"error: {text}", file=sys.stderr)


def _discard_stdout() -> None:
    try:
        descriptor = sys.stdout.fileno()
    except (OSError, ValueError):
        return
    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, descriptor)
    os.close(null)
