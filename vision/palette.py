"""Colour of the glazed face and of the bare clay: glints and marks out, doubt stated, palette by area."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import lab_to_linear, linear_to_lab
from vision.reading import BodyColour, CalibrationKind, Finish, GlazeColour, Lab, Mark, PaletteEntry
from vision.settings import ColourSettings
from vision.surface import BoolMask, FloatImage, Surface

__all__ = ["ColourDoubt", "likely_veil", "measure_body_colour", "measure_glaze_colour"]

_LINEAR_PART = (6 / 29) ** 3
"""Luminance under which CIELAB's root goes over into a straight line (ISO/CIE 11664-4)."""


@dataclass(frozen=True, slots=True)
class ColourDoubt:
    """What is known about how well the photo's colours were corrected.

    Attributes
    ----------
    kind : chart, card or none
    residual_delta_e_00 : mean difference left on the patches, None without any
    uneven_lightness : how much L* varies over the frame's neutral surfaces, 0 where unknown
    taught : True where the card's true colours had been taught
    veil : linear light that the glaze's own surface mirrors from the room, white paper 1; taken off
    """

    kind: CalibrationKind
    residual_delta_e_00: float | None = None
    uneven_lightness: float = 0.0
    veil: float = 0.0
    taught: bool = False


def likely_veil(shares: Mapping[Finish, float] | None, settings: ColourSettings) -> float:
    """Give the mirrored light to take off a glaze's colour: each finish's own, by its chance.

    Parameters
    ----------
    shares : chance of each finish, None where nothing is known
    settings : `settings.veil` and `settings.veil_unknown`
    """
    if shares is None:
        return settings.veil_unknown
    return sum(shares[f] * veil for f, veil in zip(Finish, settings.veil, strict=True))


def _marks_mask(shape: tuple[int, int], marks: tuple[Mark, ...]) -> BoolMask:
    mask = np.zeros(shape, np.uint8)
    for mark in marks:
        centre = (round(mark.x_px), round(mark.y_px))
        cv2.circle(mask, centre, max(1, round(0.75 * mark.diameter_px)), 1, -1)
    return np.asarray(mask > 0, dtype=np.bool_)


def _inner(mask: BoolMask, fraction: float) -> BoolMask:
    """Draw a mask in from its edge, unless nothing would be left."""
    width = max(1, round(fraction * max(mask.shape)))
    kernel = np.ones((2 * width + 1, 2 * width + 1), np.uint8)
    inner = cv2.erode(np.pad(mask.astype(np.uint8), 1), kernel, borderValue=0)[1:-1, 1:-1] > 0
    return np.asarray(inner if inner.sum() > 0.2 * mask.sum() else mask, dtype=np.bool_)


def _sample(lab: FloatImage, mask: BoolMask, most: int) -> FloatImage:
    index = np.flatnonzero(mask)
    step = max(1, index.size // most)
    return np.asarray(lab.reshape(-1, 3)[index[::step]], dtype=np.float32)


def _centre(values: FloatImage, settings: ColourSettings) -> NDArray[np.float32]:
    """Give a trimmed mean: start at the median, keep the nearest share, twice."""
    centre = np.median(values, axis=0)
    for _ in range(2):
        far = np.linalg.norm(values - centre, axis=1)
        keep = far <= np.quantile(far, settings.kept_share)
        centre = values[keep].mean(axis=0)
    return np.asarray(centre, dtype=np.float32)


def _lab(values: NDArray[np.float32]) -> Lab:
    return Lab(*(float(v) for v in values))


def _palette(values: FloatImage, settings: ColourSettings) -> tuple[PaletteEntry, ...]:
    """Group colours into the few that describe the face, largest share first."""
    if len(values) < settings.palette_least * 20:
        return (PaletteEntry(_lab(np.median(values, axis=0)), 1.0),)
    cv2.setRNGSeed(7)
    rule = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.1)
    _, labels, _ = cv2.kmeans(values, settings.palette_most, None, rule, 2, cv2.KMEANS_PP_CENTERS)
    labels = labels.ravel()
    groups = [values[labels == k] for k in range(settings.palette_most) if (labels == k).any()]
    while len(groups) > settings.palette_least:
        means = np.array([g.mean(axis=0) for g in groups])
        gaps = np.linalg.norm(means[:, None] - means[None, :], axis=2)
        np.fill_diagonal(gaps, np.inf)
        i, j = (int(v) for v in np.unravel_index(int(np.argmin(gaps)), gaps.shape))
        if gaps[i, j] >= settings.palette_gap:
            break
        groups[i] = np.vstack([groups[i], groups[j]])
        del groups[j]
    groups.sort(key=lambda g: -len(g))
    return tuple(PaletteEntry(_lab(np.median(g, axis=0)), len(g) / len(values)) for g in groups)


def _veil_spread(centre: NDArray[np.float32], settings: ColourSettings) -> NDArray[np.float64]:
    """Give what the doubt of mirrored light does to L*, a*, b* at a colour, by CIELAB's slopes."""
    luminance = float(np.maximum(((centre[0] + 16.0) / 116.0) ** 3, _LINEAR_PART))
    slope = luminance ** (-2 / 3) / 3
    return np.asarray(slope * np.array([116.0, 500.0, 200.0]) * np.array(settings.veil_doubt), np.float64)


def measure_glaze_colour(
    surface: Surface, doubt: ColourDoubt, settings: ColourSettings, marks: tuple[Mark, ...] = ()
) -> GlazeColour | None:
    """Measure the colour of the glazed face.

    Parameters
    ----------
    surface : the straightened piece
    doubt : what is known about the photo's colour correction
    marks : located marks, left out of the colour

    Returns
    -------
    The colour, or None when hardly any glaze is free of reflections.

    Notes
    -----
    `lab_sd` adds in squares: the correction's own doubt (residual, or the doubt of a phone's automatic
    colour where nothing corrected it), that of the light the glaze mirrors, uneven light, and a share of the
    face's own spread. `area_cm2` counts glazed pixels, glints included.
    """
    glazed = surface.glazed
    clear = _inner(glazed, settings.edge_fraction) & ~surface.glint & ~surface.bare
    if marks:
        without = clear & ~_marks_mask(clear.shape, marks)
        if without.sum() > 0.3 * clear.sum():
            clear = without
    if clear.sum() < settings.least_pixels:
        return None
    values = _sample(surface.lab, clear, settings.sample_pixels)
    if doubt.veil > 0:
        light = lab_to_linear(values)
        least = np.float32(settings.veil_least_light)
        values = linear_to_lab(np.maximum(light - np.float32(doubt.veil), np.minimum(light, least)))
    centre = _centre(values, settings)
    spread = 1.4826 * np.median(np.abs(values - np.median(values, axis=0)), axis=0)
    base = np.array(
        {
            CalibrationKind.CHART: settings.chart_doubt,
            CalibrationKind.CARD: settings.taught_doubt if doubt.taught else settings.card_doubt,
            CalibrationKind.NONE: settings.no_card_doubt,
        }[doubt.kind]
    )
    residual = doubt.residual_delta_e_00 or 0.0
    variance = (
        base**2
        + _veil_spread(centre, settings) ** 2
        + (settings.residual_share * residual) ** 2
        + (settings.spread_share * spread) ** 2
    )
    variance[0] += doubt.uneven_lightness**2
    sd = np.sqrt(variance)
    area = None
    if surface.mm_per_px is not None:
        area = float(glazed.sum()) * surface.mm_per_px**2 / 100.0
    return GlazeColour(
        lab=_lab(centre),
        lab_sd=(float(sd[0]), float(sd[1]), float(sd[2])),
        palette=_palette(values, settings),
        area_cm2=area,
    )


def measure_body_colour(surface: Surface, settings: ColourSettings) -> BodyColour | None:
    """Measure the colour of the bare clay in view, or give None when there is next to none."""
    bare = surface.bare
    if bare.sum() < max(settings.least_pixels, settings.least_body_fraction * surface.piece.sum()):
        return None
    clear = _inner(bare, settings.edge_fraction) & ~surface.glint
    if clear.sum() < settings.least_pixels:
        clear = bare
    area = None
    if surface.mm_per_px is not None:
        area = float(bare.sum()) * surface.mm_per_px**2 / 100.0
    return BodyColour(_lab(_centre(_sample(surface.lab, clear, settings.sample_pixels), settings)), area)
