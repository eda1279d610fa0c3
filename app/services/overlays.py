"""Craze lines, lone lines, bare patches and the glazed face as see-through layers over a filed view."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from catalog.records import KeptReading
    from catalog.store import Catalog

__all__ = ["INKS", "mask_layers"]

INKS = {
    "craze lines": (214, 60, 190, 230),
    "lone fine lines": (40, 170, 90, 230),
    "bare patches": (240, 196, 20, 150),
    "glazed face": (60, 140, 220, 90),
    "reflections": (255, 120, 60, 150),
    "shadow": (110, 60, 160, 120),
    "hanging hole": (20, 170, 140, 170),
}
"""Layer -> its colour and how opaque it is, 0..255."""


def mask_layers(catalog: Catalog, reading: KeptReading) -> dict[str, bytes]:
    """Read the kept photo again and give what was found as PNG, by layer; empty layers are left out.

    Raises
    ------
    The catalogue's photo errors, and those of `vision.photo`.
    """
    from vision.photo import decode_photo
    from vision.pipeline import read_photo
    from vision.reading import Subject

    tile = reading.tile
    photo = decode_photo(catalog.photo_bytes(reading.photo_sha256), reading.photo_sha256[:12])
    outlines = () if tile.subject is Subject.PATCH else (tile.outline_px,)
    height = tile.plane_height
    views = read_photo(
        photo,
        subject=tile.subject,
        outlines=outlines,
        taught=catalog.cards.taught(),
        thickness_mm=height.thickness_mm if height is not None and height.thickness_given else None,
    ).views
    if not views:
        return {}
    view = views[0]
    masks = {
        "craze lines": view.crazing,
        "lone fine lines": view.lines,
        "bare patches": view.crawling,
        "glazed face": view.glazed,
        "reflections": view.glint,
        "shadow": view.shadow,
        "hanging hole": view.hole,
    }
    return {
        name: _picture(mask, INKS[name]) for name, mask in masks.items() if mask is not None and mask.any()
    }


def _picture(mask: NDArray[np.bool_], ink: tuple[int, int, int, int]) -> bytes:
    import numpy as np
    from PIL import Image

    layer = np.zeros((*mask.shape, 4), np.uint8)
    layer[mask] = ink
    out = BytesIO()
    Image.fromarray(layer, "RGBA").quantize(4).save(out, format="PNG")
    return out.getvalue()
