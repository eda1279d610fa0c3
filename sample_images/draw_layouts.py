"""Draw flat pictures of benches with a class for every pixel, quickly and with no physics at all.

    python sample_images/draw_layouts.py --split train --count 1500

They widen what the piece finder's net learns from: colours, patterns, shadows and shapes that no renderer
of ours would make, so that the net leans on what all pictures of pieces have in common.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import cv2
import numpy as np
from factory.colour import lab_to_linear
from factory.noise import fractal, smooth_noise
from numpy.typing import NDArray

from vision.piece_net import BACKGROUND, BARE, GLAZED, SUBJECT_STEP, SUBJECTS, WALL
from vision.reading import Subject

SPLITS = {"train": 67, "tune": 71}
"""Split -> seed word."""
SIZE = (600, 800)

Field = NDArray[np.float32]
Points = NDArray[np.float64]


def _colour(rng: np.random.Generator, chroma: float = 22.0) -> NDArray[np.float32]:
    lab = (rng.uniform(8, 95), rng.normal(0, chroma * 0.6), rng.normal(4, chroma))
    return np.clip(np.asarray(lab_to_linear(lab), dtype=np.float32), 0.004, 0.95)


def _pattern(rng: np.random.Generator, shape: tuple[int, int], strength: float) -> Field:
    """Give a tone (rows, cols): clouds, grain, stripes or weave."""
    tone = strength * fractal(rng, shape, float(rng.uniform(8, 160)), 4)
    if rng.random() < 0.4:
        tone = tone + strength * smooth_noise(
            rng, shape, float(rng.uniform(30, 200)), float(rng.uniform(0.6, 4))
        )
    if rng.random() < 0.25:
        y, x = np.mgrid[: shape[0], : shape[1]].astype(np.float32)
        t = rng.uniform(0, np.pi)
        wave = np.sin(
            (np.cos(t) * x + np.sin(t) * y) * 2 * np.pi / rng.uniform(4, 60) + 2 * fractal(rng, shape, 90, 3)
        )
        tone = tone + 2 * strength * wave
    if rng.random() < 0.4:
        tone = tone + strength * 0.6 * rng.standard_normal(shape).astype(np.float32)
    return np.asarray(tone, dtype=np.float32)


def _drawn(points: Points, soft: float = 0.0) -> Field:
    mask = np.zeros(SIZE, np.uint8)
    cv2.fillPoly(mask, [np.rint(points * 16).astype(np.int32)], 255, cv2.LINE_AA, shift=4)
    field = mask.astype(np.float32) / 255
    return np.asarray(cv2.GaussianBlur(field, (0, 0), soft) if soft > 0 else field)


def _table(rng: np.random.Generator) -> Field:
    tone = _pattern(rng, SIZE, float(rng.choice([0.03, 0.1, 0.25])))
    colour = _colour(rng)[None, None] * np.exp(tone)[..., None]
    if rng.random() < 0.2:  # the table's edge, or a second cloth
        t = rng.uniform(0, 2 * np.pi)
        y, x = np.mgrid[: SIZE[0], : SIZE[1]]
        side = np.cos(t) * (x - SIZE[1] / 2) + np.sin(t) * (y - SIZE[0] / 2) > rng.uniform(120, 330)
        other = _colour(rng)[None, None] * np.exp(_pattern(rng, SIZE, 0.08))[..., None]
        colour = np.where(side[..., None], other, colour)
    if rng.random() < 0.25:  # print
        ink = np.zeros(SIZE, np.uint8)
        line = int(rng.integers(9, 26))
        for y in range(line, SIZE[0], line):
            text = "".join(rng.choice(list("aeionrstlcdm  bgh"), 90))
            cv2.putText(
                ink,
                text,
                (int(rng.integers(-40, 0)), y),
                cv2.FONT_HERSHEY_COMPLEX,
                line / 34,
                255,
                1,
                cv2.LINE_AA,
            )
        colour = colour * (1 - 0.85 * ink[..., None].astype(np.float32) / 255)
    return np.asarray(colour, dtype=np.float32)


def _shape(rng: np.random.Generator, wide: float, tall: float) -> Points:
    """Give a closed outline about (0, 0)."""
    kind = str(rng.choice(["rectangle", "oval", "l_shape", "blob", "strip"], p=[0.6, 0.14, 0.1, 0.1, 0.06]))
    if kind == "strip":
        tall *= 1.6
    if kind in ("oval", "blob"):
        t = np.linspace(0, 2 * np.pi, 120, endpoint=False)
        wave = (
            sum(rng.normal(0, 0.05) * np.cos(k * t + rng.uniform(0, 6)) for k in range(2, 6))
            if kind == "blob"
            else 0.0
        )
        power = float(rng.choice([1.0, 0.7, 0.45]))
        x, y = np.cos(t), np.sin(t)
        points = np.column_stack(
            [np.sign(x) * np.abs(x) ** power * wide / 2, np.sign(y) * np.abs(y) ** power * tall / 2]
        )
        return np.asarray(points * (1 + np.reshape(wave, (-1, 1))), dtype=np.float64)
    if kind == "l_shape":
        a, b = rng.uniform(0.35, 0.6, 2)
        shape = [[-0.5, -0.5], [a - 0.5, -0.5], [a - 0.5, b - 0.5], [0.5, b - 0.5], [0.5, 0.5], [-0.5, 0.5]]
    else:
        shape = [[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]
    corners = np.array(shape) * np.array([wide, tall])
    corners = corners * np.array([rng.choice([-1, 1]), rng.choice([-1, 1])])
    corners = corners + rng.normal(0, 0.01, corners.shape) * wide
    radius = float(rng.choice([0.5, 2, 5, 12]))
    ring = []
    for k, corner in enumerate(corners):
        before, after = corners[k - 1] - corner, corners[(k + 1) % len(corners)] - corner
        r = min(radius, 0.4 * min(np.hypot(*before), np.hypot(*after)))
        p, q = corner + before / np.hypot(*before) * r, corner + after / np.hypot(*after) * r
        s = np.linspace(0, 1, 6)[:, None]
        ring.append((1 - s) ** 2 * p + 2 * s * (1 - s) * corner + s**2 * q)
    return np.concatenate(ring)


def _paint_face(
    rng: np.random.Generator, face: Field, outline: Points, wide: float, tall: float, turn: float
) -> tuple[Field, NDArray[np.bool_]]:
    """Give the colours of a piece's face over the whole frame, and where it is glazed."""
    y, x = np.mgrid[: SIZE[0], : SIZE[1]].astype(np.float32)
    centre = outline.mean(axis=0)
    u = (np.cos(turn) * (x - centre[0]) + np.sin(turn) * (y - centre[1])) / wide
    v = (-np.sin(turn) * (x - centre[0]) + np.cos(turn) * (y - centre[1])) / tall
    glaze = (
        _colour(rng, 26)[None, None]
        * np.exp(_pattern(rng, SIZE, float(rng.choice([0.02, 0.07, 0.18]))))[..., None]
    )
    if rng.random() < 0.5:
        mix = np.clip(v * rng.uniform(-1.5, 1.5) + 0.5, 0, 1)[..., None]
        glaze = glaze * (1 - mix) + _colour(rng, 26)[None, None] * mix
    if rng.random() < 0.35:  # coats, stripes
        band = (v > rng.uniform(-0.4, 0.4)).astype(np.float32)[..., None]
        glaze = glaze * (1 - band) + (glaze * rng.uniform(0.4, 1.4) + 0.15 * _colour(rng)) * band
    for _ in range(int(rng.choice([0, 0, 8, 40]))):
        p = (
            outline[int(rng.integers(len(outline)))] * 0.3
            + centre * 0.7
            + rng.normal(0, 0.25, 2) * (wide, tall)
        )
        dot = np.zeros(SIZE, np.uint8)
        cv2.circle(dot, (int(p[0]), int(p[1])), int(rng.integers(1, 5)), 255, -1, cv2.LINE_AA)
        glaze = glaze * (1 - dot[..., None] / np.float32(255) * 0.9) + 0.9 * dot[..., None] / np.float32(
            255
        ) * rng.uniform(0, 0.4)
    clay = _colour(rng, 10)[None, None] * np.exp(_pattern(rng, SIZE, 0.06))[..., None]
    bare = np.zeros(SIZE, np.bool_)
    if rng.random() < 0.75:
        end, axis = rng.choice([-1, 1]), (v if rng.random() < 0.85 else u)
        border = 0.5 - rng.uniform(0.06, 0.34) + 0.025 * smooth_noise(rng, SIZE, float(rng.uniform(6, 40)))
        bare = np.asarray(axis * end > border, dtype=np.bool_)
        depth = np.clip((border - axis * end) * tall / 6, 0, 1)[..., None]
        glaze = glaze * (0.75 + 0.25 * depth) if rng.random() < 0.5 else glaze
    soft = cv2.GaussianBlur(bare.astype(np.float32), (0, 0), 0.7)[..., None]
    colour = glaze * (1 - soft) + clay * soft
    for _ in range(int(rng.choice([0, 1, 2, 4]))):  # reflections: window panes, lamps, veils
        at = centre + rng.normal(0, 0.3, 2) * (wide, tall)
        size = rng.uniform(0.03, 0.5, 2) * wide
        pane = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * size / 2
        t = rng.uniform(0, np.pi)
        pane = pane @ np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]]) + at
        shine = _drawn(pane, float(rng.choice([0.6, 2, 8, 25])))[..., None] * (1 - soft)
        colour = colour + shine * float(rng.uniform(0.05, 1.2)) * np.exp(rng.normal(0, 0.1, 3)).astype(
            np.float32
        )
    return np.asarray(colour, dtype=np.float32), np.asarray((face > 0.5) & ~bare, dtype=np.bool_)


def _paper(rng: np.random.Generator, at: Points, wide: float) -> tuple[Field, Field]:
    """Draw a card, chart or label: its mask and colours."""
    tall = wide * float(rng.uniform(0.3, 0.8))
    sheet = np.full((96, 144, 3), 255, np.uint8)
    if rng.random() < 0.35:
        sheet[:] = 25
        for r in range(4):
            for c in range(6):
                tint = rng.integers(10, 245, 3).tolist()
                cv2.rectangle(sheet, (c * 23 + 5, r * 22 + 5), (c * 23 + 22, r * 22 + 21), tint, -1)
    else:
        sheet[:] = int(rng.integers(190, 256))
        for c in range(int(rng.integers(0, 9))):
            cv2.rectangle(sheet, (30 + c * 10, 8), (40 + c * 10, 22), (c * 28,) * 3, -1)
        for corner in ((6, 6), (120, 6), (6, 72), (120, 72)):
            if rng.random() < 0.8:
                cell = rng.integers(0, 2, (6, 6, 1)).astype(np.uint8).repeat(3, 2) * 255
                sheet[corner[1] : corner[1] + 18, corner[0] : corner[0] + 18] = cv2.resize(
                    cell, (18, 18), interpolation=cv2.INTER_NEAREST
                )
    turn = rng.normal(0, 0.15)
    box = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (wide / 2, tall / 2)
    box = box @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + at
    corners = np.array([[0, 0], [144, 0], [144, 96], [0, 96]], np.float32)
    matrix = cv2.getPerspectiveTransform(corners, box.astype(np.float32))
    mask = _drawn(box)
    seen = cv2.warpPerspective(sheet, matrix, SIZE[::-1], flags=cv2.INTER_AREA).astype(np.float32) / 255
    return mask, np.asarray(seen**2.2 * 0.85, dtype=np.float32)


def draw_layout(rng: np.random.Generator) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Draw one bench from above: (rows, cols, 3) sRGB as BGR, and (rows, cols) classes."""
    scene = _table(rng)
    labels = np.full(SIZE, BACKGROUND, np.uint8)
    ware = rng.random() < 0.12
    count = 1 if ware else int(rng.choice([0, 1, 2, 3, 4, 6, 9], p=[0.05, 0.35, 0.2, 0.12, 0.12, 0.1, 0.06]))
    taken = np.zeros(SIZE, np.uint8)
    for _ in range(int(rng.integers(0, 3))):
        at = rng.uniform(0.1, 0.9, 2) * (SIZE[1], SIZE[0])
        mask, colours = _paper(rng, at, float(rng.uniform(50, 320)))
        if (taken[mask > 0.5] > 0).any():
            continue
        shade = np.roll(cv2.GaussianBlur(mask, (0, 0), 3), (2, 1), (0, 1))
        scene = scene * (1 - 0.25 * shade[..., None])
        scene = scene * (1 - mask[..., None]) + colours * mask[..., None]
        taken[mask > 0.1] = 1
    light = rng.uniform(0, 2 * np.pi)
    tilt = float(rng.choice([0, 0, rng.uniform(0, 18)]))
    base = float(rng.uniform(150, 330)) / max(1.0, np.sqrt(count) * 0.8)
    for _ in range(count):
        wide = base * float(rng.uniform(0.85, 1.15))
        tall = wide * float(rng.uniform(0.7, 2.2)) if count < 4 else wide * 1.3
        turn = float(rng.normal(0, 0.12)) + (np.pi / 2) * (rng.random() < 0.25)
        around = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        for _ in range(12):
            at = rng.uniform(0.05, 0.95, 2) * (SIZE[1], SIZE[0])
            outline = _shape(rng, wide, tall) @ around + at
            keystone = 1 + rng.normal(0, 0.03) * (outline[:, 1:] - at[1]) / tall
            outline = (outline - at) * keystone + at
            face = _drawn(outline)
            grown = cv2.dilate((face > 0.5).astype(np.uint8), np.ones((11, 11), np.uint8))
            if face.sum() > 300 and not (taken[grown > 0] > 0).any():
                break
        else:
            continue
        wall = np.array([rng.normal(0, 0.3), 1.0]) * tilt
        far = float(rng.uniform(2, 26))
        shadow = outline + wall + far * np.array([np.cos(light), np.sin(light)])
        dark = _drawn(shadow, float(rng.choice([0.7, 3, 9])))[..., None] * float(rng.uniform(0.1, 0.8))
        tint = np.exp(rng.normal(0, 0.12, 3)).astype(np.float32)
        scene = scene * (1 - dark * tint.clip(0, 1.2))
        if tilt > 1:
            side = np.zeros(SIZE, np.float32)
            for step in np.linspace(0, 1, max(2, int(tilt))):
                side = np.maximum(side, _drawn(outline + wall * step))
            scene = (
                scene * (1 - side[..., None])
                + _colour(rng, 10) * float(rng.uniform(0.25, 0.9)) * side[..., None]
            )
            labels[side > 0.5] = WALL
        colours, glazed = _paint_face(rng, face, outline, wide, tall, turn)
        scene = scene * (1 - face[..., None]) + colours * face[..., None]
        labels[face > 0.5] = np.where(glazed[face > 0.5], GLAZED, BARE)
        taken |= grown
        if rng.random() < 0.4:  # the lit and the dark edge of a thick face
            rim = face - np.roll(face, (2, 1), (0, 1))
            scene = scene * (1 + 0.5 * rim[..., None] * rng.choice([-1, 1]))
        if rng.random() < 0.2:
            hole = (outline.mean(axis=0) + np.array([0, -0.4 * tall]) @ around).astype(int)
            cv2.circle(
                scene,
                (int(hole[0]), int(hole[1])),
                int(max(2, wide * 0.04)),
                [float(v) for v in _colour(rng) * 0.2],
                -1,
            )
    if ware:
        subject = Subject.WARE
        _shade_round(rng, scene, labels)
    else:
        subject = Subject.TILE
    step = np.uint8(SUBJECT_STEP * SUBJECTS.index(subject))
    code = np.clip(scene * float(rng.uniform(0.7, 1.3)), 0, 1) ** np.float32(1 / 2.2)
    code = cv2.GaussianBlur(code, (0, 0), float(rng.uniform(0.3, 0.9)))
    image = np.clip(code[..., ::-1] * 255 + 0.5, 0, 255).astype(np.uint8)
    return image, np.where(labels == BACKGROUND, labels, labels + step)


def _shade_round(rng: np.random.Generator, scene: Field, labels: NDArray[np.uint8]) -> None:
    """Shade a piece as a turned wall is: dark towards one or both sides."""
    on = labels > 0
    if not on.any():
        return
    cols = np.nonzero(on.any(axis=0))[0]
    t = (np.arange(SIZE[1]) - cols.mean()) / max(1.0, np.ptp(cols) / 2)
    fall = np.sqrt(np.clip(1 - (np.clip(t, -1, 1) * 0.97) ** 2, 0, 1))
    lit = np.clip(fall * np.cos(rng.uniform(-1, 1)) + t * np.sin(rng.uniform(-1, 1)), 0.12, 1.2).astype(
        np.float32
    )
    scene *= np.where(on, lit[None], 1.0)[..., None].astype(np.float32)


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--split", choices=list(SPLITS), required=True)
    parser.add_argument("--count", type=int, required=True)
    args = parser.parse_args()
    folder = Path(".renders") / f"layouts_drawn_{args.split}"
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(args.count):
        path = folder / f"{args.split}_{number:05d}.classes.png"
        if path.is_file():
            continue
        rng = np.random.default_rng([SPLITS[args.split], number])
        image, labels = draw_layout(rng)
        quality = [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(75, 96))]
        cv2.imwrite(str(path).replace(".classes.png", ".jpg"), image, quality)
        cv2.imwrite(str(path), labels)
    print(f"{args.count} pictures in {folder}", file=sys.stderr)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
