"""What an unloading and its photos are to everybody else: frozen records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from vision.reading import Calibration, CalibrationKind, Flag, PhotoReading
from vision.reading_json import beside_from_dict, taught_from_dict, tile_from_dict

__all__ = ["PHOTO_STATES", "Told", "Unloading", "UnloadingPhoto", "UnloadingState", "photo_reading"]

PHOTO_STATES = ("waiting", "in_hand", "read", "failed", "filed", "left_out")


@dataclass(frozen=True, slots=True)
class Unloading:
    """One unloading.

    Attributes
    ----------
    load_id : the load a person chose; None where none was chosen
    files_itself : photos with card and labels are filed as soon as they are read
    stopped : a person stopped the reading; it goes on when told to
    closed : the next photos begin another unloading
    """

    id: int
    load_id: int | None
    files_itself: bool
    stopped: bool
    closed: bool
    made_at: datetime


@dataclass(frozen=True, slots=True)
class UnloadingState:
    """How many photos of an unloading are in which state, and the seconds that reading one takes."""

    counts: Mapping[str, int]
    seconds_each: float | None = None

    @property
    def total(self) -> int:
        """All photos but those left out."""
        return sum(self.counts.values()) - self.counts.get("left_out", 0)

    @property
    def to_read(self) -> int:
        """Photos not read yet."""
        return self.counts.get("waiting", 0) + self.counts.get("in_hand", 0)


@dataclass(frozen=True, slots=True)
class Told:
    """What a person says of a photo before it is read.

    Attributes
    ----------
    thickness_mm : of the tiles; None for a usual one
    stripes : dark stripes under the glaze, each a list of corners x, y in photo pixels
    beside : number of the second photo, the lamp on the other side; both are read as one then
    second_of : number of the photo whose second one this is; it is not read by itself
    likely : number of the photo that the reader takes for the second of a pair; a person is asked
    likely_first : number of the filed photo whose second the reader takes this one for; a person is asked
    apart : a person said that this photo stands alone
    """

    thickness_mm: float | None = None
    stripes: tuple[tuple[tuple[float, float], ...], ...] = ()
    beside: int | None = None
    second_of: int | None = None
    likely: int | None = None
    likely_first: int | None = None
    apart: bool = False


@dataclass(frozen=True, slots=True)
class UnloadingPhoto:
    """One photo of an unloading.

    Attributes
    ----------
    state : one of `PHOTO_STATES`
    subject : what a person says it shows; None to find out
    outlines : drawn by a person, by the number of the piece they stand for (as text) or "new1", "new2", ...;
        each a list of corners in photo pixels
    told : what else a person says of it before it is read
    reading : what it says; None before it is read or where it could not be
    pictures : digests of the work pictures: "preview", and each piece's straightened view by its number
    said : one row a piece, as the table of the unloading has it
    trouble : a sentence and what to do next; empty where there is none
    filing : what filing it did (`catalog.unloading.undo`); empty where it is not filed
    """

    id: int
    unloading_id: int
    sha256: str
    name: str
    state: str
    subject: str | None
    outlines: Mapping[str, Any]
    tries: int
    reading: PhotoReading | None
    pictures: Mapping[str, str]
    said: tuple[Mapping[str, Any], ...]
    trouble: tuple[str, ...]
    filing: Mapping[str, Any]
    told: Told = Told()


def photo_reading(data: Mapping[str, Any]) -> PhotoReading:
    """Read back what `vision.reading.reading_to_dict` gave."""
    calibration = data["calibration"]
    return PhotoReading(
        photo=data["photo"],
        sha256=data["sha256"],
        calibration=Calibration(
            CalibrationKind(calibration["kind"]),
            calibration["mm_per_px"],
            calibration["residual_delta_e_00"],
            taught_from_dict(calibration.get("taught")),
        ),
        tiles=tuple(tile_from_dict(tile) for tile in data["tiles"]),
        flags=tuple(Flag(flag) for flag in data["flags"]),
        error=data["error"],
        method=dict(data["method"]),
        beside=beside_from_dict(data.get("beside")),
    )
