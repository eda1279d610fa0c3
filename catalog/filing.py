"""Filing a photo: photo, readings, colours and pieces together, or nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import PurePath

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog import new_pieces, pieces, studio, values
from catalog.columns import now
from catalog.errors import CodeTakenError, InvalidRecordError, PhotoMismatchError
from catalog.photos import digest_of
from catalog.records import PIECE_KINDS, Filing, Piece, PieceDraft
from catalog.tables import PaletteRow, PhotoRow, PieceRow, ReadingRow, ReadingTaughtRow
from vision.reading import PaletteEntry, PhotoReading, TileReading
from vision.reading_json import taught_to_dict, tile_to_dict

__all__ = [
    "SAME_TILE_OVERLAP",
    "add_reading",
    "box_of",
    "check_drafts",
    "check_filing",
    "file_rows",
    "overlap",
    "standing_reading",
]

SAME_TILE_OVERLAP = 0.5
"""Outline boxes in one photo that share this part of their union are the same tile (0..1). Tiles do not
overlap, and two readings of one tile differ by a few pixels: anything from 0.3 to 0.8 tells the same."""


def check_filing(data: bytes, reading: PhotoReading, drafts: Sequence[PieceDraft]) -> str:
    """Check all that can be checked before anything is written; give the photo's digest.

    Raises
    ------
    PhotoMismatchError : the reading is of another photo.
    InvalidRecordError : no draft, a draft for a tile that the reading does not have, two drafts for one tile.
    """
    sha256 = digest_of(data)
    if reading.sha256 is not None and reading.sha256 != sha256:
        raise PhotoMismatchError(reading.photo, sha256, reading.sha256)
    check_drafts(reading, drafts)
    return sha256


def check_drafts(reading: PhotoReading, drafts: Sequence[PieceDraft]) -> None:
    """Check drafts against the reading they are of. Raises InvalidRecordError, as `check_filing`."""
    if not drafts:
        raise InvalidRecordError("drafts", (), "at least one tile to file")
    seen: set[int] = set()
    for draft in drafts:
        if not 0 <= draft.tile_index < len(reading.tiles):
            raise InvalidRecordError(
                "tile_index", draft.tile_index, f"a tile of {reading.photo} (it has {len(reading.tiles)})"
            )
        if draft.tile_index in seen:
            raise InvalidRecordError("tile_index", draft.tile_index, "one draft for each tile")
        seen.add(draft.tile_index)
        values.checked_choice("kind", draft.kind, PIECE_KINDS)
        values.checked_facts(draft.facts)
        values.checked_layers(draft.layers)
        if draft.code is not None:
            values.checked_code(draft.code)


def file_rows(
    session: Session,
    sha256: str,
    size_bytes: int,
    reading: PhotoReading,
    drafts: Sequence[PieceDraft],
    load_id: int | None,
    views: Mapping[int, str],
) -> Filing:
    """Write the rows of one photo in the caller's transaction; `views` names kept views by tile index."""
    if load_id is not None:
        studio.load_row(session, load_id)
    if session.get(PhotoRow, sha256) is None:
        name = PurePath(reading.photo.replace("\\", "/")).name
        session.add(PhotoRow(sha256=sha256, name=name, size_bytes=size_bytes, kept_at=now()))
        session.flush()
    before = list(
        session.scalars(
            select(ReadingRow)
            .join(ReadingRow.piece)
            .where(
                ReadingRow.photo_sha256 == sha256,
                ReadingRow.superseded_by_id.is_(None),
                PieceRow.deleted_at.is_(None),
            )
        )
    )
    filed: list[Piece] = []
    added: list[str] = []
    extended: list[str] = []
    repeated: list[str] = []
    for draft in drafts:
        tile = reading.tiles[draft.tile_index]
        earlier = _same_tile(before, tile, draft.replaces)
        if earlier is not None and dict(earlier.method) == reading.method and not _redrawn(earlier, tile):
            row = earlier.piece
            repeated.append(row.code)
        else:
            if earlier is not None:
                row = earlier.piece
                extended.append(row.code)
            else:
                row, is_new = _piece_for(session, draft, load_id if draft.load_id is None else draft.load_id)
                (added if is_new else extended).append(row.code)
            later = add_reading(session, row, sha256, reading, draft.tile_index, views.get(draft.tile_index))
            if earlier is not None:
                earlier.superseded_by_id = later.id
        filed.append(pieces.refreshed(session, row))
    if added or extended:
        pieces.bump(session, "colours")
    return Filing(tuple(filed), tuple(added), tuple(dict.fromkeys(extended)), tuple(dict.fromkeys(repeated)))


def _piece_for(session: Session, draft: PieceDraft, load_id: int | None) -> tuple[PieceRow, bool]:
    """Give the piece that a draft is about: the one with its code, or a new one."""
    if draft.code is not None:
        code = values.checked_code(draft.code)
        row = pieces.find_row(session, code)
        if row is not None:
            _refuse_clash(session, row, draft, load_id)
            _fill_gaps(session, row, draft, load_id)
            return row, False
        pieces.note_code(session, code)
    else:
        code = new_pieces.free_code(session, draft.kind)
    row = new_pieces.new_row(
        session,
        code,
        draft.kind,
        body_id=None if draft.body_id is None else studio.body_row(session, draft.body_id).id,
        load_id=load_id,
        shelf=draft.shelf,
        facts=values.checked_facts(draft.facts),
        notes=draft.notes,
    )
    pieces.set_layers(session, row, draft.layers)
    session.flush()
    return row, True


def _refuse_clash(session: Session, row: PieceRow, draft: PieceDraft, load_id: int | None) -> None:
    """Refuse a code that stands for something else: only what both sides state can clash."""
    if draft.kind != row.kind and "patch" not in (draft.kind, row.kind):
        raise CodeTakenError(row.code, "kind", row.kind, draft.kind)
    if draft.body_id is not None and row.body is not None and draft.body_id != row.body_id:
        raise CodeTakenError(row.code, "body", row.body.name, studio.body_row(session, draft.body_id).name)
    if draft.layers and row.layers:
        given = [_glaze(session, layer.recipe_id, layer.name) for layer in draft.layers]
        kept = [_glaze(session, layer.recipe_id, layer.name) for layer in row.layers]
        same = len(kept) == len(given) and all(
            k[0].casefold() == g[0].casefold() and (k[1] == g[1] or None in (k[1], g[1]))
            for k, g in zip(kept, given, strict=True)
        )
        if not same:
            raise CodeTakenError(row.code, "glaze", _glaze_words(kept), _glaze_words(given))
    if load_id is not None and row.load is not None and load_id != row.load_id:
        raise CodeTakenError(row.code, "load", row.load.name, studio.load_row(session, load_id).name)


def _glaze(session: Session, recipe_id: int | None, name: str) -> tuple[str, int | None]:
    """Give a layer's glaze as name and revision; without a recipe there is only the name."""
    if recipe_id is None:
        return name, None
    recipe = studio.recipe_row(session, recipe_id)
    return recipe.name, recipe.revision


def _glaze_words(glazes: Sequence[tuple[str, int | None]]) -> str:
    return ", ".join(name if revision is None else f"{name} {revision}" for name, revision in glazes)


def _fill_gaps(session: Session, row: PieceRow, draft: PieceDraft, load_id: int | None) -> None:
    """Add what a further photo's draft knows and the piece did not; nothing said before is overwritten."""
    if row.kind == "patch":
        row.kind = draft.kind
    if row.body_id is None and draft.body_id is not None:
        row.body_id = studio.body_row(session, draft.body_id).id
    if row.load_id is None:
        row.load_id = load_id
    if row.shelf is None:
        row.shelf = (draft.shelf or "").strip() or None
    if not row.layers and draft.layers:
        pieces.set_layers(session, row, draft.layers)
    row.facts = {**values.checked_facts(draft.facts), **row.facts}
    if not row.notes:
        row.notes = draft.notes.strip()


def add_reading(
    session: Session, row: PieceRow, sha256: str, reading: PhotoReading, tile_index: int, view: str | None
) -> ReadingRow:
    """Add the reading of one tile to a piece, with its colours; `view` is the digest of its kept view."""
    tile = reading.tiles[tile_index]
    taught = taught_to_dict(reading.calibration.taught)
    made = ReadingRow(
        piece_id=row.id,
        photo_sha256=sha256,
        tile_index=tile_index,
        calibration_kind=str(reading.calibration.kind),
        mm_per_px=reading.calibration.mm_per_px,
        residual_delta_e_00=reading.calibration.residual_delta_e_00,
        photo_flags=[str(flag) for flag in reading.flags],
        method=dict(reading.method),
        colour_method=int(reading.method.get("colour", 0)),
        finish=None if tile.gloss.finish is None else str(tile.gloss.finish),
        tile=tile_to_dict(tile),
        view_sha256=view,
        read_at=now(),
        superseded_by_id=None,
        taught=None if taught is None else ReadingTaughtRow(taught=taught),
        palette=[
            PaletteRow(
                position=position,
                lightness=float(entry.lab.lightness),
                a_star=float(entry.lab.a_star),
                b_star=float(entry.lab.b_star),
                fraction=min(max(float(entry.fraction), 0.0), 1.0),
            )
            for position, entry in enumerate(_palette(tile))
        ],
    )
    session.add(made)
    session.flush()
    return made


def standing_reading(session: Session, reading_id: int, sha256: str) -> ReadingRow | None:
    """Give a reading of this photo that another may follow; None where one has, or its piece is removed.

    Locked on a server too: two programs that read one photo again add one reading, not two.
    """
    row = session.get(ReadingRow, reading_id, with_for_update=True)
    if row is None or row.superseded_by_id is not None or row.photo_sha256 != sha256:
        return None
    return None if row.piece.deleted_at is not None else row


def _palette(tile: TileReading) -> tuple[PaletteEntry, ...]:
    """Give the colours to search by: the palette, or the one glaze colour where no palette was made."""
    if tile.glaze is None:
        return ()
    return tile.glaze.palette or (PaletteEntry(tile.glaze.lab, 1.0),)


def _redrawn(earlier: ReadingRow, tile: TileReading) -> bool:
    """Tell whether a person has drawn the outline anew since."""
    drawn = [[round(x, 1), round(y, 1)] for x, y in tile.outline_px]
    return tile.outlined_by_hand and drawn != [list(corner) for corner in earlier.tile["outline_px"]]


def _same_tile(
    before: Sequence[ReadingRow], tile: TileReading, replaces: int | None = None
) -> ReadingRow | None:
    if replaces is not None:
        return next((row for row in before if row.id == replaces), None)
    box = box_of(tile.outline_px)
    for row in before:
        if overlap(box_of([(x, y) for x, y in row.tile["outline_px"]]), box) >= SAME_TILE_OVERLAP:
            return row
    return None


def box_of(outline: Sequence[tuple[float, float]]) -> tuple[float, float, float, float]:
    """Give an outline's box: left, top, right, bottom, pixels."""
    if not outline:
        return (0.0, 0.0, 0.0, 0.0)
    xs = [x for x, _ in outline]
    ys = [y for _, y in outline]
    return (min(xs), min(ys), max(xs), max(ys))


def overlap(one: tuple[float, float, float, float], two: tuple[float, float, float, float]) -> float:
    """Give intersection over union of two boxes; equal boxes overlap fully even when they are empty."""
    if one == two:
        return 1.0
    width = min(one[2], two[2]) - max(one[0], two[0])
    height = min(one[3], two[3]) - max(one[1], two[1])
    if width <= 0 or height <= 0:
        return 0.0
    shared = width * height
    both = (one[2] - one[0]) * (one[3] - one[1]) + (two[2] - two[0]) * (two[3] - two[1]) - shared
    return shared / both
