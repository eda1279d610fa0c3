"""Find pieces whose palette as a whole is near one wanted: colours and how much of the face each covers.

The distance of two palettes is the least work of turning the one into the other (earth mover's distance,
Rubner, Tomasi & Guibas 2000): every part of the face is repainted once, and the work is its share times the
CIEDE2000 difference. It is the mean difference that a part of the face would be off by, so its words are
those of a single difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalog import piece_search
from catalog.colour_table import KINDS, UNCORRECTED, ColourTable, colour_table
from catalog.errors import InvalidRecordError
from catalog.piece_search import PieceFilter
from catalog.records import Piece
from catalog.store import Catalog
from catalog.transport import least_work, work_is_at_least
from vision.colour import delta_e_00
from vision.reading import Lab, PaletteEntry

__all__ = ["MOST_COLOURS", "PaletteMatch", "match_palette", "palette_distance"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_COLOURS = 8

_AT_ONCE = 64
"""Pieces worked out at once, before it is asked again whether any other could be nearer."""


@dataclass(frozen=True, slots=True)
class PaletteMatch:
    """A piece found by its palette.

    Attributes
    ----------
    distance : mean CIEDE2000 difference of a part of the face, 0 or more
    calibration_kind : what its colours rest on
    """

    piece: Piece
    distance: float
    calibration_kind: str


def palette_distance(one: Sequence[PaletteEntry], two: Sequence[PaletteEntry]) -> float:
    """Give the earth mover's distance of two palettes, CIEDE2000; shares are made to add to 1."""
    (lab1, share1), (lab2, share2) = _arrays(one), _arrays(two)
    return float(least_work(delta_e_00(lab1[:, None], lab2[None])[None], share1, share2[None])[0])


def match_palette(
    catalog: Catalog,
    palette: Sequence[PaletteEntry],
    *,
    limit: int = 12,
    filters: PieceFilter | None = None,
    calibrated_only: bool = False,
    leave_out: str | None = None,
) -> tuple[PaletteMatch, ...]:
    """Give the pieces whose palette is nearest, the nearest first.

    Parameters
    ----------
    palette : one to `MOST_COLOURS` colours with shares above 0
    limit : at most so many pieces
    filters : as `Catalog.pieces`
    calibrated_only : leave out pieces read without card or chart
    leave_out : code of a piece that is not to be found, such as the one asked about

    Raises
    ------
    InvalidRecordError : no colours, too many, or a share that is not above 0.

    Notes
    -----
    Exact: a piece's distance is never under `transport.work_is_at_least`, which needs no metric (CIEDE2000 is
    none). Pieces are worked out in the order of that bound until it is above the worst one wanted.
    """
    lab, share = _checked(palette)
    if limit < 1:
        raise InvalidRecordError("limit", limit, "one piece or more")
    table = colour_table(catalog)
    keep = table.counted.copy()
    if calibrated_only:
        keep &= table.calibration != UNCORRECTED
    with catalog.database.reading() as session:
        wanted = filters or PieceFilter()
        if any(value is not None for value in wanted.values()):
            keep &= np.isin(table.piece_id, piece_search.piece_ids(session, wanted))
        rows = _speaking(table, np.flatnonzero(keep & (table.fraction > 0)))
        nearest = _nearest(table, rows, lab, share, limit + 1)
        found = piece_search.pieces_by_id(session, [int(table.piece_id[row]) for row, _ in nearest])
    matches = [
        PaletteMatch(piece, far, KINDS[table.calibration[row]])
        for row, far in nearest
        if (piece := found.get(int(table.piece_id[row]))) is not None and piece.code != leave_out
    ]
    return tuple(matches[:limit])


def _speaking(table: ColourTable, rows: Ints) -> Ints:
    """Where a piece has several readings, its newest that counts speaks for it: give the rows of those."""
    if len(rows) == 0:
        return rows
    last = np.r_[np.flatnonzero(np.diff(table.piece_id[rows])), len(rows) - 1]
    newest = np.repeat(table.reading_id[rows[last]], np.diff(np.r_[-1, last]))
    speaking: Ints = rows[table.reading_id[rows] == newest]
    return speaking


def _nearest(
    table: ColourTable, rows: Ints, lab: Floats, share: Floats, limit: int
) -> list[tuple[int, float]]:
    """Give a row of each of the nearest pieces and its distance, the nearest first."""
    if len(rows) == 0:
        return []
    starts, counts = np.unique(table.piece_id[rows], return_index=True, return_counts=True)[1:]
    # One line of colours for each piece, as long as the longest; what is beyond its own has a share of 0.
    place = starts[:, None] + np.arange(counts.max())
    own = np.arange(counts.max()) < counts[:, None]
    place[~own] = 0
    theirs = np.where(own, table.fraction[rows][place], 0.0)
    theirs /= theirs.sum(axis=1, keepdims=True)
    far = np.stack([delta_e_00(table.lab[rows], one)[place] for one in lab], axis=1)
    bounds = work_is_at_least(far, share, theirs)
    order = np.argsort(bounds, kind="stable")
    nearest, work = order[:0], bounds[:0]
    for first in range(0, len(order), _AT_ONCE):
        some = order[first : first + _AT_ONCE]
        if len(work) == limit and bounds[some[0]] > work[-1]:
            break
        nearest = np.r_[nearest, some]
        work = np.r_[work, least_work(far[some], share, theirs[some])]
        best = np.lexsort((nearest, work))[:limit]
        nearest, work = nearest[best], work[best]
    return list(zip(rows[starts[nearest]].tolist(), work.tolist(), strict=True))


def _arrays(palette: Sequence[PaletteEntry]) -> tuple[Floats, Floats]:
    lab = np.array([entry.lab.as_tuple() for entry in palette], dtype=np.float64).reshape(-1, 3)
    share = np.array([entry.fraction for entry in palette], dtype=np.float64)
    return lab, share / share.sum()


def _checked(palette: Sequence[PaletteEntry]) -> tuple[Floats, Floats]:
    shares = [entry.fraction for entry in palette]
    if not 1 <= len(palette) <= MOST_COLOURS:
        raise InvalidRecordError("palette", len(palette), f"one to {MOST_COLOURS} colours")
    if not all(np.isfinite(share) and share > 0 for share in shares):
        raise InvalidRecordError("share", shares, "a share above 0 for each colour")
    for entry in palette:
        _checked_lab(entry.lab)
    return _arrays(palette)


def _checked_lab(lab: Lab) -> None:
    values = lab.as_tuple()
    if not np.all(np.isfinite(values)) or not 0 <= values[0] <= 100 or max(map(abs, values[1:])) > 200:
        raise InvalidRecordError("lab", values, "L* from 0 to 100, a* and b* from -200 to 200")
