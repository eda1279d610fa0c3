"""What can go wrong with cones, schedules and logs: one class for each thing a caller can act on."""

from __future__ import annotations

from catalog.errors import CatalogError

__all__ = ["FiringError", "MeasureError", "ScheduleError", "UnknownConeError"]


class FiringError(CatalogError):
    """Base of all errors about firings."""


class UnknownConeError(FiringError):
    """A text that names no cone of the ladder.

    Parameters
    ----------
    given : object
        What was given; a bare number is refused, because 6 may stand for cone 6 or cone 06.
    """

    def __init__(self, given: object) -> None:
        if isinstance(given, str):
            wanted = "write a cone from 022 to 14 as text, such as 06 or 6 or 5.5"
        else:
            wanted = 'write the cone as text in quotes, such as "06" or "6": they are over 200 °C apart'
        super().__init__(f"{given!r} is not a cone; {wanted}")
        self.given = given


class ScheduleError(FiringError):
    """A schedule or log that cannot be read.

    Parameters
    ----------
    name : str
        File name, or "schedule" when it did not come from a file.
    reason : str
        What was found, what is wanted.
    line : int or None
        Line in the file, counted from 1, where known.
    """

    def __init__(self, name: str, reason: str, line: int | None = None) -> None:
        where = name if line is None else f"{name}, line {line}"
        super().__init__(f"{where}: {reason}")
        self.name = name
        self.reason = reason
        self.line = line


class MeasureError(FiringError):
    """A reading of a witness cone or bar that cannot be: what was read, what is wanted."""

    def __init__(self, what: str, reason: str) -> None:
        super().__init__(f"{what}: {reason}")
        self.what = what
        self.reason = reason
