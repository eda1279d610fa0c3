"""Pictures for the screen: outlines over a photo, small copies."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw, ImageFont

from vision.reading import TileReading

if TYPE_CHECKING:
    from vision.surface import ByteImage

__all__ = ["jpeg_bytes", "outlined_photo", "small_copy"]

_PREVIEW_SIDE_PX = 1100
_LABEL_PX = 26


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
