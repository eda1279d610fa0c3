"""A rating in the style of ISO 4628 parts 2, 4 and 5; not a test to that standard.

ISO 4628 is for paint films and rates by eye, against words and printed pictures. Here quantity and size are
classed 0 to 5 from what a photo measured. The size classes of marks are those of ISO 4628-1 as recalled (2 up
to 0.2 mm, 3 up to 0.5, 4 up to 5, 5 above; 0 and 1 need a magnifier). The classes of bare patches are
ISO 4628-5's for flaking, from memory. ISO gives marks and cracks no numbers for quantity, only words and
pictures: those limits are our own.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from statistics import median

from vision.reading import MARK_KINDS, Crawling, Crazing, TileReading

__all__ = ["RATING_STYLE", "Rating", "class_of", "rate", "rating_to_dict"]

RATING_STYLE = "in the style of ISO 4628 parts 2, 4 and 5; not a test to that standard"

SIZE_MM = (0.2, 0.5, 5.0)
"""Upper bounds of size classes 2, 3, 4 (ISO 4628-1, recalled: basis memory, high confidence)."""
MARKS_PER_CM2 = (0.02, 0.1, 0.5, 2.0)
"""Upper bounds of quantity classes 1 to 4 of marks: our own, for 1 to 2 dm² as the standard looks at: up to 2
on a dm² "hardly worth counting", up to 10 "few", 50 "moderate", 200 "many"."""
LINES_MM_PER_CM2 = (5.0, 13.0, 32.0, 78.0)
"""Upper bounds of quantity classes 1 to 4 of craze lines: our own; nets of 40, 15, 6 and 2.5 mm cells carry
that much line on a cm² (1.95 / cell, see `vision.crazing`)."""
BARE_SHARE = (0.001, 0.003, 0.01, 0.03)
"""Upper bounds of quantity classes 1 to 4 of bare patches (ISO 4628-5, from memory: 0.1, 0.3, 1, 3 %)."""


@dataclass(frozen=True, slots=True)
class Rating:
    """Quantity and size class, 0 to 5, of one fault; size None where the photo cannot tell it."""

    fault: str
    quantity: int
    size: int | None

    @property
    def code(self) -> str:
        """Give the rating as the standard writes it: 3(S4)."""
        return f"{self.quantity}(S{self.size})" if self.size is not None else f"{self.quantity}"


def class_of(value: float, bounds: tuple[float, ...], lowest: int) -> int:
    """Give the class of a value: `lowest` up to the first bound, one more past each."""
    return lowest + bisect_left(bounds, value)


def rate(tile: TileReading) -> tuple[Rating, ...]:
    """Rate what a reading found; nothing without scale, and no rating of what is not there."""
    if tile.view_mm_per_px is None:
        return ()
    ratings = []
    for kind in MARK_KINDS:
        density = tile.density_per_cm2.get(str(kind))
        sizes = [m.diameter_mm for m in tile.marks if m.kind is kind and m.diameter_mm is not None]
        if density and sizes:
            ratings.append(
                Rating(str(kind), class_of(density, MARKS_PER_CM2, 1), class_of(median(sizes), SIZE_MM, 2))
            )
    return (*ratings, *_lines(tile.crazing), *_bare(tile.crawling))


def _lines(crazing: Crazing) -> tuple[Rating, ...]:
    """Rate a net by its length; the width of a line, which sizes a crack, is finer than a photo shows."""
    if not crazing.present or not crazing.length_mm_per_cm2:
        return ()
    return (Rating("crazing", class_of(crazing.length_mm_per_cm2, LINES_MM_PER_CM2, 1), None),)


def _bare(crawling: Crawling) -> tuple[Rating, ...]:
    if not crawling.present or crawling.area_fraction <= 0:
        return ()
    return (Rating("crawling", class_of(crawling.area_fraction, BARE_SHARE, 1), None),)


def rating_to_dict(tile: TileReading) -> dict[str, object]:
    """Give the JSON form: the style by name, and a code, quantity and size for each fault found."""
    return {
        "style": RATING_STYLE,
        "faults": {r.fault: {"code": r.code, "quantity": r.quantity, "size": r.size} for r in rate(tile)},
    }
