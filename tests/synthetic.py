"""Drawn photos with known truth: tiles on a table, a card, labels, marks, blur, tilt and uneven light.

Everything is drawn flat in millimetres and looked at through one homography, so sizes, corners and
colours are known exactly. It is a drawing, not a render: no side faces, no reflections of a room.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card_drawing import draw_card
from vision.card_layout import CardLayout

Point = tuple[float, float]


def lab_to_srgb8(lab: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Write CIELAB (D65) as 8-bit sRGB by the formulae of ISO/CIE 11664-4 and IEC 61966-2-1."""
    lab = np.asarray(lab, dtype=np.float32)
    fy = (lab[..., 0] + 16.0) / 116.0
    f = np.stack([fy + lab[..., 1] / 500.0, fy, fy - lab[..., 2] / 200.0], axis=-1)
    xyz = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * np.float32([0.95047, 1.0, 1.08883])
    m = np.array(
        [
            [3.2404542, -1.5371385, -0.4985314],
            [-0.9692660, 1.8760108, 0.0415560],
            [0.0556434, -0.2040259, 1.0572252],
        ],
        dtype=np.float32,
    )
    rgb = np.clip(xyz @ m.T, 0.0, 1.0)
    code = np.where(rgb <= 0.0031308, 12.92 * rgb, 1.055 * rgb ** (1 / 2.4) - 0.055)
    return np.asarray(np.rint(code * 255.0), dtype=np.uint8)


@dataclass(frozen=True)
class Spot:
    """A round mark on a tile, millimetres from the tile's top left; `lab` is its colour."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    lab: tuple[float, float, float] = (20.0, 2.0, 4.0)


@dataclass(frozen=True)
class DrawnTile:
    """One tile: centre and turn on the table, size, glaze above the glaze line, bare clay below it."""

    x_mm: float
    y_mm: float
    width_mm: float = 50.0
    height_mm: float = 90.0
    turn_deg: float = 0.0
    glaze_lab: tuple[float, float, float] = (55.0, -12.0, -18.0)
    body_lab: tuple[float, float, float] = (80.0, 3.0, 14.0)
    bare_mm: float = 15.0
    variegation: float = 1.5
    spots: tuple[Spot, ...] = ()
    glint: bool = False
    label: str | None = None

    def corners_mm(self) -> NDArray[np.float64]:
        """Give the four corners on the table, clockwise from the tile's own top left."""
        w, h = self.width_mm / 2, self.height_mm / 2
        a = np.deg2rad(self.turn_deg)
        turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        corners = np.array([[-w, -h], [w, -h], [w, h], [-w, h]]) @ turn.T
        return np.asarray(corners + np.array([self.x_mm, self.y_mm]), dtype=np.float64)


@dataclass(frozen=True)
class Scene:
    """All that a drawn photo shows and how it is looked at."""

    tiles: tuple[DrawnTile, ...] = ()
    rows: int = 1200
    cols: int = 1600
    mm_per_px: float = 0.18
    table: str = "wood"
    card: CardLayout | None = None
    card_at_mm: Point = (12.0, 12.0)
    tilt_deg: float = 0.0
    turn_deg: float = 0.0
    blur_px: float = 0.6
    noise_sd: float = 1.5
    unevenness: float = 0.0
    light_rgb: tuple[float, float, float] = (1.0, 1.0, 1.0)
    exposure: float = 1.0
    seed: int = 1


@dataclass(frozen=True)
class DrawnPhoto:
    """The picture and its truth; `homography` takes table millimetres to photo pixels."""

    pixels: NDArray[np.uint8]
    homography: NDArray[np.float64]
    corners_px: tuple[NDArray[np.float64], ...] = field(default=())
    card_corners_px: NDArray[np.float64] | None = None


def _noise(
    rng: np.random.Generator, shape: tuple[int, int], size: float, stretch: float = 1.0
) -> NDArray[np.float32]:
    small = rng.normal(
        size=(max(2, round(shape[0] / size)), max(2, round(shape[1] / (size * stretch))))
    ).astype(np.float32)
    return cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)


def _table(
    kind: str, shape: tuple[int, int], px_per_mm: float, rng: np.random.Generator
) -> NDArray[np.float64]:
    lab = np.empty((*shape, 3), dtype=np.float32)
    if kind == "wood":
        grain = _noise(rng, shape, 0.8 * px_per_mm, 40.0) + _noise(rng, shape, 8 * px_per_mm, 20.0)
        lab[:] = (58.0, 11.0, 26.0)
        lab[..., 0] += 3.5 * grain
        lab[..., 2] += 1.5 * grain
    elif kind == "slate":
        lab[:] = (32.0, -1.0, -3.0)
        lab[..., 0] += 2.0 * _noise(rng, shape, 4 * px_per_mm) + 1.5 * _noise(rng, shape, 0.7 * px_per_mm)
    elif kind == "cloth":
        y, x = np.mgrid[: shape[0], : shape[1]]
        lab[:] = (70.0, -4.0, 6.0)
        lab[..., 0] += 3.0 * np.sin(2 * np.pi * x / px_per_mm) * np.sin(2 * np.pi * y / px_per_mm)
        lab[..., 0] += 1.5 * _noise(rng, shape, 12 * px_per_mm)
    elif kind == "newsprint":
        lab[:] = (82.0, 0.5, 4.0)
        step = 4.0 * px_per_mm
        for top in np.arange(step, shape[0] - step, step):
            for left in np.arange(step, shape[1] - step, 2.2 * px_per_mm):
                if rng.random() < 0.8:
                    r, c = int(top), int(left)
                    h, w = int(rng.uniform(1.2, 2.2) * px_per_mm), int(rng.uniform(0.6, 1.8) * px_per_mm)
                    lab[r : r + h, c : c + w] = (38.0, 0.0, 1.0)
    elif kind == "paper":
        lab[:] = (92.0, 0.0, 1.5)
    else:
        raise ValueError(f"no such table: {kind}")
    return lab


def _draw_tile(
    lab: NDArray[np.float64], tile: DrawnTile, px_per_mm: float, origin: Point, rng: np.random.Generator
) -> None:
    shape = (round(tile.height_mm * px_per_mm), round(tile.width_mm * px_per_mm))
    face = np.empty((*shape, 3), dtype=np.float32)
    face[:] = tile.glaze_lab
    face[..., 0] += tile.variegation * _noise(rng, shape, 3 * px_per_mm)
    line = round((tile.height_mm - tile.bare_mm) * px_per_mm)
    if tile.bare_mm > 0:
        face[line:] = tile.body_lab
        face[line:, :, 0] += 0.8 * _noise(rng, face[line:].shape[:2], 0.3 * px_per_mm)
    for spot in tile.spots:
        y, x = np.ogrid[: shape[0], : shape[1]]
        r = np.hypot(x - spot.x_mm * px_per_mm, y - spot.y_mm * px_per_mm)
        face[r <= spot.diameter_mm / 2 * px_per_mm] = spot.lab
    if tile.glint:
        y, x = np.ogrid[: shape[0], : shape[1]]
        inside = (np.abs(x - shape[1] * 0.4) < shape[1] * 0.12) & (
            np.abs(y - shape[0] * 0.3) < shape[0] * 0.08
        )
        face[inside] = (99.0, 0.0, 0.0)
    corners = (tile.corners_mm() - np.array(origin)) * px_per_mm
    to_table = cv2.getAffineTransform(
        np.array([[-0.5, -0.5], [shape[1] - 0.5, -0.5], [-0.5, shape[0] - 0.5]], np.float32),
        (corners[[0, 1, 3]] - 0.5).astype(np.float32),
    )
    size = (lab.shape[1], lab.shape[0])
    cover = cv2.warpAffine(np.ones(shape, np.float32), to_table, size)[..., None]
    warped = cv2.warpAffine(face, to_table, size, borderMode=cv2.BORDER_REPLICATE)
    lab[:] = lab * (1 - cover) + warped * cover


def _homography(scene: Scene) -> NDArray[np.float64]:
    """Table millimetres to photo pixels: a pinhole camera over the frame's middle, tilted and turned."""
    w, h = scene.cols * scene.mm_per_px, scene.rows * scene.mm_per_px
    focal = 1.3 * max(scene.rows, scene.cols)
    distance = focal * scene.mm_per_px
    t, a = np.deg2rad(scene.tilt_deg), np.deg2rad(scene.turn_deg)
    tilt = np.array([[1, 0, 0], [0, np.cos(t), -np.sin(t)], [0, np.sin(t), np.cos(t)]])
    turn = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    plane = (tilt @ turn) @ np.array([[1, 0, -w / 2], [0, 1, -h / 2], [0, 0, 0]])
    plane[2, 2] += distance
    camera = np.array([[focal, 0, (scene.cols - 1) / 2], [0, focal, (scene.rows - 1) / 2], [0, 0, 1]])
    matrix = camera @ plane
    return np.asarray(matrix / matrix[2, 2], dtype=np.float64)


def project(homography: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Take (n, 2) points through a homography."""
    return np.asarray(cv2.perspectiveTransform(points.reshape(1, -1, 2), homography)[0], dtype=np.float64)


def draw_photo(scene: Scene) -> DrawnPhoto:
    """Draw the scene as its camera sees it."""
    rng = np.random.default_rng(scene.seed)
    px_per_mm = 1.0 / scene.mm_per_px
    matrix = _homography(scene)
    frame = np.array([[0, 0], [scene.cols, 0], [scene.cols, scene.rows], [0, scene.rows]], dtype=np.float64)
    seen_mm = project(np.linalg.inv(matrix), frame)
    low, high = seen_mm.min(axis=0) - 3.0, seen_mm.max(axis=0) + 3.0
    origin = (float(low[0]), float(low[1]))
    shape = (round((high[1] - low[1]) * px_per_mm), round((high[0] - low[0]) * px_per_mm))
    lab = _table(scene.table, shape, px_per_mm, rng)
    for tile in scene.tiles:
        _draw_tile(lab, tile, px_per_mm, origin, rng)
    board = lab_to_srgb8(lab)
    card_corners = None
    for tile in scene.tiles:
        if tile.label is not None:
            _draw_label(board, tile, px_per_mm, origin)
    if scene.card is not None:
        card = draw_card(scene.card, max(8.0, px_per_mm))
        left, top = scene.card_at_mm
        corners = np.array(
            [
                [left, top],
                [left + scene.card.width_mm, top],
                [left + scene.card.width_mm, top + scene.card.height_mm],
                [left, top + scene.card.height_mm],
            ]
        )
        card = cv2.resize(
            card,
            (round(scene.card.width_mm * px_per_mm), round(scene.card.height_mm * px_per_mm)),
            interpolation=cv2.INTER_AREA,
        )
        _paste(board, card, (left - origin[0]) * px_per_mm, (top - origin[1]) * px_per_mm)
        card_corners = corners
    to_board = np.array(
        [
            [1 / px_per_mm, 0, origin[0] + 0.5 / px_per_mm],
            [0, 1 / px_per_mm, origin[1] + 0.5 / px_per_mm],
            [0, 0, 1],
        ]
    )
    linear = (board.astype(np.float32) / 255.0) ** np.float32(2.2)
    seen = cv2.warpPerspective(linear, matrix @ to_board, (scene.cols, scene.rows), flags=cv2.INTER_LINEAR)
    if scene.unevenness:
        fall = np.linspace(1 + scene.unevenness / 2, 1 - scene.unevenness / 2, scene.cols, dtype=np.float32)
        seen *= fall[None, :, None]
    seen *= np.float32(scene.exposure) * np.array(scene.light_rgb, dtype=np.float32)
    if scene.blur_px > 0:
        seen = cv2.GaussianBlur(seen, (0, 0), scene.blur_px)
    code = 255.0 * np.clip(seen, 0, 1) ** np.float32(1 / 2.2)
    code += rng.normal(scale=max(scene.noise_sd, 1e-6), size=code.shape).astype(np.float32)
    pixels = np.clip(np.rint(code), 0, 255).astype(np.uint8)
    return DrawnPhoto(
        pixels=pixels,
        homography=matrix,
        corners_px=tuple(project(matrix, t.corners_mm()) for t in scene.tiles),
        card_corners_px=None if card_corners is None else project(matrix, card_corners),
    )


def _paste(board: NDArray[np.uint8], picture: NDArray[np.uint8], left: float, top: float) -> None:
    """Lay a picture on the board where it lies inside it, at whole pixels."""
    c, r = round(left), round(top)
    c0, r0 = max(c, 0), max(r, 0)
    c1, r1 = min(c + picture.shape[1], board.shape[1]), min(r + picture.shape[0], board.shape[0])
    if c1 > c0 and r1 > r0:
        board[r0:r1, c0:c1] = picture[r0 - r : r1 - r, c0 - c : c1 - c]


def _draw_label(board: NDArray[np.uint8], tile: DrawnTile, px_per_mm: float, origin: Point) -> None:
    """Lay a printed strip, a QR code and the code in print, below the tile."""
    import segno

    modules = np.array(list(segno.make(tile.label, error="m", micro=False).matrix), dtype=np.uint8)
    side_mm, strip = 14.0, (18.0, 42.0)
    code = cv2.resize(
        np.where(modules > 0, 30, 235).astype(np.uint8),
        (round(side_mm * px_per_mm), round(side_mm * px_per_mm)),
        interpolation=cv2.INTER_NEAREST,
    )
    paper = np.full((round(strip[0] * px_per_mm), round(strip[1] * px_per_mm)), 235, dtype=np.uint8)
    edge = round(2.0 * px_per_mm)
    paper[edge : edge + code.shape[0], edge : edge + code.shape[1]] = code
    cv2.putText(
        paper,
        tile.label or "",
        (edge + code.shape[1] + edge, round(11 * px_per_mm)),
        cv2.FONT_HERSHEY_SIMPLEX,
        px_per_mm * 0.1,
        30,
        max(1, round(px_per_mm * 0.3)),
        cv2.LINE_AA,
    )
    left = tile.x_mm - strip[1] / 2
    top = float(tile.corners_mm()[:, 1].max()) + 5.0
    strip_px = np.repeat(paper[..., None], 3, axis=2)
    _paste(board, strip_px, (left - origin[0]) * px_per_mm, (top - origin[1]) * px_per_mm)


def polygon_iou(a: NDArray[np.float64], b: NDArray[np.float64], shape: tuple[int, int]) -> float:
    """Intersection over union of two polygons, counted on a grid of the photo's pixels."""
    masks = []
    for points in (a, b):
        mask = np.zeros(shape, np.uint8)
        cv2.fillPoly(mask, [np.rint(np.asarray(points) * 16).astype(np.int32)], 1, shift=4)
        masks.append(mask.astype(bool))
    union = float((masks[0] | masks[1]).sum())
    return float((masks[0] & masks[1]).sum()) / union if union else 0.0
