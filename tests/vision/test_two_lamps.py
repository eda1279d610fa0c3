"""Two photos of the same pieces, the lamp on one side, then on the other, make one reading.

The truth is drawn: known shifts, the inverse square law, Lambert's cosine law (diffuse light is the cosine of
the angle between the surface's normal and the lamp), and a mirror's spot that is where the lamp puts it.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.synthetic import DrawnTile, Scene, Spot, draw_photo, project
from vision.colour import delta_e_00, srgb8_to_lab
from vision.errors import PairMismatchError
from vision.photo import Photo
from vision.reading import TWO_LAMPS_METHOD, CalibrationKind, Flag, Subject
from vision.settings import Settings
from vision.surface import Surface
from vision.two_lamps import read_pair
from vision.two_lamps_align import guess_places, lay_over
from vision.two_lamps_alike import likely_pair
from vision.two_lamps_light import join_views, lamp_side

SETTINGS = Settings()
SPOTS = tuple(Spot(8.0 + 7 * (i % 6), 9.0 + 11 * (i // 6), 1.0 + 0.2 * i) for i in range(24))
TILE = DrawnTile(60.0, 62.0, 50.0, 90.0, 4.0, spots=SPOTS)
SCENE = Scene((TILE,), rows=720, cols=860, mm_per_px=0.15, table="cloth", unevenness=0.5)


def photo(pixels: np.ndarray, name: str) -> Photo:
    return Photo(pixels, name, f"digest of {name}", (), None)


@pytest.fixture(scope="module")
def left() -> np.ndarray:
    return draw_photo(SCENE).pixels


@pytest.mark.parametrize(
    ("shift", "turn_deg", "size"),
    [((0.0, 0.0), 0.0, 1.0), ((9.0, -6.0), 1.2, 1.0), ((-14.0, 5.0), -0.8, 1.02)],
)
def test_a_moved_photo_is_laid_over_to_a_fraction_of_a_pixel(
    left: np.ndarray, shift: tuple[float, float], turn_deg: float, size: float
) -> None:
    truth = np.vstack([cv2.getRotationMatrix2D((430, 360), turn_deg, size), [0, 0, 1]])
    truth[:2, 2] += shift
    other = draw_photo(replace(SCENE, unevenness=-0.5)).pixels  # the same board lit from the other side
    moved = cv2.warpPerspective(
        other, truth, (860, 720), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT
    )
    corners = draw_photo(SCENE).corners_px[0]
    target = np.array([[0, 0], [333, 0], [333, 600], [0, 600]], np.float32)
    to_photo = np.linalg.inv(cv2.getPerspectiveTransform(corners.astype(np.float32), target))
    guesses = guess_places(left, moved, None, None, SETTINGS.two_lamps)
    laid = lay_over(left, moved, to_photo, np.ones((600, 333), bool), guesses, SETTINGS.two_lamps)
    assert laid is not None
    places = np.array([[20.0, 20], [310, 30], [300, 570], [30, 560], [160, 300]])
    off = project(laid.to_second, places) - project(truth @ to_photo, places)
    print(f"off by {np.hypot(*off.T).max():.2f} px, alike {laid.alike:.2f}, still {guesses.still}")
    assert guesses.still == (shift == (0.0, 0.0))
    assert np.hypot(*off.T).max() < 0.7
    assert laid.alike > SETTINGS.two_lamps.least_alike


def test_other_tiles_are_refused(left: np.ndarray) -> None:
    other = replace(
        SCENE,
        tiles=(DrawnTile(66.0, 48.0, 62.0, 70.0, 31.0, (70.0, 12.0, 30.0), spots=SPOTS[::3]),),
        table="newsprint",
        seed=8,
    )
    with pytest.raises(PairMismatchError) as caught:
        read_pair(photo(left, "a.jpg"), photo(draw_photo(other).pixels, "b.jpg"))
    assert (caught.value.first, caught.value.second) == ("a.jpg", "b.jpg")


def test_one_photo_twice_is_refused(left: np.ndarray) -> None:
    with pytest.raises(PairMismatchError, match="one and the same photo"):
        read_pair(photo(left, "a.jpg"), photo(left, "a.jpg"))


def test_other_labels_are_refused() -> None:
    pixels = [
        draw_photo(replace(SCENE, tiles=(replace(TILE, label=code),), rows=900)).pixels
        for code in ("T-0007", "T-0012")
    ]
    with pytest.raises(PairMismatchError, match=r"T-0007.*T-0012"):
        read_pair(photo(pixels[0], "a.jpg"), photo(pixels[1], "b.jpg"))


def test_a_pair_says_so_and_reads_the_first_photos_places(left: np.ndarray) -> None:
    other = draw_photo(replace(SCENE, unevenness=-0.5, noise_sd=1.4)).pixels
    read = read_pair(photo(left, "a.jpg"), photo(other, "b.jpg"))
    (tile,) = read.reading.tiles
    assert Flag.TWO_PHOTOS in read.reading.flags
    assert Flag.SECOND_PHOTO_UNUSED not in tile.flags
    assert read.reading.beside is not None
    assert read.reading.beside.photo == "b.jpg"
    assert read.reading.method["two_lamps"] == TWO_LAMPS_METHOD
    assert np.abs(np.array(tile.outline_px).mean(0) - draw_photo(SCENE).corners_px[0].mean(0)).max() < 5


@pytest.mark.parametrize("angle_deg", [180.0, 150.0, 0.0, 260.0])
def test_the_lamps_side_is_told_by_the_inverse_square_law(angle_deg: float) -> None:
    """A near lamp lights a plane by the cosine over the squared distance (Lambert 1760, from memory)."""
    rows, cols = 300, 400
    y, x = np.mgrid[0:rows, 0:cols].astype(np.float64)
    rng = np.random.default_rng(3)
    table = 0.25 * np.exp(0.5 * cv2.GaussianBlur(rng.standard_normal((rows, cols)), (0, 0), 4) * 4)
    towards = np.array([np.cos(np.deg2rad(angle_deg)), np.sin(np.deg2rad(angle_deg))])
    photos = []
    for side in (1.0, -1.0):
        at = np.array([cols / 2, rows / 2]) + side * 900 * towards
        away = (x - at[0]) ** 2 + (y - at[1]) ** 2 + 500.0**2
        light = table * (1.06e6 / away) ** 1.5
        code = 255 * np.clip(light, 0, 1) ** (1 / 2.2)
        photos.append(np.repeat(np.rint(code)[..., None], 3, axis=2).astype(np.uint8))
    found = lamp_side(photos[0], photos[1], np.eye(3), SETTINGS.two_lamps)
    assert float(found @ towards) > np.cos(np.deg2rad(8))


def test_without_any_falling_off_the_lamp_is_on_the_left() -> None:
    grey = np.full((200, 300, 3), 120, np.uint8)
    assert lamp_side(grey, grey, np.eye(3), SETTINGS.two_lamps).tolist() == [-1.0, 0.0]


def test_the_colour_under_a_reflection_that_moves_is_the_other_photos() -> None:
    rows, cols = 240, 320
    colour = np.array([0.18, 0.30, 0.42])  # linear
    slope = np.linspace(1.25, 0.8, cols)[None, :, None]
    rng = np.random.default_rng(5)
    surfaces = []
    for number, x in enumerate((100, 220)):
        light = colour * (slope if number == 0 else slope[:, ::-1]) * np.ones((rows, cols, 1))
        spot = np.zeros((rows, cols), np.float32)
        cv2.circle(spot, (x, 120), 26, 0.45, -1)
        light = light + cv2.GaussianBlur(spot, (0, 0), 2)[..., None]
        code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
        image = np.clip(np.rint(255 * code + rng.normal(0, 1, code.shape)), 0, 255).astype(np.uint8)
        whole = np.ones((rows, cols), bool)
        surfaces.append(
            Surface(image, srgb8_to_lab(image), whole, whole, ~whole, ~whole, 0.1, Subject.TILE, 0.7)
        )
    kinds = (CalibrationKind.CARD, CalibrationKind.CARD)
    pair = join_views(surfaces[0], surfaces[1], kinds, np.array([-1, 0], np.float32), 0.9, SETTINGS)
    code = np.where(colour <= 0.0031308, 12.92 * colour, 1.055 * colour ** (1 / 2.4) - 0.055)
    true = srgb8_to_lab(np.rint(255 * code).astype(np.uint8)[None, None])[0, 0]
    for x in (100, 220):
        here = np.s_[105:135, x - 15 : x + 15]
        worst_single = max(float(delta_e_00(s.lab[here].reshape(-1, 3).mean(0), true)) for s in surfaces)
        joined = float(delta_e_00(pair.clear.lab[here].reshape(-1, 3).mean(0), true))
        print(f"at {x}: one photo off by {worst_single:.1f}, both {joined:.2f}")
        assert joined < 2.0 < worst_single
        assert pair.moved[here].mean() > 0.95
        assert pair.clear.glint[here].mean() < 0.05
    assert pair.moved[:, 150:170].mean() < 0.05


def test_a_pair_is_proposed_and_others_are_not(left: np.ndarray) -> None:
    """Drawn truth: one board under two lights is a pair; under one light, or with other specks, none."""
    corners = draw_photo(SCENE).corners_px[0]
    box = (*corners.min(axis=0).tolist(), *corners.max(axis=0).tolist())

    def pair(second: np.ndarray, of: tuple[float, float, float, float] = box) -> bool:
        return likely_pair(left, second, [of], SETTINGS.two_lamps)

    from_right = draw_photo(replace(SCENE, unevenness=-0.5)).pixels
    grain = np.random.default_rng(3).normal(0, 3, left.shape)
    same_light = np.clip(0.9 * left + grain, 0, 255).astype(np.uint8)
    moved = tuple(Spot(46.0 - 6 * (i % 5), 12.0 + 13 * (i // 5), 1.0 + 0.2 * i) for i in range(24))
    other = draw_photo(replace(SCENE, tiles=(replace(TILE, spots=moved),), unevenness=-0.5)).pixels
    assert pair(from_right)
    assert not pair(same_light)
    assert not pair(other)
    assert not pair(from_right, (10.0, 10.0, 50.0, 60.0))  # too small to be told
