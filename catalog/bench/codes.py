"""Codes as a person writes them: one by one, or the first and the last of a row."""

from __future__ import annotations

import re

from catalog import values
from catalog.errors import InvalidRecordError

__all__ = ["MOST_CODES", "codes_in_short", "codes_of_text"]

MOST_CODES = 500
"""More pieces than this in one row are a slip of the finger (our choice)."""

_SPAN = re.compile(
    r"(?P<head>.*?)(?P<first>\d+)\s*(?:\.\.+|…|\bto\b)\s*(?P<again>.*?)(?P<last>\d+)", re.IGNORECASE
)
_JOINED = re.compile(r"\s*(?:\.\.+|…|\s+to\s+)\s*", re.IGNORECASE)


def codes_of_text(text: str) -> tuple[str, ...]:
    """Give the codes that a text names, each once, in order.

    Parameters
    ----------
    text : codes parted by blanks, commas or lines; "T-0101..T-0120", "T-0101 to T-0120" or "T-0101..0120"
        stand for the whole row

    Raises
    ------
    InvalidRecordError : a row runs backward, changes its letters or is longer than `MOST_CODES`.
    """
    found: dict[str, str] = {}
    for word in re.split(r"[\s,;]+", _JOINED.sub("..", text).strip()):
        if not word:
            continue
        for code in _row(word) if ".." in word else (word,):
            checked = values.checked_code(code)
            found.setdefault(values.code_key(checked), checked)
    return tuple(found.values())


def _row(word: str) -> tuple[str, ...]:
    match = _SPAN.fullmatch(word)
    wanted = "the first and the last code of a row, such as T-0101..T-0120"
    if match is None or match["again"].casefold() not in ("", match["head"].casefold()):
        raise InvalidRecordError("codes", word, wanted)
    first, last = int(match["first"]), int(match["last"])
    if not first <= last < first + MOST_CODES:
        raise InvalidRecordError("codes", word, f"{wanted}, at most {MOST_CODES} pieces")
    width = len(match["first"])
    return tuple(f"{match['head']}{number:0{width}d}" for number in range(first, last + 1))


def codes_in_short(codes: tuple[str, ...] | list[str]) -> str:
    """Give codes in as few words as they take: "T-0101 to T-0120, W-0003"."""
    runs: list[list[str]] = []
    for code in codes:
        if runs and _follows(runs[-1][-1], code):
            runs[-1].append(code)
        else:
            runs.append([code])
    return ", ".join(", ".join(run) if len(run) < 3 else f"{run[0]} to {run[-1]}" for run in runs)


def _follows(one: str, two: str) -> bool:
    before, after = re.fullmatch(r"(.*?)(\d+)", one), re.fullmatch(r"(.*?)(\d+)", two)
    return (
        before is not None
        and after is not None
        and before[1] == after[1]
        and int(after[2]) == int(before[2]) + 1
    )
