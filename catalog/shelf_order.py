"""A page of the shelf in the order a person wants: code, day, glaze, firing, fault, hue, lightness."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from catalog import piece_search, values
from catalog.colour_table import ColourTable, colour_table
from catalog.piece_search import PIECE_ORDERS, PieceFilter
from catalog.records import Piece
from catalog.store import Catalog

__all__ = ["SHELF_ORDERS", "shelf_page"]

SHELF_ORDERS = (*PIECE_ORDERS, "hue", "lightness")

GREY_CHROMA = 8.0
"""Under this chroma (CIELAB) a glaze has no hue that the eye would sort by (our choice)."""


def shelf_page(
    catalog: Catalog, filters: PieceFilter, *, order: str = "code", limit: int = 48, offset: int = 0
) -> tuple[tuple[Piece, ...], int]:
    """Give a page of the pieces that pass all filters, and how many pass.

    Parameters
    ----------
    filters : as `Catalog.pieces`
    order : one of `SHELF_ORDERS`. "hue" goes round the hue circle from red over yellow, green and blue, then
        greys from dark to light; "lightness" from light to dark; pieces without a colour come last
    limit, offset : the page

    Raises
    ------
    InvalidRecordError : an unknown order or filter value.
    """
    values.checked_choice("order", order, SHELF_ORDERS)
    if order in PIECE_ORDERS:
        total = catalog.count_pieces(**filters)
        return catalog.pieces(limit=limit, offset=offset, order=order, **filters), total
    table = colour_table(catalog)
    with catalog.database.reading() as session:
        passing = np.asarray(piece_search.piece_ids(session, filters), dtype=np.int64)
        ids = _by_colour(table, passing, order)[offset : offset + limit].tolist()
        found = piece_search.pieces_by_id(session, ids)
    return tuple(found[number] for number in ids if number in found), len(passing)


def _by_colour(table: ColourTable, passing: NDArray[np.int64], order: str) -> NDArray[np.int64]:
    ids, lab = _main_colours(table)
    place = np.searchsorted(ids, passing)
    place[place == len(ids)] = 0
    known = ids[place] == passing if len(ids) else np.zeros(len(passing), dtype=np.bool_)
    own = lab[place[known]]
    if order == "lightness":
        rank = np.lexsort((passing[known], -own[:, 0]))
    else:
        hue = np.degrees(np.arctan2(own[:, 2], own[:, 1])) % 360.0
        grey = np.hypot(own[:, 1], own[:, 2]) < GREY_CHROMA
        rank = np.lexsort((passing[known], np.where(grey, own[:, 0], hue), grey))
    return np.concatenate([passing[known][rank], np.sort(passing[~known])])


def _main_colours(table: ColourTable) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Give the colour of the largest share of each piece's face: its number, ascending, and (n, 3) CIELAB."""
    rows = np.flatnonzero(table.counted)
    rows = rows[np.lexsort((-table.fraction[rows], table.piece_id[rows]))]
    ids, first = np.unique(table.piece_id[rows], return_index=True)
    return ids, table.lab[rows[first]]
