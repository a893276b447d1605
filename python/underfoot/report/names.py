"""File names from names of a job: safe on every system, and unique."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

LONGEST = 60
# Names that a common system keeps for devices.
RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)$", re.IGNORECASE)


def file_names(names: Iterable[str]) -> dict[str, str]:
    """For each name a file name of letters, digits and underscores, no two alike.

    >>> list(file_names(["die set down", "Die set down", "../x", "***"]).values())
    ['die_set_down', 'Die_set_down_2', 'x', 'unnamed']
    """
    given: dict[str, str] = {}
    taken: set[str] = set()
    for name in names:
        base = _safe(name)
        candidate, n = base, 1
        # Some file systems do not tell capital letters.
        while candidate.casefold() in taken:
            n += 1
            candidate = f"{base}_{n}"
        taken.add(candidate.casefold())
        given[name] = candidate
    return given


def _safe(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    safe = re.sub(r"[^A-Za-z0-9]+", "_", plain).strip("_")[:LONGEST] or "unnamed"
    return f"{safe}_" if RESERVED.match(safe) else safe
