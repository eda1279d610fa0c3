"""Find pieces by colour: CIEDE2000 over all palette colours kept, nearest pieces first."""

from __future__ import annotations

import threading
import weakref
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog import pieces, values
from catalog.errors import InvalidRecordError
from catalog.pieces import PieceFilter
from catalog.records import FINISHES, ColourMatch
from catalog.store import Catalog
from catalog.tables import CounterRow, PaletteRow, PieceRow, ReadingRow
from vision.colour import delta_e_00
from vision.reading import METHOD, CalibrationKind, Finish, Lab

__all__ = ["ColourTable", "colour_table", "match_colour"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
ByteArray = NDArray[np.int8]

MIN_FRACTION = 0.05
"""A colour on less of the face than this is no answer to "which glaze has this colour", fraction 0..1."""

_KINDS = tuple(str(kind) for kind in CalibrationKind)
_UNCORRECTED = _KINDS.index(str(CalibrationKind.NONE))
_FINISHES = tuple(str(finish) for finish in Finish)

_COLOURS = (
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
    .where(PieceRow.deleted_at.is_(None), ReadingRow.superseded_by_id.is_(None))
    .order_by(ReadingRow.piece_id, ReadingRow.id, PaletteRow.position)
)


@dataclass(frozen=True, slots=True, eq=False)
class ColourTable:
    """All colours to search, one row each, ordered by piece.

    Where a piece has a colour-corrected reading, its uncorrected ones are left out: the better word counts.

    Attributes
    ----------
    state : value of the catalogue's colour counter when the table was read
    lab : (n, 3) float64, CIELAB D65/2 degree
    fraction : (n,) float64, part of the glazed face, 0..1
    piece_id, reading_id : (n,) int64
    calibration : (n,) int8, index into the calibration kinds
    finish : (n,) int8, index into the finish classes, -1 where none was told
    colour_method : (n,) int64, version of the colour's definition
    """

    state: int
    lab: FloatArray
    fraction: FloatArray
    piece_id: IntArray
    reading_id: IntArray
    calibration: ByteArray
    finish: ByteArray
    colour_method: IntArray


def match_colour(
    catalog: Catalog,
    lab: Lab,
    *,
    limit: int = 12,
    kind: str | None = None,
    body_id: int | None = None,
    recipe_id: int | None = None,
    load_id: int | None = None,
    finish: str | None = None,
    max_delta_e_00: float | None = None,
    min_fraction: float = MIN_FRACTION,
    calibrated_only: bool = False,
) -> tuple[ColourMatch, ...]:
    """Give the pieces whose palette comes nearest to a colour, the nearest first, each piece once.

    Parameters
    ----------
    lab : the colour wanted, CIELAB D65/2 degree; L* 0..100
    limit : at most so many pieces
    kind, body_id, recipe_id, load_id : as in `Catalog.pieces`
    finish : "gloss", "satin" or "matt", as the reading tells it
    max_delta_e_00 : leave out what is further than this
    min_fraction : leave out colours on less of the face than this, 0..1
    calibrated_only : leave out readings whose photo carried neither card nor chart

    Returns
    -------
    tuple of ColourMatch
        Uncorrected and outdated colours are ranked too but say so (`calibration_kind`, `outdated`).
        Equal differences: the larger share of the face first, then the piece filed first.

    Raises
    ------
    InvalidRecordError : a number out of range, an unknown kind or finish.

    Notes
    -----
    CIEDE2000 as in CIE 142-2001, with kL = kC = kH = 1, computed for every colour kept: no piece is missed.
    """
    target = _checked_target(lab)
    if limit < 1:
        raise InvalidRecordError("limit", limit, "one piece or more")
    table = colour_table(catalog)
    keep = table.fraction >= min_fraction
    if calibrated_only:
        keep &= table.calibration != _UNCORRECTED
    if finish is not None:
        keep &= table.finish == _FINISHES.index(values.checked_choice("finish", finish, FINISHES))
    filters = PieceFilter(kind=kind, body_id=body_id, recipe_id=recipe_id, load_id=load_id)
    if any(value is not None for value in filters.values()):
        with catalog.database.reading() as session:
            allowed = pieces.piece_ids(session, filters)
        keep &= np.isin(table.piece_id, np.asarray(allowed, dtype=np.int64))
    rows = np.flatnonzero(keep)
    deltas = delta_e_00(table.lab[rows], target)
    if max_delta_e_00 is not None:
        near = deltas <= max_delta_e_00
        rows, deltas = rows[near], deltas[near]
    best = _best_of_each_piece(table, rows, deltas, limit)
    rows, deltas = rows[best], deltas[best]
    with catalog.database.reading() as session:
        found = pieces.pieces_by_id(session, [int(i) for i in table.piece_id[rows]])
    return tuple(
        ColourMatch(
            piece=found[int(table.piece_id[row])],
            delta_e_00=float(delta),
            lab=Lab(*(float(v) for v in table.lab[row])),
            fraction=float(table.fraction[row]),
            calibration_kind=_KINDS[table.calibration[row]],
            reading_id=int(table.reading_id[row]),
            outdated=int(table.colour_method[row]) != METHOD["colour"],
        )
        for row, delta in zip(rows, deltas, strict=True)
        if int(table.piece_id[row]) in found
    )


def _checked_target(lab: Lab) -> FloatArray:
    target = np.array(lab.as_tuple(), dtype=np.float64)
    if not np.all(np.isfinite(target)) or not 0 <= target[0] <= 100 or np.any(np.abs(target[1:]) > 200):
        raise InvalidRecordError("lab", lab.as_tuple(), "L* from 0 to 100, a* and b* from -200 to 200")
    return target


def _best_of_each_piece(table: ColourTable, rows: IntArray, deltas: FloatArray, limit: int) -> IntArray:
    """Give which of `rows` (ordered by piece) are the nearest colour of one of the `limit` nearest pieces."""
    if len(rows) == 0:
        return np.zeros(0, dtype=np.int64)
    piece_id = table.piece_id[rows]
    starts = np.flatnonzero(np.r_[True, piece_id[1:] != piece_id[:-1]])
    nearest = np.minimum.reduceat(deltas, starts)
    if len(nearest) > limit:
        # Only rows within the distance of the last piece wanted can matter; equal ones are all looked at.
        cut = np.partition(nearest, limit - 1)[limit - 1]
        candidates = np.flatnonzero(deltas <= cut)
    else:
        candidates = np.arange(len(rows))
    order = candidates[
        np.lexsort((piece_id[candidates], -table.fraction[rows[candidates]], deltas[candidates]))
    ]
    _, first = np.unique(piece_id[order], return_index=True)
    return np.asarray(order[np.sort(first)[:limit]], dtype=np.int64)


# --- the table, kept per catalogue and read again when any program has filed, removed or brought back a piece

_tables: weakref.WeakKeyDictionary[Catalog, ColourTable] = weakref.WeakKeyDictionary()
_lock = threading.Lock()


def colour_table(catalog: Catalog) -> ColourTable:
    """Give the colours of a catalogue, from memory while nothing has changed in it."""
    with catalog.database.reading() as session:
        state = _state(session)
        with _lock:
            kept = _tables.get(catalog)
        if kept is not None and kept.state == state:
            return kept
        table = _read_table(session, state)
    with _lock:
        _tables[catalog] = table
    return table


def _state(session: Session) -> int:
    return session.scalar(select(CounterRow.value).where(CounterRow.name == "colours")) or 0


def _read_table(session: Session, state: int) -> ColourTable:
    rows = session.execute(_COLOURS).all()
    columns = list(zip(*rows, strict=True)) or [()] * len(_COLOURS.selected_columns)
    numbers = np.array(columns[:4], dtype=np.float64).reshape(4, -1).T
    piece_id = np.array(columns[4], dtype=np.int64)
    calibration = _indices(columns[6], _KINDS)
    corrected = np.unique(piece_id[calibration != _UNCORRECTED])
    keep = (calibration != _UNCORRECTED) | ~np.isin(piece_id, corrected)
    table = ColourTable(
        state=state,
        lab=np.ascontiguousarray(numbers[keep, :3]),
        fraction=np.ascontiguousarray(numbers[keep, 3]),
        piece_id=piece_id[keep],
        reading_id=np.array(columns[5], dtype=np.int64)[keep],
        calibration=calibration[keep],
        finish=_indices(columns[7], _FINISHES)[keep],
        colour_method=np.array(columns[8], dtype=np.int64)[keep],
    )
    for name in ("lab", "fraction", "piece_id", "reading_id", "calibration", "finish", "colour_method"):
        getattr(table, name).setflags(write=False)
    return table


def _indices(words: Sequence[str | None], known: tuple[str, ...]) -> ByteArray:
    """Give where each word stands in `known`, -1 for None."""
    places: dict[str | None, int] = {word: place for place, word in enumerate(known)}
    places[None] = -1
    return np.array([places[word] for word in words], dtype=np.int8)
