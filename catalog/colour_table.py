"""All colours of a catalogue in memory, kept fresh: what `search` looks through.

A change anywhere, by this program or another, raises the catalogue's colour counter. Then the readings that
stand are compared with those kept: colours of new ones are fetched, of those that went are dropped.
"""

from __future__ import annotations

import threading
import weakref
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Engine, Select, select
from sqlalchemy.orm import Session

from catalog.colour_cells import ColourCells, make_cells
from catalog.store import Catalog
from catalog.tables import CounterRow, PaletteRow, PieceRow, ReadingRow
from vision.reading import CalibrationKind, Finish

__all__ = ["FINISH_NAMES", "KINDS", "UNCORRECTED", "ColourTable", "colour_table"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
ByteArray = NDArray[np.int8]
BoolArray = NDArray[np.bool_]

KINDS = tuple(str(kind) for kind in CalibrationKind)
UNCORRECTED = KINDS.index(str(CalibrationKind.NONE))
FINISH_NAMES = tuple(str(finish) for finish in Finish)

_COLUMNS = ("lab", "fraction", "piece_id", "reading_id", "calibration", "finish", "colour_method")
_AT_ONCE = 500
"""Readings fetched by one query when few are new: databases bound the numbers in a query."""
_FEW = 20_000
"""With more new readings than this the whole table is read again."""


@dataclass(frozen=True, slots=True, eq=False)
class ColourTable:
    """All colours of readings that stand, one row each, ordered by piece, then reading.

    Attributes
    ----------
    state : value of the catalogue's colour counter when the table was read
    lab : (n, 3) float64, CIELAB D65/2 degree
    fraction : (n,) float64, part of the glazed face, 0..1
    piece_id, reading_id : (n,) int64
    calibration : (n,) int8, index into `KINDS`
    finish : (n,) int8, index into `FINISH_NAMES`, -1 where none was told
    colour_method : (n,) int64, version of the colour's definition
    counted : (n,) bool; False for the uncorrected colours of a piece that has corrected ones too
    readings : (r,) int64, the readings that stand, those without a palette among them, ascending
    cells : the colours in cells
    """

    state: int
    lab: FloatArray
    fraction: FloatArray
    piece_id: IntArray
    reading_id: IntArray
    calibration: ByteArray
    finish: ByteArray
    colour_method: IntArray
    counted: BoolArray
    readings: IntArray
    cells: ColourCells

    @property
    def size_bytes(self) -> int:
        """Memory it takes."""
        arrays = [getattr(self, name) for name in (*_COLUMNS, "counted", "readings")]
        return int(sum(array.nbytes for array in arrays)) + self.cells.size_bytes


_tables: weakref.WeakKeyDictionary[Engine, ColourTable] = weakref.WeakKeyDictionary()
_lock = threading.Lock()


def colour_table(catalog: Catalog) -> ColourTable:
    """Give the colours of a catalogue, from memory while nothing has changed in it."""
    with catalog.database.reading() as session:
        state = session.scalar(select(CounterRow.value).where(CounterRow.name == "colours")) or 0
        with _lock:
            kept = _tables.get(catalog.database.engine)
        if kept is not None and kept.state == state:
            return kept
        table = _read_table(session, state) if kept is None else _brought_up_to(session, kept, state)
    with _lock:
        _tables[catalog.database.engine] = table
    return table


_STANDING = (PieceRow.deleted_at.is_(None), ReadingRow.superseded_by_id.is_(None))


def _standing(session: Session) -> IntArray:
    query = select(ReadingRow.id).join(PieceRow, PieceRow.id == ReadingRow.piece_id).where(*_STANDING)
    return np.sort(np.fromiter(session.scalars(query), dtype=np.int64))


def _colours() -> Select[*tuple[Any, ...]]:
    return (
        select(
            PaletteRow.lightness,
            PaletteRow.a_star,
            PaletteRow.b_star,
            PaletteRow.fraction,
            ReadingRow.piece_id,
            ReadingRow.id,
            ReadingRow.calibration_kind,
            ReadingRow.finish,
            ReadingRow.colour_method,
        )
        .join(ReadingRow, ReadingRow.id == PaletteRow.reading_id)
        .join(PieceRow, PieceRow.id == ReadingRow.piece_id)
        .order_by(ReadingRow.piece_id, ReadingRow.id, PaletteRow.position)
    )


def _read_table(session: Session, state: int) -> ColourTable:
    return _made(state, _columns(session.execute(_colours().where(*_STANDING)).all()), _standing(session))


def _brought_up_to(session: Session, kept: ColourTable, state: int) -> ColourTable:
    readings = _standing(session)
    new = np.setdiff1d(readings, kept.readings, assume_unique=True)
    if len(new) > _FEW:
        return _read_table(session, state)
    parts = [_columns(session.execute(_colours().where(ReadingRow.id.in_(some))).all()) for some in _few(new)]
    stays = np.isin(kept.reading_id, readings) if len(kept.readings) + len(new) != len(readings) else None
    joined = {}
    for name in _COLUMNS:
        old = getattr(kept, name)
        joined[name] = np.concatenate([old if stays is None else old[stays], *(part[name] for part in parts)])
    order = np.lexsort((joined["reading_id"], joined["piece_id"]))
    if not np.array_equal(order, np.arange(len(order))):
        joined = {name: values[order] for name, values in joined.items()}
    return _made(state, joined, readings)


def _few(ids: IntArray) -> Iterable[list[int]]:
    return (ids[first : first + _AT_ONCE].tolist() for first in range(0, len(ids), _AT_ONCE))


def _columns(rows: Sequence[Any]) -> dict[str, NDArray[Any]]:
    columns = list(zip(*rows, strict=True)) or [()] * len(_colours().selected_columns)
    numbers = np.array(columns[:4], dtype=np.float64).reshape(4, -1).T
    return {
        "lab": np.ascontiguousarray(numbers[:, :3]),
        "fraction": np.ascontiguousarray(numbers[:, 3]),
        "piece_id": np.array(columns[4], dtype=np.int64),
        "reading_id": np.array(columns[5], dtype=np.int64),
        "calibration": _indices(columns[6], KINDS),
        "finish": _indices(columns[7], FINISH_NAMES),
        "colour_method": np.array(columns[8], dtype=np.int64),
    }


def _made(state: int, columns: dict[str, NDArray[Any]], readings: IntArray) -> ColourTable:
    """Make the table; where a piece has corrected colours, its uncorrected ones do not count."""
    piece_id, plain = columns["piece_id"], columns["calibration"] == UNCORRECTED
    corrected = np.zeros(int(piece_id.max()) + 1 if len(piece_id) else 0, dtype=np.bool_)
    corrected[piece_id[~plain]] = True
    counted = ~plain | ~corrected[piece_id]
    for array in (*columns.values(), counted, readings):
        array.setflags(write=False)
    cells = make_cells(columns["lab"])
    return ColourTable(state=state, counted=counted, readings=readings, cells=cells, **columns)


def _indices(words: Sequence[str | None], known: tuple[str, ...]) -> ByteArray:
    """Give where each word stands in `known`, -1 for None."""
    places: dict[str | None, int] = {word: place for place, word in enumerate(known)}
    places[None] = -1
    return np.array([places[word] for word in words], dtype=np.int8)
