"""What can go wrong with measurements of a clay."""

from __future__ import annotations

from catalog.errors import CatalogError

__all__ = ["BodyError", "MeasurementError"]


class BodyError(CatalogError):
    """Base of all errors about clay bodies."""


class MeasurementError(BodyError):
    """A measurement that cannot be.

    Parameters
    ----------
    what : str
        What was measured.
    reason : str
        What was found, what is wanted.
    """

    def __init__(self, what: str, reason: str) -> None:
        super().__init__(f"{what}: {reason}")
        self.what = what
        self.reason = reason
