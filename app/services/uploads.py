"""How much one upload may hold: more is told and left, so that the computer does not run out of memory."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

__all__ = ["MOST_MB", "MOST_PHOTOS", "accepted"]

MOST_PHOTOS = 200
"""Photos in one upload: three kiln-loads of sixty with some to spare."""

MOST_MB = 2000
"""All photos of one upload together, megabytes; they wait in memory until they are read."""


class _Sized(Protocol):
    size: int


_T = TypeVar("_T", bound=_Sized)


def accepted(given: Sequence[_T]) -> tuple[list[_T], str | None]:
    """Give the files that are taken, in their order, and words where some are left.

    Parameters
    ----------
    given : uploaded files, each with its `size` in bytes
    """
    taken: list[_T] = []
    total = 0
    for file in given:
        total += file.size
        if len(taken) == MOST_PHOTOS or total > MOST_MB * 1_000_000:
            break
        taken.append(file)
    if len(taken) == len(given):
        return taken, None
    return taken, (
        f"{len(taken)} of {len(given)} photos are taken: one upload holds at most {MOST_PHOTOS} photos and "
        f"{MOST_MB} MB. File these, then give the rest; glostbook unload takes any number."
    )
