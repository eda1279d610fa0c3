"""Filed photos whose readings an older method made: which they are, and what a new reading becomes.

A new reading stands beside the old one, which stays as it is and names its successor. A photo is done when
none of its readings that stand is outdated, so whatever stops the work, the rest is found by asking again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog import pieces
from catalog.errors import PhotoMismatchError
from catalog.filing import SAME_TILE_OVERLAP, add_reading, box_of, overlap, standing_reading
from catalog.store import Catalog
from catalog.tables import PhotoRow, PieceRow, ReadingRow
from catalog.values import code_key
from vision.reading import METHOD, TWO_LAMPS_METHOD, PhotoReading, TileReading

__all__ = [
    "OutdatedPhoto",
    "OutdatedTile",
    "file_again",
    "is_outdated",
    "outdated_photos",
    "pair_tiles",
    "photo_of_reading",
    "present_method",
    "standing_photo",
]


@dataclass(frozen=True, slots=True)
class OutdatedTile:
    """One reading that an older method made.

    Attributes
    ----------
    reading_id, code : the reading, and the piece it is of
    outline_px : corners x, y in photo pixels, as the old reading has them
    by_hand : a person drew this outline
    """

    reading_id: int
    code: str
    outline_px: tuple[tuple[float, float], ...]
    by_hand: bool


@dataclass(frozen=True, slots=True)
class OutdatedPhoto:
    """A photo to be read again.

    Attributes
    ----------
    sha256, name : its digest, and its name when it was filed
    subject : what all its pieces are filed as; None where they differ
    tiles : the readings that wait
    beside : digest and name of the second photo, where two were read together (`vision.two_lamps`)
    stripes : dark stripes under the glaze as a person marked them, corners in photo pixels
    thickness_mm : of the tiles, where a person gave it
    """

    sha256: str
    name: str
    subject: str | None
    tiles: tuple[OutdatedTile, ...]
    beside: tuple[str, str] | None = None
    stripes: tuple[tuple[tuple[float, float], ...], ...] = ()
    thickness_mm: float | None = None


def present_method(*, beside: bool) -> dict[str, int]:
    """Give the present method of a reading, of one photo or of two together."""
    return {**METHOD, "two_lamps": TWO_LAMPS_METHOD} if beside else dict(METHOD)


def is_outdated(method: Mapping[str, int], now: Mapping[str, int] | None = None) -> bool:
    """Tell whether a reading's method is older than the present one: some stage older, none newer."""
    present = present_method(beside="two_lamps" in method) if now is None else now
    newer = any(number > present.get(stage, 0) for stage, number in method.items())
    return not newer and any(method.get(stage, 0) < number for stage, number in present.items())


def outdated_photos(
    catalog: Catalog, *, load_id: int | None = None, codes: Sequence[str] | None = None
) -> tuple[OutdatedPhoto, ...]:
    """Give the photos that want reading again, those filed first at the front.

    Parameters
    ----------
    load_id, codes : only photos of pieces of this load, or with these codes; None counts all

    Raises
    ------
    PieceNotFoundError : no piece has one of the codes.
    """
    standing = (ReadingRow.superseded_by_id.is_(None), PieceRow.deleted_at.is_(None))
    chosen = select(ReadingRow.photo_sha256).join(PieceRow, PieceRow.id == ReadingRow.piece_id)
    with catalog.database.reading() as session:
        if load_id is not None:
            chosen = chosen.where(PieceRow.load_id == load_id)
        if codes is not None:
            for code in codes:
                pieces.piece_row(session, code)
            chosen = chosen.where(PieceRow.code_key.in_([code_key(code) for code in codes]))
        query = (
            select(ReadingRow.id, ReadingRow.photo_sha256, ReadingRow.method)
            .join(PieceRow, PieceRow.id == ReadingRow.piece_id)
            .where(*standing, ReadingRow.photo_sha256.in_(chosen.where(*standing)))
            .order_by(ReadingRow.id)
        )
        waiting: dict[str, list[int]] = {}
        for reading_id, sha256, method in session.execute(query):
            if is_outdated(method):
                waiting.setdefault(sha256, []).append(reading_id)
        return tuple(_photo(session, sha256, ids) for sha256, ids in waiting.items())


def _photo(session: Session, sha256: str, ids: Sequence[int]) -> OutdatedPhoto:
    rows = session.execute(
        select(ReadingRow.id, ReadingRow.tile, PieceRow.code, PieceRow.kind)
        .join(PieceRow, PieceRow.id == ReadingRow.piece_id)
        .where(ReadingRow.id.in_(ids))
        .order_by(ReadingRow.id)
    ).all()
    kinds = {row.kind for row in rows}
    tiles = tuple(
        OutdatedTile(
            row.id,
            row.code,
            tuple((float(x), float(y)) for x, y in row.tile["outline_px"]),
            bool(row.tile.get("outlined_by_hand", False)),
        )
        for row in rows
    )
    name = session.get_one(PhotoRow, sha256).name
    second = next((row.tile["beside_sha256"] for row in rows if row.tile.get("beside_sha256")), None)
    beside = None if second is None else (second, session.get_one(PhotoRow, second).name)
    stripes, thickness_mm = _told([row.tile for row in rows])
    subject = kinds.pop() if len(kinds) == 1 else None
    return OutdatedPhoto(sha256, name, subject, tiles, beside, stripes, thickness_mm)


def _told(
    tiles: Sequence[Mapping[str, Any]],
) -> tuple[tuple[tuple[tuple[float, float], ...], ...], float | None]:
    """Give what a person told of a photo before it was read: stripes, and how thick its tiles are."""
    found = [(tile.get("face_colours") or {}).get("opacity") for tile in tiles]
    stripes = tuple(
        tuple((float(x), float(y)) for x, y in opacity["stripe_px"])
        for opacity in found
        if opacity is not None and opacity["by_hand"]
    )
    heights = [tile.get("plane_height") or {} for tile in tiles]
    given = [height["thickness_mm"] for height in heights if height.get("thickness_given")]
    return stripes, float(given[0]) if given else None


def photo_of_reading(catalog: Catalog, reading_id: int) -> OutdatedPhoto:
    """Give a photo with one of its readings, to be read again though its method is the present one."""
    with catalog.database.reading() as session:
        row = session.get_one(ReadingRow, reading_id)
        return _photo(session, row.photo_sha256, [reading_id])


def standing_photo(catalog: Catalog, sha256: str) -> OutdatedPhoto | None:
    """Give a photo with all its readings that stand, to be read again; None where none does."""
    query = (
        select(ReadingRow.id)
        .join(PieceRow, PieceRow.id == ReadingRow.piece_id)
        .where(ReadingRow.photo_sha256 == sha256)
        .where(ReadingRow.superseded_by_id.is_(None), PieceRow.deleted_at.is_(None))
    )
    with catalog.database.reading() as session:
        ids = list(session.scalars(query))
        return _photo(session, sha256, ids) if ids else None


def pair_tiles(kept: Sequence[OutdatedTile], tiles: Sequence[TileReading]) -> dict[int, int]:
    """Tell which newly read tile is which kept one: the two that overlap most first.

    Returns
    -------
    dict : tile index -> `reading_id`; kept tiles drawn by hand and those found nowhere are left out
    """
    pairs = [
        (overlap(box_of(old.outline_px), box_of(tile.outline_px)), old.reading_id, index)
        for old in kept
        if not old.by_hand
        for index, tile in enumerate(tiles)
    ]
    found: dict[int, int] = {}
    for share, reading_id, index in sorted(pairs, key=lambda pair: -pair[0]):
        if share >= SAME_TILE_OVERLAP and index not in found and reading_id not in found.values():
            found[index] = reading_id
    return found


def file_again(
    catalog: Catalog,
    sha256: str,
    reading: PhotoReading,
    places: Mapping[int, int],
    views: Mapping[int, bytes] | None = None,
    *,
    told_more: bool = False,
) -> tuple[str, ...]:
    """File new readings of a kept photo beside the old ones, all or nothing.

    Parameters
    ----------
    places : which old reading each tile of `reading` follows, tile index -> reading's number
    views : JPEG bytes of the straightened view by tile index
    told_more : a person told more of the photo, so that the new reading follows one of the same method too

    Returns
    -------
    the codes of the pieces that gained a reading; a reading that another program has followed meanwhile, or
    whose piece was removed, gains none

    Raises
    ------
    PhotoMismatchError : the reading is of another photo.
    CatalogLockedError, CatalogFullError, ReadOnlyCatalogError, PhotoStoreError
    """
    if reading.sha256 != sha256:
        raise PhotoMismatchError(reading.photo, sha256, str(reading.sha256))
    wanted = {index: view for index, view in (views or {}).items() if index in places}
    kept = {index: catalog.views.keep(view) for index, view in wanted.items()}
    codes: list[str] = []
    with catalog.database.writing() as session:
        for index, view in wanted.items():
            catalog.views.keep_again(kept[index], view)
        for index, reading_id in places.items():
            old = standing_reading(session, reading_id, sha256)
            if old is None or (not told_more and not is_outdated(old.method, reading.method)):
                continue
            new = add_reading(session, old.piece, sha256, reading, index, kept.get(index))
            old.superseded_by_id = new.id
            codes.append(pieces.refreshed(session, old.piece).code)
        if codes:
            pieces.bump(session, "colours")
    return tuple(codes)
