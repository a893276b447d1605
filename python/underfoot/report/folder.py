"""A folder that is there whole or not at all, and never takes the place of somebody's files."""

from __future__ import annotations

import re
import secrets
import shutil
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from underfoot.errors import FileError

SIGNED = "Report written by underfoot"
SUMMARY = "summary.md"
DATA = "study.json"


def signature() -> str:
    """The last line of a summary: by it a report is known again."""
    from underfoot.cli import version

    return f"{SIGNED} {version()}."


def refuse_if_not_ours(path: Path) -> None:
    """FileError if something stands at `path` that a report must not replace."""
    target = path.resolve()
    if not target.parent.is_dir():
        raise refused(path, "cannot be written: the folder that shall hold it does not exist")
    if path.is_symlink() and not target.exists():
        raise refused(path, "is a link to nothing; give another name for the report")
    if not target.exists():
        return
    if not target.is_dir():
        raise refused(path, "is there and is no folder; give another name for the report")
    strange = _not_ours(target)
    if strange is not None:
        raise refused(path, f"is there and {strange}; give another name for the report")


def write(path: Path, fill: Callable[[Path], None]) -> Path:
    """Lets `fill` write into a new folder, which then takes the place of `path`."""
    refuse_if_not_ours(path)
    target = path.resolve()
    part = target.parent / f".underfoot-{secrets.token_hex(4)}.part"
    try:
        part.mkdir()
        fill(part)
        _replace(target, part)
    except OSError as error:
        raise refused(path, f"cannot be written: {error.strerror or error}") from error
    finally:
        # Also after Ctrl-C; after the rename nothing is left to remove.
        shutil.rmtree(part, ignore_errors=True)
    return path


def refused(path: Path, problem: str) -> FileError:
    return FileError(f"{path}: {problem}", path=str(path), problem=problem)


def _not_ours(target: Path) -> str | None:
    """Why a folder is no report of ours that may be replaced; None if it is one."""
    try:
        text = (target / SUMMARY).read_text(encoding="utf-8")
    except (OSError, ValueError):
        return f"holds no {SUMMARY} of underfoot"
    if not (target / DATA).is_file():
        return f"holds no {DATA}"
    if SIGNED not in text[text.rstrip().rfind("\n") + 1 :]:
        return f"its {SUMMARY} was not written by underfoot"
    listed = {SUMMARY, *re.findall(r"^- \[(.+?)\]\(", text, flags=re.MULTILINE)}
    others = sorted(entry.name for entry in target.iterdir() if entry.name not in listed)
    return f"holds {others[0]}, which underfoot did not write" if others else None


def _replace(target: Path, part: Path) -> None:
    if not target.exists():
        part.rename(target)
        return
    old = target.parent / f".underfoot-{secrets.token_hex(4)}.old"
    try:
        target.rename(old)
        part.rename(target)
    except BaseException:
        if old.exists() and not target.exists():
            with suppress(OSError):
                old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)
