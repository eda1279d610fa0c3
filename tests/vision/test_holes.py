"""The hole a tile hangs by is no mark of the glaze; drawn tiles, so the place of everything is known."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from vision.colour import srgb8_to_lab
from vision.holes import drop_hanging_hole
from vision.reading import Mark, MarkKind, Subject
from vision.settings import TileSettings
from vision.surface import Surface

ROWS, COLS = 1000, 500


def drawn(*holes: tuple[int, int, int], subject: Subject = Subject.TILE, turned: bool = False) -> Surface:
    image = np.full((ROWS, COLS, 3), (70, 110, 150), np.uint8)
    for x, y, radius in holes:
        cv2.circle(image, (x, y), radius, (15, 12, 10), -1, cv2.LINE_AA)
    if turned:
        image = np.ascontiguousarray(np.rot90(image))
    whole = np.ones(image.shape[:2], np.bool_)
    none = np.zeros(image.shape[:2], np.bool_)
    return Surface(image, srgb8_to_lab(image), whole, whole, none, none, 0.1, subject, 1.0)


def mark(x: float, y: float, diameter: float, kind: MarkKind = MarkKind.BLISTER) -> Mark:
    return Mark(kind, x, y, diameter, 0.8)


def test_a_dark_wide_round_on_the_middle_line_near_an_end_is_the_hole() -> None:
    surface = drawn((250, 70, 25))
    found = [mark(251, 69, 52), mark(275, 70, 8, MarkKind.CRATER), mark(250, 400, 52)]
    assert drop_hanging_hole(surface, found, TileSettings()) == (found[2],)


def test_a_hole_at_the_side_of_a_lying_tile_is_found_too() -> None:
    surface = drawn((250, 70, 25), turned=True)
    assert drop_hanging_hole(surface, [mark(70, 250, 50)], TileSettings()) == ()


@pytest.mark.parametrize(
    ("place", "why"),
    [((250, 500, 50), "mid tile"), ((80, 70, 50), "off the middle line"), ((250, 70, 12), "too small")],
)
def test_a_blister_elsewhere_or_smaller_stays(place: tuple[int, int, int], why: str) -> None:
    surface = drawn((place[0], place[1], place[2] // 2))
    assert len(drop_hanging_hole(surface, [mark(*place)], TileSettings())) == 1, why


def test_a_light_dome_in_the_hole_s_place_stays() -> None:
    assert len(drop_hanging_hole(drawn(), [mark(250, 70, 50)], TileSettings())) == 1


@pytest.mark.parametrize("subject", [Subject.WARE, Subject.PATCH])
def test_ware_and_patches_have_no_hanging_hole(subject: Subject) -> None:
    surface = drawn((250, 70, 25), subject=subject)
    assert len(drop_hanging_hole(surface, [mark(250, 70, 50)], TileSettings())) == 1
