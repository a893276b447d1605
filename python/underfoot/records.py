"""Records from files of measurement programs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from underfoot.errors import FileError, InvalidError, TableError

if TYPE_CHECKING:
    from os import PathLike

    from underfoot._core import Record

__all__ = ["read_uff58"]

TIME_RESPONSE = 1


def read_uff58(path: str | PathLike[str], index: int = 0) -> Record:
    """The record of one data set 58 (time response) of a universal file, as it stands there.

    Parameters
    ----------
    path : path
        A universal file.
    index : int
        Which data set, counted from 0.

    Returns
    -------
    Record
        In the unit of the file: scale it by `Record.scaled` if that is not SI.

    Raises
    ------
    FileError
        If there is no such file.
    TableError
        If pyuff is not installed, or the file holds no such data set.
    InvalidError
        For gaps, NaN and uneven sampling.
    """
    from underfoot._core import Record

    try:
        import pyuff
    except ImportError:
        raise TableError("universal files are read by pyuff: install underfoot[uff]") from None
    if not Path(path).is_file():
        raise FileError(f"{path}: there is no such file; give the path of a universal file")
    file = pyuff.UFF(str(path))
    kinds = list(file.get_set_types())
    if not 0 <= index < len(kinds):
        raise TableError(f"{path} holds {len(kinds)} data sets; index {index} is not among them")
    found: Any = file.read_sets(index)
    if int(kinds[index]) != 58 or int(found.get("func_type", 0)) != TIME_RESPONSE:
        raise TableError(f"data set {index} of {path} is no time response (type 58, function 1)")
    values = found["data"].real
    step = float(found.get("abscissa_inc") or 0.0)
    if step > 0:
        return Record(values, step)
    if "x" not in found:
        raise InvalidError(f"data set {index} of {path} has neither a step nor times")
    return Record(values, time=found["x"])
