"""Colours as people write them: CIELAB, lightness chroma hue, hex, palettes; a colour picked in a picture."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from io import BytesIO

from catalog.records import Piece
from vision.reading import Lab, PaletteEntry

__all__ = [
    "hex_of",
    "is_hex",
    "lab_of_hex",
    "lab_of_lch",
    "lab_of_text",
    "lch_of",
    "palette_of_piece",
    "palette_of_text",
    "palette_text",
    "picked_lab",
]

_PICK_RADIUS_FRACTION = 0.006
"""Radius of the spot that a click takes, as part of the picture's longer side: about 6 px in 1000."""


def hex_of(lab: Lab) -> str:
    """Give a colour as the nearest "#rrggbb" a screen can show."""
    import numpy as np

    from vision.colour import lab_to_srgb8

    red, green, blue = (int(v) for v in lab_to_srgb8(np.array(lab.as_tuple())))
    return f"#{red:02x}{green:02x}{blue:02x}"


def is_hex(code: str) -> bool:
    """Tell whether a text is an "#rrggbb" code."""
    return re.fullmatch(r"#[0-9a-fA-F]{6}", code) is not None


def lab_of_hex(code: str) -> Lab:
    """Give the CIELAB colour of an "#rrggbb" code.

    Raises
    ------
    ValueError : the text is no such code.
    """
    import numpy as np

    from vision.colour import srgb8_to_lab

    digits = code.strip().lstrip("#")
    if len(digits) != 6:
        raise ValueError(f"{code!r}: a colour such as #7a5c41 is wanted")
    values = np.array([int(digits[i : i + 2], 16) for i in (0, 2, 4)], dtype=np.uint8)
    return Lab(*(round(float(v), 2) for v in srgb8_to_lab(values)))


def picked_lab(data: bytes, x_fraction: float, y_fraction: float) -> Lab:
    """Give the colour of a small round spot of a picture: the median of its pixels.

    Parameters
    ----------
    data : the picture's file
    x_fraction, y_fraction : where, as parts of its width and height, 0..1
    """
    import numpy as np
    from PIL import Image

    from vision.colour import srgb8_to_lab

    with Image.open(BytesIO(data)) as image:
        pixels = np.asarray(image.convert("RGB"))
    rows, cols = pixels.shape[:2]
    row, col = round(y_fraction * (rows - 1)), round(x_fraction * (cols - 1))
    radius = max(1, round(_PICK_RADIUS_FRACTION * max(rows, cols)))
    spot = pixels[max(0, row - radius) : row + radius + 1, max(0, col - radius) : col + radius + 1]
    middle = np.median(srgb8_to_lab(spot.reshape(-1, 3)), axis=0)
    return Lab(*(round(float(v), 2) for v in middle))


def lab_of_lch(lightness: float, chroma: float, hue_deg: float) -> Lab:
    """Give the CIELAB colour of lightness, chroma and hue angle (degrees)."""
    hue = math.radians(hue_deg)
    return Lab(lightness, chroma * math.cos(hue), chroma * math.sin(hue))


def lab_of_text(text: str) -> Lab:
    """Read "40,-2,-20" as L*, a*, b*.

    Raises
    ------
    ValueError : not three numbers, L* from 0 to 100, a* and b* from -128 to 128.
    """
    lightness, a_star, b_star = (float(part) for part in text.split(","))
    if not (0 <= lightness <= 100 and abs(a_star) <= 128 and abs(b_star) <= 128):
        raise ValueError(f"{text!r}: L* from 0 to 100, a* and b* from -128 to 128 are wanted")
    return Lab(lightness, a_star, b_star)


def lch_of(lab: Lab) -> tuple[float, float, float]:
    """Give lightness, chroma and hue angle (0 to 360 degrees) of a colour."""
    return (
        lab.lightness,
        math.hypot(lab.a_star, lab.b_star),
        math.degrees(math.atan2(lab.b_star, lab.a_star)) % 360.0,
    )


def palette_of_text(text: str) -> tuple[PaletteEntry, ...]:
    """Read "#345a7c 60, #d8cfc0 40" as a palette; shares left out are equal, and any unit will do.

    Raises
    ------
    ValueError : no such code or share.
    """
    entries = []
    for part in text.replace(";", ",").split(","):
        words = part.replace("%", " ").split()
        if not words:
            continue
        share = float(words[1]) if len(words) > 1 else 1.0
        if len(words) > 2 or not 0 < share < math.inf:
            raise ValueError(f"{part.strip()!r}: a colour and its share such as #345a7c 60 are wanted")
        entries.append(PaletteEntry(lab_of_hex(words[0]), share))
    if not entries:
        raise ValueError("no colour given: colours such as #345a7c 60, #d8cfc0 40 are wanted")
    return tuple(entries)


def palette_text(palette: Sequence[PaletteEntry]) -> str:
    """Write a palette as `palette_of_text` reads it."""
    return ", ".join(f"{hex_of(entry.lab)} {entry.fraction:g}" for entry in palette)


def palette_of_piece(piece: Piece) -> tuple[PaletteEntry, ...]:
    """Give the palette of a piece's newest reading that stands; empty without one."""
    for reading in piece.readings:
        if not reading.superseded and reading.tile.glaze is not None:
            glaze = reading.tile.glaze
            return tuple(e for e in glaze.palette if e.fraction > 0)[:8] or (PaletteEntry(glaze.lab, 1.0),)
    return ()
