"""The net that looks over the face: what it is shown, and that chances are chances."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.synthetic_marks import DrawnTile, draw_tile
from vision.marks.candidates import Pyramid, build_pyramid, measuring_domain
from vision.marks.chances_fit import UNSURE, label_places
from vision.marks.classify import CLASSES
from vision.marks.examples import IGNORED, KnownMark
from vision.marks.field import CELL, CHANNELS, look_over, view_levels
from vision.marks.field_levels import label_cells
from vision.marks.find import chances_of, find_places, weigh_together
from vision.reading import MARK_KINDS
from vision.settings import MarkSettings
from vision.surface import Surface

SETTINGS = MarkSettings()
LARGEST_PX = 90.0


@pytest.fixture(scope="module")
def tile() -> DrawnTile:
    return draw_tile(812, counts=dict.fromkeys(MARK_KINDS, 6), foot_px=30)


def known_marks(tile: DrawnTile) -> tuple[KnownMark, ...]:
    return tuple(KnownMark(str(m.kind), m.x_px, m.y_px, m.diameter_px) for m in tile.marks)


def pyramid_of(surface: Surface) -> Pyramid:
    return build_pyramid(surface, measuring_domain(surface, SETTINGS), SETTINGS)


def test_the_net_is_shown_contrast_and_not_exposure(tile: DrawnTile) -> None:
    before = list(view_levels(pyramid_of(tile.surface), tile.surface.blur_px, LARGEST_PX))
    brighter = dataclasses.replace(tile.surface, lab=tile.surface.lab + np.float32([7, 0, 0]))
    after = list(view_levels(pyramid_of(brighter), tile.surface.blur_px, LARGEST_PX))
    assert len(before) == len(after) >= 3
    for one, other in zip(before, after, strict=True):
        assert one.channels.shape == (len(CHANNELS), one.light.shape[0] // 2, one.light.shape[1] // 2)
        np.testing.assert_allclose(one.light, other.light, atol=0.02)
        np.testing.assert_allclose(other.rest[4] - one.rest[4], 7 / 50, atol=2e-3)


def test_places_and_chances(tile: DrawnTile) -> None:
    places = find_places(tile.surface, SETTINGS)
    chances = chances_of(places.evidence)
    np.testing.assert_allclose(chances.sum(axis=1), 1, atol=1e-5)
    assert chances.min() >= 0
    seen = look_over(pyramid_of(tile.surface), tile.surface.blur_px, LARGEST_PX, 0.2)
    np.testing.assert_allclose(seen.shares.sum(axis=1), 1, atol=1e-5)
    label = label_places(places, known_marks(tile), 5.0)
    assert len(set(label.tolist())) >= 4, "most kinds have a place"
    tiny = [KnownMark("speck", float(places.x_px[0]), float(places.y_px[0]), float(places.diameter_px[0]))]
    assert label_places(places, tiny, 1e6)[0] == UNSURE


def test_what_the_others_are_speaks_for_what_a_mark_is() -> None:
    """By Bayes with the others' share as the prior; a lone place has no company, and presence stays."""
    once = dataclasses.replace(SETTINGS, company_weight=1.0, company_unknown=4.0, company_rounds=1)
    chances = np.array([[0.4, 0.2, 0.0, 0.0, 0.4], [0.1, 0.5, 0.2, 0.0, 0.2], [0.0, 0.9, 0.0, 0.1, 0.0]])
    weighed = weigh_together(chances.astype(np.float32), once)
    share = np.array([1 + 0.1, 1 + 1.4, 1 + 0.2, 1 + 0.1])  # of the other two, and one unknown of each
    wanted = 0.6 * chances[0, :4] * share / (chances[0, :4] @ share)
    np.testing.assert_allclose(weighed[0, :4], wanted, rtol=1e-5)
    np.testing.assert_allclose(weighed.sum(axis=1), 1, atol=1e-6)
    np.testing.assert_allclose(weighed[:, 4], chances[:, 4], atol=1e-6)
    alone = weigh_together(chances[:1].astype(np.float32), SETTINGS)
    np.testing.assert_allclose(alone, chances[:1], atol=1e-6)
    assert weigh_together(np.zeros((0, 5), np.float32), SETTINGS).shape == (0, 5)


def test_every_drawn_mark_has_cells_of_its_kind(tile: DrawnTile) -> None:
    """A mark of any size is asked for on one level at least, and in the right place and size there."""
    marks = known_marks(tile)
    found: dict[KnownMark, int] = dict.fromkeys(marks, 0)
    for view in view_levels(pyramid_of(tile.surface), tile.surface.blur_px, LARGEST_PX):
        for mark in marks:
            label, places = label_cells(view, [mark], 5.0)
            rows, cols = np.nonzero(label == CLASSES.index(mark.kind))
            found[mark] += len(rows)
            if len(rows) == 0:
                continue
            factor, offset = Pyramid.place(view.level)
            x = ((cols + 0.5 + places[1, rows, cols]) * CELL - 0.5) * factor + offset
            np.testing.assert_allclose(x, mark.x_px, atol=0.05 * mark.diameter_px + 0.1)
            assert (label == IGNORED).any()
    assert min(found.values()) > 0
