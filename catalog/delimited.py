"""Small tables people bring (recipes, schedules, logs).

Read with any usual separator, decimal sign and encoding; refused with the line and what is wanted.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

__all__ = ["DelimitedTable", "TableError", "read_delimited", "read_number"]

LIMIT_BYTES = 20_000_000
"""Larger files are refused: a 20 000-row log has about 0.5 MB (our choice)."""

CELL_LIMIT = 100_000
"""A longer cell is no cell of such a table (our choice). The csv module's own limit is the whole program's,
and a package may have raised it."""

_SEPARATORS = (";", "\t", ",")


class TableError(Exception):
    """A table that cannot be read. `reason` says what was found and wanted; `line` counts from 1."""

    def __init__(self, reason: str, line: int | None = None) -> None:
        super().__init__(reason)
        self.reason = reason
        self.line = line


@dataclass(frozen=True, slots=True)
class DelimitedTable:
    """Column names (lower case) and rows of text, each with its line in the file, counted from 1."""

    columns: tuple[str, ...]
    rows: tuple[tuple[int, dict[str, str]], ...]
    separator: str


def _decoded(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    if b"\x00" in data:
        raise TableError("this is not a text file; wanted: a table as text (CSV)")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def read_delimited(path: Path) -> DelimitedTable:
    """Read a table with a head line.

    Parameters
    ----------
    path : Path
        A text file; separators ";", tab and "," are told from the head line; UTF-8 (with or without byte
        order mark), UTF-16 with mark, or Windows western text.

    Returns
    -------
    DelimitedTable
        Empty lines and lines that start with "#" are left out.

    Raises
    ------
    TableError
        No file, no text, no head line, or a line with more cells than the head.
    """
    try:
        if path.stat().st_size > LIMIT_BYTES:
            raise TableError(f"the file is larger than {LIMIT_BYTES // 1_000_000} MB")
        text = _decoded(path.read_bytes())
    except FileNotFoundError as error:
        raise TableError("there is no such file") from error
    except OSError as error:
        raise TableError(f"the file cannot be opened ({error.strerror})") from error
    lines = text.splitlines()
    head = next((line for line in lines if line.strip() and not line.startswith("#")), None)
    if head is None:
        raise TableError("the file is empty; wanted: a head line and rows under it")
    separator = max(_SEPARATORS, key=head.count) if any(s in head for s in _SEPARATORS) else ","
    try:
        return _rows(lines, separator)
    except csv.Error as error:
        raise TableError(f"the table cannot be read ({error})") from error


def _rows(lines: list[str], separator: str) -> DelimitedTable:
    columns: tuple[str, ...] | None = None
    rows = []
    reader = csv.reader(lines, delimiter=separator)
    for cells in reader:
        if any(len(cell) > CELL_LIMIT for cell in cells):
            reason = f"the table cannot be read (a cell of more than {CELL_LIMIT} characters)"
            raise TableError(reason, reader.line_num)
        if not any(cell.strip() for cell in cells) or cells[0].startswith("#"):
            continue
        if columns is None:
            columns = tuple(cell.strip().lower() for cell in cells)
            twice = sorted({name for name in columns if name and columns.count(name) > 1})
            if twice:
                raise TableError(f"the head has {', '.join(twice)} more than once", reader.line_num)
            continue
        extra = [cell for cell in cells[len(columns) :] if cell.strip()]
        if extra:
            hint = " (a decimal comma needs ; between the columns)" if separator == "," else ""
            raise TableError(f"{len(cells)} cells where the head has {len(columns)}{hint}", reader.line_num)
        padded = [cell.strip() for cell in cells] + [""] * (len(columns) - len(cells))
        rows.append((reader.line_num, dict(zip(columns, padded, strict=False))))
    return DelimitedTable(columns or (), tuple(rows), separator)


def read_number(cell: str) -> float:
    """Read a number written with a decimal point or a decimal comma.

    Raises
    ------
    ValueError
        The cell is no number, or both signs stand in it so that thousands cannot be told from decimals.
    """
    text = cell.strip().replace("\u00a0", "").replace(" ", "").replace("\u2212", "-")
    if "," in text and "." in text:
        raise ValueError(f"{cell!r} has both a comma and a point")
    number = float(text.replace(",", "."))
    if number != number or number in (float("inf"), float("-inf")):
        raise ValueError(f"{cell!r} is no finite number")
    return number
