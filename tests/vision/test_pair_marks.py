"""Marks are told apart by how they turn with the lamp: domes, pits and paint lit from both sides.

The outside source is Lambert's cosine law (Photometria, 1760, from memory): diffuse light goes by the cosine
between the surface's normal and the lamp. The drawings are tests/synthetic_marks.py's, made another way than
what the trees were fitted on.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.synthetic_marks import DrawnTile, draw_tile
from vision.marks.candidates import Candidates, build_pyramid, measuring_domain
from vision.marks.classify import CLASSES
from vision.marks.find import find_marks
from vision.marks.pair import PAIR_MODEL_FILE, find_pair_marks, load_pair_model
from vision.marks.pair_features import PAIR_FEATURE_NAMES, measure_pair_features
from vision.reading import MARK_KINDS, CalibrationKind, Mark, MarkKind
from vision.settings import Settings
from vision.two_lamps_light import LampPair, join_views

SETTINGS = Settings()
LEFT = np.array([-1.0, 0.0], np.float32)


def drawn_pair(seed: int, **wanted: object) -> tuple[DrawnTile, LampPair]:
    """Draw one surface with the lamp on the left, then on the right."""
    left, right = (draw_tile(seed, lamp_deg=angle, **wanted) for angle in (180.0, 0.0))
    kinds = (CalibrationKind.CARD, CalibrationKind.CARD)
    return left, join_views(left.surface, right.surface, kinds, LEFT, 0.8, SETTINGS)


def described(pair: LampPair, candidates: Candidates, lamp: np.ndarray = LEFT) -> dict[str, np.ndarray]:
    pyramids = [
        build_pyramid(s, measuring_domain(s, SETTINGS.marks), SETTINGS.marks)
        for s in (pair.first, pair.second)
    ]
    n = len(candidates)
    even = np.full((n, len(CLASSES)), 1 / len(CLASSES), np.float32)
    found = measure_pair_features(candidates, (pyramids[0], pyramids[1]), (even, even), lamp, 0.8)
    assert np.isfinite(found).all()
    return dict(zip(PAIR_FEATURE_NAMES, found.T, strict=True))


def at_marks(tile: DrawnTile) -> Candidates:
    x, y, d = (
        np.array(v, np.float32)
        for v in zip(*[(m.x_px, m.y_px, m.diameter_px) for m in tile.marks], strict=True)
    )
    return Candidates(x, y, d / 2, np.ones(len(x), np.float32), np.zeros(len(x), np.int8))


@pytest.mark.parametrize(
    ("kind", "sign"), [(MarkKind.BLISTER, 1), (MarkKind.PINHOLE, -1), (MarkKind.SPECK, 0)]
)
def test_the_lamps_side_of_a_dome_is_bright_of_a_pit_dark_of_paint_neither(kind: MarkKind, sign: int) -> None:
    tile, pair = drawn_pair(11, counts={kind: 12}, diameter_px=(14.0, 26.0), noise=0.004)
    turned = described(pair, at_marks(tile))
    inside = turned["turns_along_1"] + turned["turns_along_2"] + turned["turns_along_3"]
    print(f"{kind}: bright on the lamp's side by {np.round(inside, 1)}")
    if sign:
        assert (np.sign(inside) == sign).mean() > 0.9
    else:
        assert np.abs(inside).max() < 1.0


def test_photos_given_the_other_way_round_say_the_same() -> None:
    tile, pair = drawn_pair(12, counts=dict.fromkeys(MARK_KINDS, 4))
    turned = LampPair(pair.second, pair.first, pair.clear, pair.moved, -LEFT, pair.alike)
    one, other = described(pair, at_marks(tile)), described(turned, at_marks(tile), -LEFT)
    for name, values in one.items():
        assert values == pytest.approx(other[name], abs=0.02), name


def named_right(tile: DrawnTile, found: tuple[Mark, ...]) -> tuple[int, int]:
    """Count drawn marks found with their right name, and found ones that are no drawn mark or misnamed."""
    right, used = 0, set()
    for drawn in tile.marks:
        away = [
            (np.hypot(m.x_px - drawn.x_px, m.y_px - drawn.y_px), j)
            for j, m in enumerate(found)
            if j not in used
        ]
        if away and min(away)[0] < 0.5 * drawn.diameter_px:
            used.add(min(away)[1])
            right += found[min(away)[1]].kind is drawn.kind
    return right, len(found) - right


def test_both_photos_name_more_drawn_marks_than_one() -> None:
    single = both = wrong_single = wrong_both = drawn = 0
    for seed in range(700, 704):
        tile, pair = drawn_pair(seed, counts=dict.fromkeys(MARK_KINDS, 7), diameter_px=(7.0, 22.0))
        drawn += len(tile.marks)
        for surface in (pair.first, pair.second):
            right, wrong = named_right(tile, find_marks(surface, SETTINGS.marks))
            single, wrong_single = single + right / 2, wrong_single + wrong / 2
        right, wrong = named_right(tile, find_pair_marks(pair, SETTINGS.marks))
        both, wrong_both = both + right, wrong_both + wrong
    print(
        f"{drawn} drawn: one photo names {single} right, {wrong_single} wrong; both {both} and {wrong_both}"
    )
    assert both > single
    assert both / (both + wrong_both) > single / (single + wrong_single)


def test_the_kept_trees_are_plain_numbers_fitted_on_these_features() -> None:
    with np.load(PAIR_MODEL_FILE, allow_pickle=False) as file:
        assert tuple(file["feature_names"]) == PAIR_FEATURE_NAMES
    assert load_pair_model().seen.feature.max() < len(PAIR_FEATURE_NAMES)
