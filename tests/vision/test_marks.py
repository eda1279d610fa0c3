"""Marks are found, sized and named on drawn surfaces of known truth; the kept model is plain numbers.

The drawings are made by tests/synthetic_marks.py, not by the renderer the model was fitted on.
"""

from __future__ import annotations

import dataclasses
import time

import numpy as np
import pytest
from sklearn.ensemble import HistGradientBoostingClassifier, HistGradientBoostingRegressor

from tests.synthetic_marks import DrawnTile, draw_tile
from vision.marks.candidates import build_pyramid, find_candidates, measuring_domain, smallest_diameter_px
from vision.marks.classify import CLASSES, MODEL_FILE, classify, load_model
from vision.marks.examples import IGNORED, KnownMark, label_candidates
from vision.marks.features import FEATURE_NAMES, measure_features
from vision.marks.find import find_marks
from vision.marks.forest import forest_from_arrays, forest_to_arrays, join_trees
from vision.reading import MARK_KINDS, Mark, MarkKind
from vision.settings import MarkSettings

SETTINGS = MarkSettings()
EIGHT_OF_EACH = dict.fromkeys(MARK_KINDS, 8)


def pair_up(tile: DrawnTile, found: tuple[Mark, ...]) -> list[tuple[int, int]]:
    """Join each drawn mark to the nearest free found one within half its diameter: (drawn, found) indices."""
    pairs, used = [], set()
    for i, drawn in enumerate(tile.marks):
        away = [
            (np.hypot(m.x_px - drawn.x_px, m.y_px - drawn.y_px), j)
            for j, m in enumerate(found)
            if j not in used
        ]
        if away and min(away)[0] < 0.5 * drawn.diameter_px:
            used.add(min(away)[1])
            pairs.append((i, min(away)[1]))
    return pairs


@pytest.fixture(scope="module")
def tiles() -> list[DrawnTile]:
    return [draw_tile(seed, counts=EIGHT_OF_EACH, glints=1, foot_px=30) for seed in range(500, 506)]


def test_drawn_marks_are_found_and_sized(tiles: list[DrawnTile]) -> None:
    drawn = found_right = found = 0
    errors = []
    for tile in tiles:
        marks = find_marks(tile.surface, SETTINGS)
        pairs = pair_up(tile, marks)
        drawn, found, found_right = drawn + len(tile.marks), found + len(marks), found_right + len(pairs)
        errors += [abs(marks[j].diameter_px / tile.marks[i].diameter_px - 1) for i, j in pairs]
    print(f"found {found_right} of {drawn} drawn, {found} claimed, median size error {np.median(errors):.3f}")
    assert found_right / drawn > 0.7
    assert found_right / found > 0.85
    assert np.median(errors) < 0.15


@pytest.mark.parametrize("relief", [MarkKind.BLISTER, MarkKind.CRATER])
def test_specks_are_told_from_relief(relief: MarkKind) -> None:
    """On tiles as a shelf has them: many marks of one kind, a few of another. All side by side are harder."""
    specks = right = 0
    for seed in range(500, 504):
        tile = draw_tile(seed, counts={MarkKind.SPECK: 14, relief: 5}, glints=1, foot_px=30)
        marks = find_marks(tile.surface, SETTINGS)
        for i, j in pair_up(tile, marks):
            if tile.marks[i].kind is MarkKind.SPECK:
                specks += 1
                right += marks[j].kind is MarkKind.SPECK
    assert right / specks > 0.8, (right, specks)


@pytest.mark.parametrize(
    "options", [{}, {"glints": 3}, {"foot_px": 60}, {"noise": 0.02}, {"variegation": 0.15}]
)
def test_sound_glaze_carries_no_marks(options: dict[str, float]) -> None:
    claimed = [len(find_marks(draw_tile(seed, **options).surface, SETTINGS)) for seed in range(600, 604)]
    area_cm2 = 620 * 460 * 0.08**2 / 100
    assert sum(claimed) / (4 * area_cm2) < 0.1, claimed


def test_nothing_below_the_stated_size() -> None:
    surface = draw_tile(9, counts=EIGHT_OF_EACH, diameter_px=(3, 9)).surface
    for blur_px in (0.7, 2.0, 3.0):
        marks = find_marks(dataclasses.replace(surface, blur_px=blur_px), SETTINGS)
        assert all(m.diameter_px >= smallest_diameter_px(blur_px, SETTINGS) for m in marks)
    assert smallest_diameter_px(0.5, SETTINGS) == SETTINGS.smallest_px
    assert smallest_diameter_px(3.0, SETTINGS) > SETTINGS.smallest_px


def test_millimetres_follow_the_scale(tiles: list[DrawnTile]) -> None:
    surface = tiles[0].surface
    for mark in find_marks(surface, SETTINGS):
        assert mark.diameter_mm == pytest.approx(mark.diameter_px * surface.mm_per_px)
        assert mark.x_mm == pytest.approx(mark.x_px * surface.mm_per_px)
        assert mark.y_mm == pytest.approx(mark.y_px * surface.mm_per_px)
    for mark in find_marks(dataclasses.replace(surface, mm_per_px=None), SETTINGS):
        assert (mark.x_mm, mark.y_mm, mark.diameter_mm) == (None, None, None)


def test_quarter_turn_finds_the_same_marks(tiles: list[DrawnTile]) -> None:
    surface = tiles[1].surface
    turned = dataclasses.replace(
        surface,
        **{
            key: np.ascontiguousarray(np.rot90(getattr(surface, key)))
            for key in ("image", "lab", "piece", "glazed", "bare", "glint")
        },
    )
    before, after = find_marks(surface, SETTINGS), find_marks(turned, SETTINGS)
    cols = surface.glazed.shape[1]
    same = sum(
        any(np.hypot(a.x_px - b.y_px, a.y_px - (cols - 1 - b.x_px)) < 0.5 * b.diameter_px for a in after)
        for b in before
    )
    assert same >= 0.9 * len(before)
    assert abs(len(after) - len(before)) <= 0.1 * len(before)


def test_no_glaze_no_marks() -> None:
    surface = draw_tile(1).surface
    bare = np.ones_like(surface.glazed)
    assert find_marks(dataclasses.replace(surface, glazed=~bare, bare=bare), SETTINGS) == ()


def test_candidates_reach_every_drawn_mark(tiles: list[DrawnTile]) -> None:
    missed = 0
    for tile in tiles:
        pyramid = build_pyramid(tile.surface, measuring_domain(tile.surface, SETTINGS), SETTINGS)
        found = find_candidates(tile.surface, pyramid, SETTINGS, load_model().screen)
        known = [KnownMark(str(m.kind), m.x_px, m.y_px, m.diameter_px) for m in tile.marks]
        for mark in known:
            label, _ = label_candidates(found.x_px, found.y_px, found.radius_px, [mark], 5.0)
            missed += not (label == CLASSES.index(mark.kind)).any()
    assert missed <= 0.03 * sum(len(t.marks) for t in tiles)


def test_features_do_not_change_with_exposure_offset_or_size_of_the_list() -> None:
    tile = draw_tile(21, counts=EIGHT_OF_EACH)
    pyramid = build_pyramid(tile.surface, measuring_domain(tile.surface, SETTINGS), SETTINGS)
    found = find_candidates(tile.surface, pyramid, SETTINGS, None)
    all_rows = measure_features(tile.surface, found, pyramid)
    assert all_rows.shape == (len(found), len(FEATURE_NAMES))
    assert np.isfinite(all_rows).all()
    none = found.take(np.zeros(0, np.intp))
    assert measure_features(tile.surface, none, pyramid).shape == (0, len(FEATURE_NAMES))
    shares, factor = classify(measure_features(tile.surface, none, pyramid))
    assert shares.shape == (0, len(CLASSES))
    assert factor.shape == (0,)


def test_labels_part_right_near_miss_and_nothing() -> None:
    known = [KnownMark("crater", 50.0, 40.0, 20.0), KnownMark("speck", 90.0, 40.0, 3.0)]
    x = np.array([50, 50, 50, 10, 90], np.float32)
    y = np.array([41, 41, 47, 10, 40], np.float32)
    radius = np.array([9, 30, 6, 5, 2], np.float32)
    label, log_ratio = label_candidates(x, y, radius, known, 5.0)
    assert label.tolist() == [CLASSES.index("crater"), IGNORED, IGNORED, CLASSES.index("nothing"), IGNORED]
    assert log_ratio[0] == pytest.approx(np.log(10 / 9))


def test_forest_gives_what_scikit_learn_gives() -> None:
    rng = np.random.default_rng(4)
    rows = rng.standard_normal((600, 6)).astype(np.float32)
    kinds = (rows[:, 0] > 0).astype(int) + (rows[:, 1] * rows[:, 2] > 0.2)
    forest_model = HistGradientBoostingClassifier(max_iter=6, random_state=1).fit(rows, kinds)
    trees = [(k, t.nodes) for step in forest_model._predictors for k, t in enumerate(step)]
    forest = join_trees(trees, np.asarray(forest_model._baseline_prediction).ravel())
    kept = forest_from_arrays(forest_to_arrays(forest, "a"), "a")
    np.testing.assert_allclose(kept.sums(rows), forest_model.decision_function(rows), atol=1e-4)
    regressor = HistGradientBoostingRegressor(max_iter=6, random_state=1).fit(rows, rows[:, 3] ** 2)
    trees = [(0, step[0].nodes) for step in regressor._predictors]
    forest = join_trees(trees, np.atleast_1d(regressor._baseline_prediction).ravel())
    np.testing.assert_allclose(forest.sums(rows)[:, 0], regressor.predict(rows), atol=1e-4)


def test_kept_model_is_small_plain_and_quick_to_open() -> None:
    assert MODEL_FILE.stat().st_size < 1.5e6
    with np.load(MODEL_FILE, allow_pickle=False) as file:
        assert all(file[key].dtype != object for key in file.files)
    load_model.cache_clear()
    began = time.perf_counter()
    load_model()
    assert time.perf_counter() - began < 0.5  # aim 0.1 s; the machine may be busy


def test_shares_are_probabilities(tiles: list[DrawnTile]) -> None:
    surface = tiles[2].surface
    pyramid = build_pyramid(surface, measuring_domain(surface, SETTINGS), SETTINGS)
    shares, factor = classify(
        measure_features(surface, find_candidates(surface, pyramid, SETTINGS, load_model().screen), pyramid)
    )
    np.testing.assert_allclose(shares.sum(axis=1), 1, atol=1e-5)
    assert shares.min() >= 0
    assert factor.min() > 0
