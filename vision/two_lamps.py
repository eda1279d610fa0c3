"""Read two photos of the same pieces as one: only the lamp moved, first on the left, then on the right.

What a glaze mirrors moves with the lamp, what is painted on it does not, and what stands up or goes down is
bright now on one side, now on the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from vision.errors import PairMismatchError
from vision.photo import Photo
from vision.pipeline import PhotoRead, read_photo
from vision.reading import METHOD, TWO_LAMPS_METHOD, Flag, PhotoBeside, Subject
from vision.settings import Settings
from vision.taught_card import TaughtCard

__all__ = ["read_pair"]

_DEFAULT = Settings()


def read_pair(
    first: Photo,
    second: Photo,
    *,
    subject: Subject | None = None,
    outlines: Sequence[Sequence[Sequence[float]]] = (),
    stripes: Sequence[Sequence[Sequence[float]]] = (),
    thickness_mm: float | None = None,
    taught: Sequence[TaughtCard] = (),
    on: date | None = None,
    settings: Settings = _DEFAULT,
) -> PhotoRead:
    """Read two photos as one.

    Parameters
    ----------
    first : the lamp on the left; all places in the reading are this photo's
    second : the lamp on the right, pieces unmoved, the phone too or nearly so
    subject, outlines, stripes, thickness_mm, taught, on, settings : as for `vision.pipeline.read_photo`

    Returns
    -------
    The first photo's reading, with colour free of reflections that moved, finish and marks judged from both,
    and the flag TWO_PHOTOS. A piece that the second photo does not show again carries SECOND_PHOTO_UNUSED.

    Raises
    ------
    PairMismatchError : both are one photo, or show no piece in common, or labels that differ.
    """
    read = read_photo(
        first,
        subject=subject,
        outlines=outlines,
        stripes=stripes,
        thickness_mm=thickness_mm,
        taught=taught,
        on=on,
        beside=second,
        settings=settings,
    )
    tiles = read.reading.tiles
    if tiles and all(Flag.SECOND_PHOTO_UNUSED in tile.flags for tile in tiles):
        raise PairMismatchError(
            first.name, second.name, "no piece of the first was found again in the second"
        )
    return replace(
        read,
        reading=replace(
            read.reading,
            tiles=tuple(
                tile if Flag.SECOND_PHOTO_UNUSED in tile.flags else replace(tile, beside_sha256=second.sha256)
                for tile in tiles
            ),
            flags=(*read.reading.flags, Flag.TWO_PHOTOS),
            method={**METHOD, "two_lamps": TWO_LAMPS_METHOD},
            beside=PhotoBeside(second.name, second.sha256),
        ),
    )
