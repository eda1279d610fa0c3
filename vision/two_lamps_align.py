"""Lay a second photo of the same tiles over the first, whatever the lamp did in between.

First the whole photos: by the card where both show it, else by points that match (SIFT: Lowe 2004). Then each
straightened piece to a fraction of a pixel, by the correlation of slope pictures (ECC: Evangelidis & Psarakis
2008). The size of a slope stays where it is when the lamp moves over, while its sign may turn.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card import FoundCard
from vision.settings import TwoLampSettings
from vision.surface import BoolMask, ByteImage, FloatImage

__all__ = ["Guesses", "LaidOver", "guess_places", "lay_over", "shared_detail"]

Matrix = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class LaidOver:
    """How one piece of the first photo is found again in the second.

    Attributes
    ----------
    image : (rows, cols, 3) uint8 sRGB, the second photo in the pixels of the first one's view
    seen : (rows, cols) bool, False where the second photo ends
    to_second : (3, 3) homography from view pixels to pixels of the second photo
    alike : correlation of both slope pictures, -1..1
    """

    image: ByteImage
    seen: BoolMask
    to_second: Matrix
    alike: float


@dataclass(frozen=True, slots=True, eq=False)
class Guesses:
    """Where the first photo's pixels may lie in the second.

    Attributes
    ----------
    places : homographies (3, 3) from pixels of the first to pixels of the second
    still : True where the camera did not move between the photos, so that nothing is left to refine
    """

    places: tuple[Matrix, ...]
    still: bool


def guess_places(
    first: ByteImage,
    second: ByteImage,
    first_card: FoundCard | None,
    second_card: FoundCard | None,
    settings: TwoLampSettings,
) -> Guesses:
    """Guess where the first photo's pixels lie in the second.

    Parameters
    ----------
    first, second : (rows, cols, 3) uint8 sRGB
    first_card, second_card : the card in each, None where it was not found
    settings : `TwoLampSettings`

    Returns
    -------
    By the card, by matching points, and unmoved where both photos have one size. The best is told by laying a
    piece over.
    """
    guesses = []
    if (
        first_card is not None
        and second_card is not None
        and first_card.layout.name == second_card.layout.name
    ):
        guesses.append(np.linalg.inv(second_card.to_mm) @ first_card.to_mm)
    matched = _match_points(first, second, settings)
    if matched is not None:
        guesses.append(matched)
    if first.shape == second.shape:
        rows, cols = first.shape[:2]
        corners = np.array([[[0.0, 0], [cols, 0], [cols, rows], [0, rows]]])
        still_px = settings.still_share * max(rows, cols)
        moves = [float(np.abs(cv2.perspectiveTransform(corners, g) - corners).max()) for g in guesses]
        if any(move < still_px for move in moves):
            return Guesses((np.eye(3),), True)
        guesses.append(np.eye(3))
    return Guesses(tuple(np.asarray(guess / guess[2, 2], np.float64) for guess in guesses), False)


def _small(pixels: ByteImage, long_side_px: int) -> tuple[ByteImage, float]:
    """Give a grey picture with its light evened, and its scale."""
    scale = min(1.0, long_side_px / max(pixels.shape[:2]))
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    if scale < 1:
        grey = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.createCLAHE(2.0, (8, 8)).apply(grey), np.uint8), scale


def _match_points(first: ByteImage, second: ByteImage, settings: TwoLampSettings) -> Matrix | None:
    """Match points of both photos; None where too few agree on one plane."""
    finder = cv2.SIFT.create(nfeatures=settings.most_points)
    (grey_a, scale_a), (grey_b, scale_b) = (_small(p, settings.match_long_side_px) for p in (first, second))
    points_a, marks_a = finder.detectAndCompute(grey_a, None)
    points_b, marks_b = finder.detectAndCompute(grey_b, None)
    if marks_a is None or marks_b is None or min(len(points_a), len(points_b)) < settings.least_agreeing:
        return None
    pairs = cv2.BFMatcher(cv2.NORM_L2).knnMatch(marks_a, marks_b, k=2)
    good = [p[0] for p in pairs if len(p) == 2 and p[0].distance < settings.match_ratio * p[1].distance]
    if len(good) < settings.least_agreeing:
        return None
    here = np.array([points_a[m.queryIdx].pt for m in good], np.float64)
    there = np.array([points_b[m.trainIdx].pt for m in good], np.float64)
    cv2.setRNGSeed(7)
    found, agree = cv2.findHomography(here, there, cv2.RANSAC, settings.ransac_px)
    if found is None or int(agree.sum()) < settings.least_agreeing:
        return None
    return np.asarray(np.diag([1 / scale_b, 1 / scale_b, 1]) @ found @ np.diag([scale_a, scale_a, 1]))


def _slopes(image: ByteImage, settings: TwoLampSettings) -> FloatImage:
    """Give the size of the slope of the logarithm of light, 0..1; grain is cut off, edges held down."""
    grey = cv2.cvtColor(image, cv2.COLOR_RGB2GRAY).astype(np.float32)
    light = cv2.GaussianBlur(np.log(grey + 8.0), (0, 0), settings.detail_px)
    slope = cv2.magnitude(cv2.Sobel(light, cv2.CV_32F, 1, 0), cv2.Sobel(light, cv2.CV_32F, 0, 1))
    floor, cap = (float(v) for v in np.percentile(slope, (60, 97)))
    return np.asarray(np.clip((slope - floor) / max(cap - floor, 1e-6), 0, 1), np.float32)


def _view_of(pixels: ByteImage, to_photo: Matrix, size: tuple[int, int]) -> ByteImage:
    """Look a view up in a photo, shrinking by area first where it is much coarser than the photo."""
    middle = np.array([[[size[0] / 2, size[1] / 2], [size[0] / 2 + 1, size[1] / 2]]])
    step = float(np.hypot(*np.diff(cv2.perspectiveTransform(middle, to_photo)[0], axis=0)[0]))
    if step > 1.5:
        corners = np.array([[[0.0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]]])
        there = cv2.perspectiveTransform(corners, to_photo)[0]
        low = np.clip(np.floor(there.min(axis=0)) - 4, 0, None).astype(int)
        high = np.minimum(np.ceil(there.max(axis=0)).astype(int) + 5, pixels.shape[1::-1])
        if (high - low < 2).any():
            return np.zeros((size[1], size[0], 3), np.uint8)
        crop = pixels[low[1] : high[1], low[0] : high[0]]
        small = (max(2, round(crop.shape[1] / step)), max(2, round(crop.shape[0] / step)))
        fx, fy = small[0] / crop.shape[1], small[1] / crop.shape[0]
        pixels = np.asarray(cv2.resize(crop, small, interpolation=cv2.INTER_AREA), np.uint8)
        shrink = np.array([[fx, 0, 0.5 * fx - 0.5], [0, fy, 0.5 * fy - 0.5], [0, 0, 1.0]])
        to_photo = shrink @ np.array([[1.0, 0, -low[0]], [0, 1.0, -low[1]], [0, 0, 1.0]]) @ to_photo
    found = cv2.warpPerspective(
        pixels, to_photo, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(found, np.uint8)


def lay_over(
    first: ByteImage,
    second: ByteImage,
    to_photo: Matrix,
    piece: BoolMask,
    guesses: Guesses,
    settings: TwoLampSettings,
) -> LaidOver | None:
    """Find a piece of the first photo in the second and bring it into the same pixels.

    Parameters
    ----------
    first, second : (rows, cols, 3) uint8 sRGB, the photos
    to_photo : (3, 3) homography, view pixels to pixels of the first photo
    piece : (rows, cols) bool, True on the piece in the view
    guesses : from `guess_places`
    settings : `TwoLampSettings`

    Returns
    -------
    The second photo's view and how alike it is, however little; None without any guess.
    """
    rows, cols = piece.shape
    scale = min(1.0, settings.refine_long_side_px / max(rows, cols))
    pad = settings.border * max(rows, cols)
    size = (round((cols + 2 * pad) * scale), round((rows + 2 * pad) * scale))
    to_view = np.array([[1 / scale, 0, -pad], [0, 1 / scale, -pad], [0, 0, 1.0]])
    template = _slopes(_view_of(first, to_photo @ to_view, size), settings)
    where = cv2.warpAffine(
        piece.astype(np.uint8) * 255, to_view[:2], size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    )
    reach = 2 * round(settings.rim_px) + 1
    where = cv2.dilate(
        where, np.ones((reach, reach), np.uint8)
    )  # shadows beside the piece move with the lamp
    where8 = np.asarray(where, np.uint8)
    best: tuple[float, float, Matrix] | None = None
    for guess in guesses.places:
        there = _slopes(_view_of(second, guess @ to_photo @ to_view, size), settings)
        found = (_likeness(template, there, where8), np.eye(3))
        finer = None
        if not guesses.still and found[0] < settings.alike_enough:
            finer = _refine(template, there, where8, settings)
        if finer is not None and finer[0] > found[0] + settings.worth_refining:
            found = finer
        worth = found[0] - settings.worth_refining * (found is finer)
        if best is None or worth > best[0]:
            # template pixel -> pixel of the guessed view -> photo
            best = (worth, found[0], guess @ to_photo @ to_view @ found[1] @ np.linalg.inv(to_view))
    if best is None:
        return None
    _, alike, to_second = best
    high, wide = second.shape[:2]
    inside = cv2.warpPerspective(
        np.full((high, wide), 255, np.uint8), to_second, (cols, rows), flags=cv2.WARP_INVERSE_MAP
    )
    image = _view_of(second, to_second, (cols, rows))
    return LaidOver(image, np.asarray(inside > 127, np.bool_), to_second / to_second[2, 2], alike)


def shared_detail(
    first: ByteImage, second: ByteImage, blocks: tuple[int, int], settings: TwoLampSettings
) -> float:
    """Give the share of a view's blocks, 0..1, whose slope pictures correlate by `settings.least_alike`.

    Parameters
    ----------
    first, second : (rows, cols, 3) uint8 sRGB, laid over
    blocks : how many down and across; what two tiles share, such as a glaze line, fills few of them
    """
    slopes = [_slopes(image, settings) for image in (first, second)]
    alike = [
        _likeness(one, other, np.ones(one.shape, np.uint8)) >= settings.least_alike
        for rows in zip(*(np.array_split(each, blocks[0], 0) for each in slopes), strict=True)
        for one, other in zip(*(np.array_split(each, blocks[1], 1) for each in rows), strict=True)
    ]
    return float(np.mean(alike))


def _likeness(one: FloatImage, other: FloatImage, where: ByteImage) -> float:
    """Correlate two pictures where `where` is not 0."""
    a, b = one[where > 0], other[where > 0]
    a, b = a - a.mean(), b - b.mean()
    return float((a * b).sum() / max(float(np.sqrt((a * a).sum() * (b * b).sum())), 1e-9))


def _refine(
    template: FloatImage, there: FloatImage, where: ByteImage, settings: TwoLampSettings
) -> tuple[float, Matrix] | None:
    """Give the correlation and the small warp, pixels of the template to pixels of `there`.

    The rim brings a plain piece near; the face alone then has the word where it bears enough detail, because
    a rounded rim is bright on the lamp's side and so seems to move with it.
    """
    warp = np.hstack([np.eye(2), np.array(_shift(template, there))[:, None]]).astype(np.float32)
    reach = 2 * round(settings.inner_share * max(template.shape)) + 1
    face = np.asarray(cv2.erode(where, np.ones((reach, reach), np.uint8), borderValue=0), np.uint8)
    near = _settle(template, there, warp, where, settings)
    if near is None:
        return None
    alike, warp = near
    inner = _settle(template, there, warp, face, settings)
    if (
        inner is not None
        and inner[0] >= settings.least_alike
        and _most_off(inner[1], warp, template.shape) < settings.inner_reach_px
    ):
        alike, warp = inner
    start = np.eye(2, 3, dtype=np.float32)
    if _most_off(warp, start, template.shape) > settings.most_shift * max(template.shape):
        return None
    return alike, np.vstack([warp.astype(np.float64), [[0.0, 0.0, 1.0]]])


def _settle(
    template: FloatImage, there: FloatImage, warp: FloatImage, where: ByteImage, settings: TwoLampSettings
) -> tuple[float, FloatImage] | None:
    """Shift, and turn and stretch too where that makes the pictures clearly more alike."""
    shifted = _climb(template, there, warp, cv2.MOTION_TRANSLATION, where, settings)
    if shifted is None:
        return None
    bent = _climb(template, there, shifted[1], cv2.MOTION_AFFINE, where, settings)
    return bent if bent is not None and bent[0] > shifted[0] + settings.worth_bending else shifted


def _climb(
    template: FloatImage,
    there: FloatImage,
    warp: FloatImage,
    kind: int,
    where: ByteImage,
    settings: TwoLampSettings,
) -> tuple[float, FloatImage] | None:
    """Climb the correlation from a (2, 3) warp; None where there is none to climb."""
    rule = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, settings.refine_steps, settings.refine_gain)
    try:
        alike, moved = cv2.findTransformECC(template, there, warp.copy(), kind, rule, where, 5)
    except cv2.error:
        return None
    return float(alike), np.asarray(moved, np.float32)


def _most_off(one: FloatImage, other: FloatImage, shape: tuple[int, ...]) -> float:
    """Give how far two warps put a corner apart, pixels."""
    rows, cols = shape[:2]
    corners = np.array([[0, 0, 1], [cols, 0, 1], [cols, rows, 1], [0, rows, 1]], np.float32)
    return float(np.abs(corners @ (one - other).T).max())


def _shift(template: FloatImage, there: FloatImage) -> tuple[float, float]:
    """Give the shift that brings most slopes together (phase correlation)."""
    window = cv2.createHanningWindow(template.shape[::-1], cv2.CV_32F)
    (x, y), _ = cv2.phaseCorrelate(template - template.mean(), there - there.mean(), window)
    return float(x), float(y)
