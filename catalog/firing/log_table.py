"""A controller's log file as named columns of text, whatever wrote it."""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from catalog.firing.errors import ScheduleError

__all__ = ["LogTable", "number_of", "read_log_table"]

LIMIT_BYTES = 20_000_000
"""Larger files are refused: a 20 000-row log has about 0.5 MB (our choice)."""

_SEPARATORS = (";", "\t", ",", "|")
_LOOKED_AT = 60
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?$")
_UNIT = re.compile(r"\s*(?:°|º|deg\.?\s*)?\s*([CF])$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class LogTable:
    """Columns of text, all of one length.

    Attributes
    ----------
    name : str
        File name, for messages.
    columns : dict of str to list of str
        In the file's order; "column 1", "column 2", ... where there is no head line.
    lines : list of int
        Line of each row in the file, from 1.
    notes : tuple of str
        What was done to read it.
    """

    name: str
    columns: dict[str, list[str]]
    lines: list[int]
    notes: tuple[str, ...]

    @property
    def rows(self) -> int:
        """Rows under the head."""
        return len(next(iter(self.columns.values()), []))


def number_of(cell: str) -> float | None:
    """Give a cell's number; decimal point or comma, a unit °C or °F after it allowed; None for none."""
    text = _UNIT.sub("", cell.strip().replace("\u00a0", "").replace("\u2212", "-"))
    if not _NUMBER.match(text):
        return None
    return float(text.replace(",", "."))


def _text_of(path: Path, name: str) -> str:
    try:
        if path.stat().st_size > LIMIT_BYTES:
            raise ScheduleError(name, f"the file is larger than {LIMIT_BYTES // 1_000_000} MB")
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise ScheduleError(name, "there is no such file") from error
    except OSError as error:
        raise ScheduleError(name, f"the file cannot be opened ({error.strerror})") from error
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    if b"\x00" in data:
        raise ScheduleError(name, "this is not a text file; wanted: a table as text (CSV)")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _separator(lines: list[str], name: str) -> str:
    """Give the separator that cuts most lines into the same number of cells, two or more."""
    best, most = None, 0
    for separator in _SEPARATORS:
        widths = Counter(len(row) for row in csv.reader(lines, delimiter=separator) if len(row) > 1)
        agreeing = max(widths.values(), default=0)
        if agreeing > most:
            best, most = separator, agreeing
    if best is None:
        raise ScheduleError(name, "no columns were found; wanted: time and temperature, parted by , or ;")
    return best


def _is_data(row: list[str]) -> bool:
    """At least two cells that begin with a digit or sign, one of them at the row's start or next to it."""
    begins = [bool(re.match(r"\s*[+-]?[.,]?\d", cell)) for cell in row]
    return sum(begins) >= 2


def read_log_table(path: Path, name: str | None = None) -> LogTable:
    """Read a log's columns.

    Parameters
    ----------
    path : Path
        Text in UTF-8 (with or without byte order mark), UTF-16 with mark, or Windows western; separator
        ; tab , or |. Lines before the head, empty lines and lines that start with # are passed over, and
        the notes say so.
    name : str, optional
        What to call it in messages, for a file kept under another name.

    Raises
    ------
    ScheduleError
        No file, no text, no rows, a row with more cells than the head, or two columns of one name.
    """
    name = name or path.name
    lines = _text_of(path, name).splitlines()
    numbered = [(i, line) for i, line in enumerate(lines, start=1) if line.strip() and line[0] != "#"]
    if not numbered:
        raise ScheduleError(name, "the file is empty; wanted: a head line and rows under it")
    texts = [line for _, line in numbered]
    separator = _separator(texts[-_LOOKED_AT:], name)
    try:
        rows = list(csv.reader(texts, delimiter=separator))
    except csv.Error as error:
        raise ScheduleError(name, f"the table cannot be read ({error})") from error
    if len(rows) != len(texts):
        raise ScheduleError(name, "a quoted cell runs over the end of its line; wanted: a reading a line")
    first = next((i for i, row in enumerate(rows) if _is_data(row)), None)
    if first is None:
        raise ScheduleError(name, "no rows with a time and a temperature were found")
    head = [cell.strip() for cell in rows[first - 1]] if first > 0 and len(rows[first - 1]) > 1 else None
    width = len(head) if head is not None else max(len(row) for row in rows[first : first + _LOOKED_AT])
    names = _names(name, head, width, numbered[max(first - 1, 0)][0])
    notes = []
    if head is None:
        notes.append("There is no head line: columns are named by their place.")
    passed = first - (head is not None)
    if passed > 0:
        notes.append(f"{passed} line{'s' * (passed > 1)} before the head passed over.")
    body = rows[first:]
    at = [line for line, _ in numbered[first:]]
    _check_widths(name, body, width, separator, at)
    if any(len(row) != width for row in body):
        body = [_padded(row, width) for row in body]
    texts_by_column = [[cell.strip() for cell in column] for column in zip(*body, strict=True)]
    columns = dict(zip(names, texts_by_column, strict=True))
    return LogTable(name, columns, at, tuple(notes))


def _padded(row: list[str], width: int) -> list[str]:
    return row if len(row) == width else (row + [""] * width)[:width]


def _names(name: str, head: list[str] | None, width: int, line: int) -> list[str]:
    if head is None:
        return [f"column {i}" for i in range(1, width + 1)]
    names = [cell or f"column {i}" for i, cell in enumerate(head, start=1)]
    twice = sorted(cell for cell, count in Counter(names).items() if count > 1)
    if twice:
        raise ScheduleError(name, f"the head has {', '.join(twice)} more than once", line)
    return names


def _check_widths(name: str, body: list[list[str]], width: int, separator: str, lines: list[int]) -> None:
    for row, line in zip(body, lines, strict=True):
        if len(row) > width and any(cell.strip() for cell in row[width:]):
            hint = " (a decimal comma needs ; between the columns)" if separator == "," else ""
            raise ScheduleError(name, f"{len(row)} cells where the head has {width}{hint}", line)
