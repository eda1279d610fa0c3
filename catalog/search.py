"""Find pieces by colour: CIEDE2000 over all palette colours kept, nearest pieces first."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from catalog import piece_search, values
from catalog.colour_table import FINISH_NAMES, KINDS, UNCORRECTED, ColourTable, colour_table
from catalog.errors import InvalidRecordError
from catalog.piece_search import PieceFilter
from catalog.records import FINISHES, ColourMatch
from catalog.store import Catalog
from vision.reading import METHOD, Lab

__all__ = ["ColourTable", "colour_table", "match_colour"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

MIN_FRACTION = 0.05
"""A colour on less of the face than this is no answer to "which glaze has this colour", fraction 0..1."""
FIRST_ASKED = 400
"""So many of the nearest pieces are asked first whether they pass the filters, before all pieces are."""


def match_colour(
    catalog: Catalog,
    lab: Lab,
    *,
    limit: int = 12,
    kind: str | None = None,
    body_id: int | None = None,
    recipe_id: int | None = None,
    load_id: int | None = None,
    cone: str | None = None,
    faulty: bool | None = None,
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
    kind, body_id, recipe_id, load_id, cone, faulty : as in `Catalog.pieces`
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
    CIEDE2000 as in CIE 142-2001, with kL = kC = kH = 1. Cells of colours whose bound is above the worst
    difference wanted are not looked at (`colour_cells`): the answer is that of looking at every colour.
    """
    target = _checked_target(lab)
    if limit < 1:
        raise InvalidRecordError("limit", limit, "one piece or more")
    most = np.inf if max_delta_e_00 is None else max_delta_e_00
    table = colour_table(catalog)
    keep = table.counted & (table.fraction >= min_fraction)
    if calibrated_only:
        keep &= table.calibration != UNCORRECTED
    if finish is not None:
        keep &= table.finish == FINISH_NAMES.index(values.checked_choice("finish", finish, FINISHES))
    filters = PieceFilter(
        kind=kind, body_id=body_id, recipe_id=recipe_id, load_id=load_id, cone=cone, faulty=faulty
    )
    rows, deltas = _nearest(catalog, table, target, keep, filters, limit, most)
    with catalog.database.reading() as session:
        found = piece_search.pieces_by_id(session, [int(i) for i in table.piece_id[rows]])
    return tuple(
        ColourMatch(
            piece=found[int(table.piece_id[row])],
            delta_e_00=float(delta),
            lab=Lab(*(float(v) for v in table.lab[row])),
            fraction=float(table.fraction[row]),
            calibration_kind=KINDS[table.calibration[row]],
            reading_id=int(table.reading_id[row]),
            outdated=int(table.colour_method[row]) != METHOD["colour"],
        )
        for row, delta in zip(rows, deltas, strict=True)
        if int(table.piece_id[row]) in found
    )


def _nearest(
    catalog: Catalog,
    table: ColourTable,
    target: FloatArray,
    keep: BoolArray,
    filters: PieceFilter,
    limit: int,
    most: float,
) -> tuple[IntArray, FloatArray]:
    """Give the nearest row of each of the nearest pieces that pass the filters."""
    if not any(value is not None for value in filters.values()):
        return _nearest_rows(table, target, keep, limit, most)
    with catalog.database.reading() as session:
        # Filters are the database's. Mostly enough of the nearest pass; only then are all pieces asked.
        rows, deltas = _nearest_rows(table, target, keep, max(FIRST_ASKED, limit), most)
        near = table.piece_id[rows]
        passing = np.isin(near, piece_search.passing(session, filters, near.tolist()))
        if passing.sum() >= limit or len(rows) < max(FIRST_ASKED, limit):
            return rows[passing][:limit], deltas[passing][:limit]
        allowed = np.zeros(int(table.piece_id.max()) + 1, dtype=np.bool_)
        ids = np.asarray(piece_search.piece_ids(session, filters), dtype=np.int64)
        allowed[ids[ids < len(allowed)]] = True
    return _nearest_rows(table, target, keep & allowed[table.piece_id], limit, most)


def _nearest_rows(
    table: ColourTable, target: FloatArray, keep: BoolArray, limit: int, most: float
) -> tuple[IntArray, FloatArray]:
    def reach(rows: IntArray, deltas: FloatArray) -> float:
        return _reach(table.piece_id[rows], deltas, limit)

    rows, deltas = table.cells.nearest(table.lab, target, keep, reach, most)
    best = _best_of_each_piece(table, rows, deltas, limit)
    return rows[best], deltas[best]


def _reach(piece_id: IntArray, deltas: FloatArray, limit: int) -> float:
    """Give how far the `limit`-th nearest piece is, inf where there are fewer."""
    order = np.argsort(deltas, kind="stable")
    _, first = np.unique(piece_id[order], return_index=True)
    if len(first) < limit:
        return float(np.inf)
    return float(deltas[order[np.partition(first, limit - 1)[limit - 1]]])


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
