"""The printed card is found at any turn and tilt, and its millimetres hold."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from tests.vision.flat_photo import Shot, card_photo, linear_of, photograph, pose
from vision.card import find_card
from vision.card_drawing import ARUCO_DICTIONARY, draw_card, grey_code
from vision.card_layout import A5, A6, LAYOUTS
from vision.photo import load_photo
from vision.reading import Flag
from vision.settings import CardSettings, Settings

LAYOUT_SCALE = {"A6": 0.2, "A5": 0.28}


def true_scale(homography: np.ndarray, x_mm: float, y_mm: float) -> float:
    """Millimetres per pixel from finite differences, independent of the code's formula."""
    points = np.array([[x_mm, y_mm], [x_mm + 0.01, y_mm], [x_mm, y_mm + 0.01]])
    a, b, c = cv2.perspectiveTransform(points.reshape(1, -1, 2), homography)[0]
    u, v = b - a, c - a
    return float(np.sqrt(1e-4 / abs(u[0] * v[1] - u[1] * v[0])))


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 213.0])
@pytest.mark.parametrize("tilt_deg", [0.0, 25.0])
def test_scale_and_corners_hold(layout, turn_deg, tilt_deg) -> None:
    shot = Shot(turn_deg, tilt_deg, LAYOUT_SCALE[layout.name], rows=900, cols=1200, seed=int(turn_deg) % 360)
    pixels, truth = card_photo(layout, shot)
    card = find_card(pixels)
    assert card is not None
    assert card.layout is layout
    assert card.markers_seen == layout.marker_ids
    assert card.flags == ()
    outline = [[0, 0], [layout.width_mm, 0], [layout.width_mm, layout.height_mm], [0, layout.height_mm]]
    wanted = cv2.perspectiveTransform(np.array([outline], dtype=np.float64), truth)[0]
    assert np.abs(card.corners_px - wanted).max() < 0.25
    middle = (layout.width_mm / 2, layout.height_mm / 2)
    assert card.mm_per_px == pytest.approx(true_scale(truth, *middle), rel=0.001)
    x, y = wanted[2]
    assert card.local_mm_per_px(float(x), float(y)) == pytest.approx(
        true_scale(truth, *outline[2]), rel=0.002
    )
    assert (
        np.abs(card.to_mm @ card.homography / (card.to_mm @ card.homography)[2, 2] - np.eye(3)).max() < 1e-9
    )


@pytest.mark.parametrize(
    "change",
    [{"blur_px": 2.2}, {"noise_sd": 9.0}, {"shade": 0.7}, {"mm_per_px": 0.5}, {"light": (1.0, 0.75, 0.45)}],
    ids=lambda change: str(change),
)
def test_scale_holds_in_poor_photos(change: dict) -> None:
    shot = replace(Shot(33.0, 18.0, 0.2, rows=900, cols=1200), **change)
    pixels, truth = card_photo(A6, shot)
    card = find_card(pixels)
    assert card is not None
    assert card.mm_per_px == pytest.approx(true_scale(truth, A6.width_mm / 2, A6.height_mm / 2), rel=0.005)


@pytest.mark.parametrize("hidden", [(0,), (0, 1), (0, 2), (1, 3), (2,)])
def test_a_partly_seen_card_still_gives_scale(hidden: tuple[int, ...]) -> None:
    pixels, truth = card_photo(A6, Shot(20.0, 15.0, 0.2, rows=900, cols=1200))
    for i in hidden:
        rect = A6.marker_rects()[i]
        spot = np.array([[[rect.x_mm + 9.0, rect.y_mm + 9.0]]])
        x, y = cv2.perspectiveTransform(spot, truth)[0, 0]
        cv2.circle(pixels, (round(x), round(y)), 45, (90, 120, 60), -1)
    card = find_card(pixels)
    assert card is not None
    assert card.flags == (Flag.CARD_PARTLY_SEEN,)
    assert len(card.markers_seen) == 4 - len(hidden)
    assert card.mm_per_px == pytest.approx(true_scale(truth, A6.width_mm / 2, A6.height_mm / 2), rel=0.005)


def test_a_card_cut_by_the_frame_is_found_by_what_shows() -> None:
    pixels, _ = card_photo(A6, Shot(0.0, 10.0, 0.2, rows=900, cols=1200))
    cut = np.ascontiguousarray(pixels[:, 480:])
    card = find_card(cut)
    assert card is not None
    assert card.markers_seen == (1, 2)
    assert card.corners_px[0, 0] < 0
    assert all(0 <= p.x_px < cut.shape[1] for p in card.greys)
    assert 0 < len(card.greys) < 16


def test_one_marker_is_not_enough() -> None:
    pixels, _ = card_photo(A6, Shot(0.0, 0.0, 0.2, rows=900, cols=1200))
    assert find_card(np.ascontiguousarray(pixels[: 900 // 2 - 50, : 1200 // 2 - 200])) is None


def test_stray_markers_do_not_pull_the_pose() -> None:
    pixels, _ = card_photo(A6, Shot(10.0, 10.0, 0.2, rows=900, cols=1200))
    before = find_card(pixels)
    dictionary = cv2.aruco.getPredefinedDictionary(ARUCO_DICTIONARY)
    for marker_id, (x, y) in ((0, (20, 20)), (5, (1090, 780)), (2, (1090, 30)), (33, (20, 780))):
        stray = np.pad(cv2.aruco.generateImageMarker(dictionary, marker_id, 60), 12, constant_values=235)
        pixels[y : y + 84, x : x + 84] = stray[..., None]
    card = find_card(pixels)
    assert before is not None
    assert card is not None
    assert np.abs(card.corners_px - before.corners_px).max() < 0.01


@pytest.mark.parametrize("seed", range(4))
def test_markers_thrown_down_at_random_are_no_card(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pixels = np.full((900, 1200, 3), 200, np.uint8)
    dictionary = cv2.aruco.getPredefinedDictionary(ARUCO_DICTIONARY)
    for i, marker_id in enumerate(rng.permutation(8)):
        stray = np.pad(cv2.aruco.generateImageMarker(dictionary, int(marker_id), 70), 12, constant_values=235)
        stray = np.rot90(stray, int(rng.integers(4)))
        x, y = 40 + 280 * (i % 4) + int(rng.integers(120)), 60 + 420 * (i // 4) + int(rng.integers(200))
        pixels[y : y + 94, x : x + 94] = stray[..., None]
    assert find_card(pixels) is None


def test_the_nearer_of_two_cards_is_taken() -> None:
    near, _ = card_photo(A6, Shot(0.0, 0.0, 0.2, rows=800, cols=1000))
    far, _ = card_photo(A6, Shot(0.0, 0.0, 0.4, rows=800, cols=1000))
    card = find_card(np.concatenate([far, near], axis=1))
    assert card is not None
    assert card.mm_per_px == pytest.approx(0.2, rel=0.005)


@pytest.mark.parametrize("kind", ["plain", "noise", "stripes", "tiny"])
def test_no_card_is_claimed_where_none_is(kind: str) -> None:
    rng = np.random.default_rng(1)
    pixels = {
        "plain": np.full((600, 800, 3), 128, np.uint8),
        "noise": rng.integers(0, 255, (600, 800, 3), dtype=np.uint8),
        "stripes": np.repeat(np.where(np.arange(800) // 20 % 2, 230, 20)[None], 600, axis=0)[
            ..., None
        ].repeat(3, 2),
        "tiny": np.zeros((1, 1, 3), np.uint8),
    }[kind].astype(np.uint8)
    assert find_card(pixels) is None


def test_grey_patches_are_measured() -> None:
    shot = Shot(180.0, 15.0, 0.2, rows=900, cols=1200, noise_sd=2.0)
    pixels, truth = card_photo(A6, shot)
    card = find_card(pixels)
    assert card is not None
    assert len(card.greys) == 16
    for patch in card.greys:
        wanted = linear_of(np.array(grey_code(patch.lab[0])))
        assert patch.linear_rgb == pytest.approx([float(wanted)] * 3, rel=0.03, abs=0.002)
        assert not patch.clipped
        assert patch.spread < 0.2
        there = cv2.perspectiveTransform(np.array([[patch.place]]), truth)[0, 0]
        assert (patch.x_px, patch.y_px) == pytest.approx(tuple(there), abs=0.3)
    paper = np.array([p.linear_rgb for p in card.papers])
    assert len(paper) >= 12
    # nothing printed lies in the places taken for paper
    assert paper == pytest.approx(np.full_like(paper, float(linear_of(np.array(grey_code(96.0))))), rel=0.02)
    assert max(p.spread for p in card.papers) < 0.05


def test_burnt_out_patches_are_called_clipped() -> None:
    pixels, _ = card_photo(A6, Shot(0.0, 0.0, 0.2, rows=900, cols=1200, light=(1.6, 1.6, 1.6)))
    card = find_card(pixels)
    assert card is not None
    clipped = {p.lab[0] for p in card.greys if p.clipped}
    assert clipped == {94.0, 84.0}


def test_paper_places_hold_no_print() -> None:
    from vision.card_patches import paper_rects

    for layout in (A5, A6):
        sheet = draw_card(layout, 10.0)
        for rect in paper_rects(layout):
            part = sheet[
                round(rect.y_mm * 10) : round((rect.y_mm + rect.height_mm) * 10),
                round(rect.x_mm * 10) : round((rect.x_mm + rect.width_mm) * 10),
            ]
            assert (part == grey_code(96.0)).all(), f"{layout.name} {rect}"


@pytest.mark.benchmark
def test_twelve_megapixels_are_searched_quickly() -> None:
    shot = Shot(15.0, 12.0, 0.14, rows=1500, cols=2000)
    homography = pose(shot, A6.width_mm, A6.height_mm)
    small = photograph(linear_of(draw_card(A6, 10.0)), 10.0, homography, shot)
    pixels = cv2.resize(small, (4000, 3000), interpolation=cv2.INTER_LINEAR)
    find_card(pixels)
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        card = find_card(pixels)
        best = min(best, time.perf_counter() - start)
    assert card is not None
    assert best < 0.5, f"{best:.3f} s; about 0.05 s on an idle core"


def test_thresholds_are_settings() -> None:
    pixels, _ = card_photo(A6, Shot(0.0, 0.0, 0.2, rows=900, cols=1200))
    blind = Settings(card=replace(CardSettings(), first_quad_side_fraction=0.9))
    assert find_card(pixels, blind) is None


@pytest.mark.parametrize("shown", [(0, 1), (2, 3), (0, 3), (1, 2)])
def test_another_makers_sheet_with_the_same_markers_is_no_card(shown: tuple[int, int]) -> None:
    """Markers in about our places, but no ramp between them: a scale taken from it would be wrong."""
    pixels = np.full((900, 1200, 3), 225, np.uint8)
    dictionary = cv2.aruco.getPredefinedDictionary(ARUCO_DICTIONARY)
    for marker_id in shown:
        rect = A6.marker_rects()[marker_id]
        x, y = 150 + round(rect.x_mm * 5), 120 + round(rect.y_mm * 5)
        pixels[y : y + 90, x : x + 90] = cv2.aruco.generateImageMarker(dictionary, marker_id, 90)[..., None]
    pixels[150:600, 280:760] = (90, 60, 45)
    assert find_card(pixels) is None


@pytest.mark.parametrize("covered", ["upper", "lower"])
def test_one_ramp_is_enough(covered: str) -> None:
    pixels, truth = card_photo(A6, Shot(5.0, 10.0, 0.2, rows=900, cols=1200))
    y = (0.0, 45.0) if covered == "upper" else (60.0, A6.height_mm)
    corners = np.array([[[0.0, y[0]], [A6.width_mm, y[0]], [A6.width_mm, y[1]], [0.0, y[1]]]])
    place = cv2.perspectiveTransform(corners, truth)
    cv2.fillConvexPoly(pixels, np.rint(place[0]).astype(np.int32), (60, 110, 90))
    card = find_card(pixels)
    assert card is not None
    assert card.flags == (Flag.CARD_PARTLY_SEEN,)


SHEETS = Path(__file__).parents[3] / "shared" / "data" / "colour-chart-phone-photos"


@pytest.mark.skipif(not SHEETS.is_dir(), reason="the shared photos are not beside the repository")
@pytest.mark.parametrize("path", sorted(SHEETS.glob("color_checker_*.jpg")), ids=lambda p: p.name)
def test_foreign_marker_sheets_give_no_scale(path: Path) -> None:
    """Real sheets with four markers of the same kind and other distances."""
    assert find_card(load_photo(path).pixels) is None
