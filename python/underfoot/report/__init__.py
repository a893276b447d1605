"""The report folder of a study: summary, tables, plots.

- `summary.md`: the study on a page, with links to all else
- `study.json`: figures, checks, inputs, statics and modes, for programs (SI)
- `leveling_sheet.html`: what the millwright takes to the machine, if the job asks for a plan
- tables (CSV, UTF-8, units in the header) and plots (PNG)
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from underfoot.report import folder
from underfoot.report.folder import refuse_if_not_ours

__all__ = ["refuse_if_not_ours", "write"]


def write(study: Any, path: Any, installation: Any = None) -> Path:
    """Writes the report folder of a study; returns its path.

    The folder is written under a temporary name and then renamed, so that it is never there in
    part. A report that is there already is replaced, but nothing else is.

    Parameters
    ----------
    study : Study
    path : path of the folder
    installation : Installation, optional
        That of the job, for the plan view of the mounts.

    Raises
    ------
    FileError
        If the path holds anything but a report that underfoot wrote, or cannot be written.
    """
    from underfoot.report import pictures, tables

    def fill(part: Path) -> None:
        wrote = [*pictures.write(study, part, installation), *tables.write(study, part)]
        if study.leveling is not None:
            for name, html in (("leveling_sheet.html", True), ("leveling_sheet.txt", False)):
                sheet = study.leveling.sheet("both", html=html)
                (part / name).write_text(sheet, encoding="utf-8")
            wrote.append(("leveling_sheet.html", "work sheet for the millwright, big type"))
            wrote.append(("leveling_sheet.txt", "the same as text"))
        (part / folder.DATA).write_text(study.to_json() + "\n", encoding="utf-8")
        wrote.append((folder.DATA, "all but the histories, for programs (SI)"))
        (part / folder.SUMMARY).write_text(_summary(study, wrote), encoding="utf-8")

    return folder.write(Path(path), fill)


def _summary(study: Any, wrote: list[tuple[str, str]]) -> str:
    # A name of the job may hold a line break; a list entry may not.
    wrote = [(name, " ".join(words.split())) for name, words in wrote]
    pictures = [f"![{words}]({name})" for name, words in wrote if name.endswith(".png")]
    files = [f"- [{name}]({name}): {words}" for name, words in wrote]
    return "\n\n".join(
        [
            study.summary.rstrip(),
            "## Pictures",
            *pictures,
            "## Files",
            "\n".join(files),
            folder.signature() + "\n",
        ]
    )
