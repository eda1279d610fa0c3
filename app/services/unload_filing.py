"""What is said of the pieces of an unloading, one row a piece, and filing them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from app.services.filing import with_codes
from app.services.studio import body_named, glaze_layer, latest_glazes
from catalog.records import Filing, Layer, PieceDraft
from catalog.store import Catalog
from catalog.unloading.records import UnloadingPhoto
from vision.reading import CalibrationKind, Flag, PhotoReading, TileReading

__all__ = [
    "FOR_ALL",
    "Said",
    "codes_said",
    "codes_ticked",
    "file_photo",
    "files_itself",
    "guessed_load",
    "new_said",
    "unsure_piece",
]

Said = Mapping[str, Any]
"""What is said of one piece: file, code, kind, body, glaze, coats, method, shelf; None where nothing is."""

FOR_ALL = ("body", "glaze", "coats", "method", "shelf")


def unsure_piece(tile: TileReading) -> bool:
    """Tell whether what the photo's frame cuts may be no piece at all, nobody having said that it is one."""
    cut = Flag.MOSTLY_OUT in tile.flags or {Flag.EDGE_CUT, Flag.SUBJECT_DOUBTED} <= set(tile.flags)
    return cut and tile.label is None and not tile.outlined_by_hand


def new_said(
    reading: PhotoReading, before: Sequence[Said] = (), *, vouched: bool = False
) -> list[dict[str, Any]]:
    """Give the rows of a photo just read: the label as the code; what was said before it stays said.

    What may be no piece (`unsure_piece`) is not ticked, unless a person said what it is (`vouched`).
    """
    rows = []
    for index, tile in enumerate(reading.tiles):
        ticked = vouched or not unsure_piece(tile)
        row: dict[str, Any] = {"file": ticked, "code": tile.label, "kind": str(tile.subject)}
        row |= dict.fromkeys(FOR_ALL)
        if index < len(before):
            row |= {
                name: value for name, value in before[index].items() if name != "kind" and value is not None
            }
        rows.append(row)
    return rows


def files_itself(photo: UnloadingPhoto) -> bool:
    """Tell whether card and labels say all there is to say: each piece labelled, no label twice."""
    reading = photo.reading
    if reading is None or not reading.tiles or reading.calibration.kind is CalibrationKind.NONE:
        return False
    labels = [tile.label for tile in reading.tiles]
    return None not in labels and len(set(labels)) == len(labels)


def codes_said(photos: Sequence[UnloadingPhoto]) -> set[str]:
    """Give all codes on labels or typed anywhere in an unloading."""
    return {str(row["code"]) for photo in photos for row in photo.said if row.get("code")}


def codes_ticked(photo: UnloadingPhoto) -> list[str]:
    """Give the codes of a photo's pieces that are to be filed."""
    return [str(row["code"]).strip() for row in photo.said if row["file"] and row.get("code")]


def guessed_load(catalog: Catalog, photos: Sequence[UnloadingPhoto]) -> tuple[int | None, bool]:
    """Guess the load: that of most labelled pieces, else the newest; also tells whether labels said so."""
    loads = catalog.unloadings.loads_of(sorted(codes_said(photos)))
    if loads:
        return Counter(loads.values()).most_common(1)[0][0], True
    newest = catalog.loads("glaze")
    return (newest[0].id if newest else None), False


def file_photo(
    catalog: Catalog,
    photo: UnloadingPhoto,
    load_id: int | None,
    taken: Collection[str] = (),
    otherwise: int | None = None,
) -> Filing:
    """File the pieces of a read photo that are ticked.

    Parameters
    ----------
    load_id : the load a person chose; None takes each piece's own, else that of the photo's other pieces,
        else `otherwise`
    taken : codes said elsewhere, which no fresh code may be
    otherwise : the load where no label of the photo tells one; None takes the newest

    Raises
    ------
    The catalogue's errors; nothing of this photo is filed then.
    """
    glazes = latest_glazes(catalog)
    own: dict[str, int] = {}
    if load_id is None:
        own = catalog.unloadings.loads_of([str(row["code"]) for row in photo.said if row.get("code")])
        load_id, told = guessed_load(catalog, [photo])
        if not told and otherwise is not None:
            load_id = otherwise
    drafts = []
    for index, row in enumerate(photo.said):
        if not row["file"]:
            continue
        layers: tuple[Layer, ...] = ()
        if row["glaze"]:
            coats = None if row["coats"] is None else int(row["coats"])
            layers = (
                glaze_layer(catalog, row["glaze"], coats=coats, method=row["method"] or None, glazes=glazes),
            )
        code = row["code"] or None
        drafts.append(
            PieceDraft(
                tile_index=index,
                code=code,
                kind=row["kind"],
                body_id=body_named(catalog, row["body"]).id if row["body"] else None,
                layers=layers,
                shelf=row["shelf"] or None,
                load_id=None if code is None else own.get(code.strip().casefold()),
            )
        )
    coded = with_codes(catalog, drafts, {*taken, *codes_said([photo])})
    return catalog.unloadings.file(photo.id, coded, load_id)
