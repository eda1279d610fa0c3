"""Colours for the screen: CIELAB as a hex code and back, a colour picked in a picture, the search."""

from __future__ import annotations

from io import BytesIO

from catalog.records import ColourMatch
from catalog.search import match_colour
from catalog.store import Catalog
from vision.reading import Lab

__all__ = ["hex_of", "lab_of_hex", "nearest_pieces", "picked_lab"]

_PICK_RADIUS_FRACTION = 0.006
"""Radius of the spot that a click takes, as part of the picture's longer side: about 6 px in 1000."""


def hex_of(lab: Lab) -> str:
    """Give a colour as the nearest "#rrggbb" a screen can show."""
    import numpy as np

    from vision.colour import lab_to_srgb8

    red, green, blue = (int(v) for v in lab_to_srgb8(np.array(lab.as_tuple())))
    return f"#{red:02x}{green:02x}{blue:02x}"


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


def nearest_pieces(
    catalog: Catalog, lab: Lab, *, limit: int, body_id: int | None = None, finish: str | None = None
) -> tuple[ColourMatch, ...]:
    """Give the filed pieces nearest to a colour by CIEDE2000, the nearest first."""
    return match_colour(catalog, lab, limit=limit, body_id=body_id, finish=finish)
