"""Outcome files from outside: bytes to text, refused in plain words."""

from __future__ import annotations

from catalog.causes.errors import CausesError

__all__ = ["LIMIT_BYTES", "outcomes_text"]

LIMIT_BYTES = 20_000_000
"""Larger files are refused (our choice; ten thousand outcomes have about 5 MB)."""


def outcomes_text(data: bytes) -> str:
    """Give a file of outcomes as text. Raises CausesError where it is none."""
    if len(data) > LIMIT_BYTES:
        msg = "the file is larger than 20 MB"
        raise CausesError(msg)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        msg = "this is not a text file"
        raise CausesError(msg) from error
