"""Passphrases for tests, and a clock that goes when told."""

from datetime import UTC, datetime, timedelta

ANA, BEN = "old clay under the stairs", "blue kettle on a sill"
CLEO, DORA = "rain on the kiln shed", "a lamp over the wheel"


class Clock:
    """Gives the moment it was set to."""

    def __init__(self) -> None:
        self.at = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at

    def go(self, **step: float) -> None:
        self.at += timedelta(**step)
