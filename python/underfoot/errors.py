"""Errors of underfoot: each is an UnderfootError and a ValueError, and carries its fields.

>>> import underfoot as uf
>>> try:
...     uf.PointMass(mass=-3, center=(0, 0, 0))
... except uf.UnderfootError as error:
...     print(error.argument, "|", error.value, "|", error.requirement)
mass | -3 kg | must be greater than zero
"""

from __future__ import annotations


class UnderfootError(ValueError):
    """What can go wrong, said so that the reader can mend it.

    Every error has its message as text, and its parts as attributes (`argument`, `value`,
    `requirement`, `remedy`, ... : see the subclass).
    """

    def __init__(self, message: str = "", **fields: object) -> None:
        super().__init__(message)
        self.__dict__.update(fields)

    def __reduce__(self) -> tuple[object, ...]:
        return (_restore, (type(self), str(self), dict(self.__dict__)))


def _restore(kind: type[UnderfootError], message: str, fields: dict[str, object]) -> UnderfootError:
    return kind(message, **fields)


class InvalidError(UnderfootError):
    """A value outside what its argument allows.

    Attributes: argument, value, requirement, remedy.
    """


class ShapeError(UnderfootError):
    """An array of the wrong shape. Attributes: argument, found, expected."""


class UnitError(UnderfootError):
    """A quantity that cannot be read or has the wrong dimension.

    Attributes: argument, text, problem, remedy.
    """


class UnknownNameError(UnderfootError):
    """A name that is not known. Attributes: argument, value, allowed."""


class FreeMotionError(UnderfootError):
    """The mounts leave the machine free to move. Attributes: motion, remedy."""


class UnstableError(UnderfootError):
    """The machine would tip over or lift off. Attributes: reason, remedy."""


class JobFileError(UnderfootError):
    """A job file that cannot be used. Attributes: file, line, column, path, problem."""


class TableError(UnderfootError):
    """A table that cannot be used. Attributes: table, row, column, problem."""


class FileError(UnderfootError):
    """A file that cannot be read or written. Attributes: path, problem."""


class NotConvergedError(UnderfootError):
    """A numerical method that did not reach its accuracy. Attributes: what, detail, remedy."""
