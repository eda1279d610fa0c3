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

from catalog import pieces
from catalog.colour_table import KINDS, UNCORRECTED, ColourTable, colour_table
from catalog.errors import InvalidRecordError
from catalog.pieces import PieceFilter
from catalog.records import Piece
from catalog.store import Catalog
from vision.colour import delta_e_00
from vision.reading import Lab, PaletteEntry

__all__ = ["MOST_COLOURS", "PaletteMatch", "match_palette", "palette_distance"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_COLOURS = 8


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
    return _work(delta_e_00(lab1[:, None], lab2[None]), share1, share2)


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
    Exact: a piece's distance is at least the sum of each wanted share times the difference of the nearest of
    its colours. Pieces are worked out in the order of that bound until it is above the worst one wanted.
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
            keep &= np.isin(table.piece_id, pieces.piece_ids(session, wanted))
        rows = np.flatnonzero(keep & (table.fraction > 0))
        order, work = _nearest(table, rows, lab, share, limit + 1)
        found = pieces.pieces_by_id(session, [int(table.piece_id[rows[part][0]]) for part in order])
    matches = [
        PaletteMatch(piece, far, KINDS[table.calibration[rows[part][0]]])
        for part, far in zip(order, work, strict=True)
        if (piece := found.get(int(table.piece_id[rows[part][0]]))) is not None and piece.code != leave_out
    ]
    return tuple(matches[:limit])


def _nearest(
    table: ColourTable, rows: Ints, lab: Floats, share: Floats, limit: int
) -> tuple[list[Ints], list[float]]:
    """Give the parts of `rows` (one a piece) of the nearest pieces, and their distances."""
    if len(rows) == 0:
        return [], []
    # Where a piece has several readings, its newest that counts speaks for it.
    first = np.unique(table.piece_id[rows], return_index=True)[1]
    starts = np.r_[first, len(rows)]
    own = table.reading_id[rows][starts[1:] - 1]
    speaks = table.reading_id[rows] == np.repeat(own, np.diff(starts))
    far = np.stack([delta_e_00(table.lab[rows], one) for one in lab])
    nearest = np.minimum.reduceat(np.where(speaks, far, np.inf), first, axis=1)
    bounds = share @ nearest
    best: list[tuple[float, int]] = []
    for place in np.argsort(bounds, kind="stable"):
        if len(best) >= limit and bounds[place] > best[limit - 1][0]:
            break
        part = np.arange(starts[place], starts[place + 1])
        part = part[speaks[part]]
        theirs = table.fraction[rows[part]]
        best.append((_work(far[:, part], share, theirs / theirs.sum()), int(place)))
        best.sort()
        del best[limit:]
    parts = [np.arange(starts[place], starts[place + 1]) for _, place in best]
    return [part[speaks[part]] for part in parts], [far for far, _ in best]


def _work(far: Floats, share1: Floats, share2: Floats) -> float:
    """Solve the transport problem: far (n, m) differences, shares (n,) and (m,) that add to 1."""
    n, m = far.shape
    if n == 1 or m == 1:
        return float((share1[:, None] * share2[None] * far).sum())
    from scipy.optimize import linprog

    given = np.kron(np.eye(n), np.ones(m))
    taken = np.kron(np.ones(n), np.eye(m))
    sums = np.concatenate([share1, share2])
    solved = linprog(far.ravel(), A_eq=np.vstack([given, taken])[:-1], b_eq=sums[:-1], method="highs")
    return float(solved.fun)


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
