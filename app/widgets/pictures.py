"""Pictures for the screen: outlines over a photo, marks over a straightened tile, small copies."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw, ImageFont

from app.theme import MARK_COLOURS
from vision.reading import Mark, TileReading

if TYPE_CHECKING:
    from vision.surface import ByteImage

__all__ = ["jpeg_bytes", "marked_view", "outlined_photo", "small_copy"]

_PREVIEW_SIDE_PX = 1100
_MARK_GAP_PX = 3
_LABEL_PX = 26
_MARK_VIEW_SIDE_PX = 1400


def _shrunk(image: Image.Image, side_px: int) -> tuple[Image.Image, float]:
    longest = max(image.size)
    if longest <= side_px:
        return image.copy(), 1.0
    scale = side_px / longest
    size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    return image.resize(size, Image.Resampling.BOX if scale < 0.5 else Image.Resampling.LANCZOS), scale


def jpeg_bytes(image: Image.Image, quality: int = 88) -> bytes:
    """Write a picture as JPEG for the screen."""
    out = BytesIO()
    image.convert("RGB").save(out, format="JPEG", quality=quality)
    return out.getvalue()


def small_copy(data: bytes, side_px: int) -> bytes:
    """Give a picture's copy with its longest side at most `side_px`, as JPEG."""
    with Image.open(BytesIO(data)) as image:
        image.draft("RGB", (side_px, side_px))
        return jpeg_bytes(_shrunk(image.convert("RGB"), side_px)[0])


def outlined_photo(pixels: ByteImage, tiles: Sequence[TileReading]) -> bytes:
    """Draw the found outlines, numbered from 1, over a small copy of the photo.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    tiles : readings whose `outline_px` are in pixels of that photo

    Returns
    -------
    JPEG bytes
    """
    image, scale = _shrunk(Image.fromarray(pixels), _PREVIEW_SIDE_PX)
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=_LABEL_PX)
    for number, tile in enumerate(tiles, start=1):
        points = [(x * scale, y * scale) for x, y in tile.outline_px]
        if len(points) < 3:
            continue
        closed = [*points, points[0], points[1]]
        draw.line(closed, fill="#ffffff", width=7, joint="curve")
        draw.line(closed, fill="#1f1d1a", width=3, joint="curve")
        x, y = min(points, key=lambda p: p[0] + p[1])
        x, y = max(0.0, x + 6), max(0.0, y + 6)
        box = draw.textbbox((x + 8, y + 2), str(number), font=font)
        draw.rectangle((x, y, box[2] + 8, box[3] + 6), fill="#1f1d1a")
        draw.text((x + 8, y + 2), str(number), fill="#ffffff", font=font)
    return jpeg_bytes(image)


def marked_view(data: bytes, marks: Sequence[Mark], kinds: Collection[str]) -> bytes:
    """Draw rings round marks over a straightened picture, a shape and a colour for each kind.

    Parameters
    ----------
    data : the straightened view's file
    marks : with x, y and diameter in pixels of that view
    kinds : which kinds to draw

    Returns
    -------
    JPEG bytes
    """
    with Image.open(BytesIO(data)) as opened:
        image, scale = _shrunk(opened.convert("RGB"), _MARK_VIEW_SIDE_PX)
    draw = ImageDraw.Draw(image)
    for mark in marks:
        if str(mark.kind) not in kinds:
            continue
        x, y = mark.x_px * scale, mark.y_px * scale
        r = mark.diameter_px * scale / 2 + _MARK_GAP_PX
        _ring(draw, str(mark.kind), x, y, r)
    return jpeg_bytes(image, quality=92)


def _ring(draw: ImageDraw.ImageDraw, kind: str, x: float, y: float, r: float) -> None:
    """Draw one mark's sign in its colour within a white hair: ring, thick ring, square or diamond."""
    ink = MARK_COLOURS[kind]
    thick = 4 if kind == "blister" else 2
    for outer, colour, width in ((r + 1, "#ffffff", thick + 2), (r, ink, thick)):
        box = (x - outer, y - outer, x + outer, y + outer)
        if kind == "crater":
            draw.rectangle(box, outline=colour, width=width)
        elif kind == "speck":
            points = [(x, y - outer), (x + outer, y), (x, y + outer), (x - outer, y)]
            draw.polygon(points, outline=colour, width=width)
        else:
            draw.ellipse(box, outline=colour, width=width)
