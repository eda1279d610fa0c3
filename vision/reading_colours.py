"""Colours of a reading: one colour, a glaze's and a body's, and how they change over the face."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BodyColour",
    "EdgeBreak",
    "FaceColours",
    "GlazeColour",
    "Gradient",
    "Lab",
    "Opacity",
    "PaletteEntry",
    "ThickThin",
]


@dataclass(frozen=True, slots=True)
class Lab:
    """A colour in CIELAB, D65, 2 degree observer (ISO/CIE 11664-4)."""

    lightness: float
    a_star: float
    b_star: float

    def as_tuple(self) -> tuple[float, float, float]:
        """Return (L*, a*, b*)."""
        return (self.lightness, self.a_star, self.b_star)


@dataclass(frozen=True, slots=True)
class PaletteEntry:
    """One colour of a glazed face and the fraction (0..1) of the face it covers."""

    lab: Lab
    fraction: float


@dataclass(frozen=True, slots=True)
class GlazeColour:
    """Colour of the glazed face; `lab_sd` is the stated doubt (one standard deviation) of each coordinate."""

    lab: Lab
    lab_sd: tuple[float, float, float]
    palette: tuple[PaletteEntry, ...] = ()
    area_cm2: float | None = None


@dataclass(frozen=True, slots=True)
class Gradient:
    """How a glaze's colour changes down its face, as the photo shows it.

    `change` and its doubt `change_sd` are of L*, a*, b* from the face's top to its bottom; over `height_cm`,
    None without scale.
    """

    top: Lab
    bottom: Lab
    change: tuple[float, float, float]
    change_sd: tuple[float, float, float]
    height_cm: float | None
    delta_e_00: float
    delta_e_00_sd: float


@dataclass(frozen=True, slots=True)
class EdgeBreak:
    """Colour of the glaze along a tile's edges against the field beside them; `sides` edges were seen."""

    field: Lab
    edge: Lab
    delta_e_00: float
    delta_e_00_sd: float
    sides: int


@dataclass(frozen=True, slots=True)
class ThickThin:
    """Colour where the glaze is likely thick and likely thin, and where these places were taken to be."""

    thick: Lab
    thin: Lab
    thick_where: str
    thin_where: str
    delta_e_00: float
    delta_e_00_sd: float


@dataclass(frozen=True, slots=True)
class Opacity:
    """Contrast ratio Y over a dark stripe by Y over the light ground beside it, 1 where it hides fully.

    `hides_probability` is the chance that the ratio is 0.98 or more; `stripe_px` are the stripe's corners in
    photo pixels; `by_hand` where a person marked it.
    """

    contrast_ratio: float
    contrast_ratio_sd: float
    hides_probability: float
    stripe_px: tuple[tuple[float, float], ...]
    by_hand: bool


@dataclass(frozen=True, slots=True)
class FaceColours:
    """Colours by place on a glazed face; each None where it could not be measured."""

    gradient: Gradient | None = None
    edges: EdgeBreak | None = None
    thick_thin: ThickThin | None = None
    opacity: Opacity | None = None


@dataclass(frozen=True, slots=True)
class BodyColour:
    """Colour of the bare clay in view."""

    lab: Lab
    area_cm2: float | None = None
