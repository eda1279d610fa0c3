"""Render small photos with a class for every pixel: what the piece finder's net learns from.

    python sample_images/render_layouts.py --split train --scenes 300
    python sample_images/render_layouts.py --split train --subject ware --scenes 300
    python sample_images/render_layouts.py --reuse .renders/train

The third takes what `render_splits.py` made.
Each scene is photographed more than once, under another light, by another phone and from another place. A
split's seeds begin with its own word; none is shared with `render_splits.py`, so no scene of its test splits
is here. Photos already there are kept.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import cv2
import numpy as np
from factory.bench import photographer_items
from factory.camera import Camera
from factory.lights import draw_lighting
from factory.phone import Phone, develop, encode_jpeg
from factory.photo import PhotoPlan
from factory.scene import Item, Shot, Sight, render, scene_of, see
from factory.table import TABLES, table_texture
from factory.truth import to_world
from factory.variation import draw_photo
from numpy.typing import NDArray

from vision.piece_net import BACKGROUND, BARE, GLAZED, SUBJECT_STEP, SUBJECTS, WALL

SPLITS = {"train": 59, "tune": 61}
"""Split -> seed word."""
SUBJECT_ORDER = (*SUBJECTS, "patch")
LONG_SIDE_PX = 800
"""Of a photo taken from another split."""
VIEWS = 3
SUBJECT_WORDS = {"tile": 1, "ware": 2, "patch": 3}
"""Subject asked for -> what its seeds hold besides."""


def label_map(plan: PhotoPlan, sight: Sight) -> NDArray[np.uint8]:
    """Give each pixel's class: (rows, cols) uint8, the values of `vision.piece_net`.

    Notes
    -----
    Of a piece's pixels, `SUBJECT_STEP` times the subject's place in `SUBJECT_ORDER` is added.
    """
    labels = np.full(sight.item.shape, BACKGROUND, np.uint8)
    for index, item in enumerate(plan.shot.items):
        here = sight.item == index
        if item.surface is None:
            if item.name in ("inside", "handle"):
                labels[here] = WALL
            continue
        face = here & _face(plan, item, sight.item.shape)
        glazed = item.surface.canvas.glazed | item.surface.crawled
        rows, cols = glazed.shape
        col = np.clip((sight.uv[..., 0] * cols).astype(np.int32), 0, cols - 1)
        row = np.clip((sight.uv[..., 1] * rows).astype(np.int32), 0, rows - 1)
        labels[here] = WALL
        labels[face] = np.where(glazed[row, col][face], GLAZED, BARE)
    subject = SUBJECT_STEP * SUBJECT_ORDER.index(plan.subject)
    return np.where(labels == BACKGROUND, labels, labels + np.uint8(subject))


def _face(plan: PhotoPlan, item: Item, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Draw the part of the frame inside a tile's top outline; all of it for other pieces."""
    if plan.subject != "tile" or item.surface is None or item.frame is None:
        return np.ones(shape, np.bool_)
    level = item.surface.spec.thickness_mm + 0.2
    outline = plan.shot.camera.project(to_world(item.frame, item.surface.polygon_mm, level))
    drawn = np.zeros(shape, np.uint8)
    cv2.fillPoly(drawn, [np.rint(outline * 16).astype(np.int32)], 1, shift=4)
    return np.asarray(drawn > 0, dtype=np.bool_)


def _moved(rng: np.random.Generator, camera: Camera, tilt_more: float) -> Camera:
    """Step aside, nearer or farther, and turn the phone a little."""
    away = camera.position - camera.target
    reach = float(np.linalg.norm(away)) * float(rng.uniform(0.92, 1.25))
    away = away / np.linalg.norm(away) + rng.normal(0, tilt_more, 3) * np.array([1, 1, 0.2])
    away[2] = max(away[2], 0.12)
    position = camera.target + reach * away / np.linalg.norm(away)
    return replace(camera, position=position, roll_deg=camera.roll_deg + float(rng.normal(0, 8)))


def _other_table(rng: np.random.Generator, item: Item) -> Item:
    span = float(np.ptp(item.mesh.vertices[:, 0]))
    colour, rough = table_texture(rng, str(rng.choice(TABLES)), 1024, span)
    return replace(item, colour=colour, rough=rough)


def views_of(word: int, number: int, subject: str | None = None) -> list[PhotoPlan]:
    """Plan the photos of one scene; `subject` None draws what it shows, too."""
    seed = (word, number) if subject is None else (word, number, SUBJECT_WORDS[subject])
    plan = draw_photo(seed, subject, layout=True)
    rng = np.random.default_rng([*seed, 7])
    plans = []
    for view in range(VIEWS):
        shot = plan.shot
        if view > 0 and plan.subject != "patch":
            camera = _moved(rng, shot.camera, 0.12)
            lain = [i for i in shot.items if i.name not in ("phone", "figure")]
            items = [_other_table(rng, i) if i.name == "table" else i for i in lain]
            shot = replace(shot, camera=camera, items=(*items, *photographer_items(rng, camera)))
        if view > 0:
            shot = replace(shot, lighting=draw_lighting(rng, shot.camera), seed=int(rng.integers(1 << 30)))
        plans.append(replace(plan, shot=shot, seed=int(rng.integers(1 << 31))))
    return plans


def _write(plan: PhotoPlan, folder: Path, name: str) -> None:
    shot: Shot = plan.shot
    scene, shapes, white = scene_of(shot)
    sight = see(shot, scene, shapes)
    light = render(shot, scene, sight)
    rng = np.random.default_rng(plan.seed)
    phone = Phone.of(rng, white)
    (folder / f"{name}.jpg").write_bytes(encode_jpeg(develop(light, phone, rng), phone.quality))
    cv2.imwrite(str(folder / f"{name}.classes.png"), label_map(plan, sight))


def reuse(folder: Path, out: Path) -> None:
    """Write a rendered split again, smaller, with each pixel's class; every fifth is left to tune on.

    Notes
    -----
    The photo's plan is drawn again from its seed, and what each pixel shows traced anew; light is not.
    """
    for file in sorted(folder.glob("*.json")):
        if int(file.stem.rsplit("_", 1)[1]) % 5 == 0 or (out / f"{file.stem}.classes.png").is_file():
            continue
        truth = json.loads(file.read_text(encoding="utf-8"))
        plan = draw_photo(tuple(truth["seed"]))
        scene, shapes, _ = scene_of(plan.shot)
        labels = label_map(plan, see(plan.shot, scene, shapes))
        _check_same(labels, truth)
        photo = cv2.imread(str(folder / truth["photo"]))
        share = LONG_SIDE_PX / max(labels.shape)
        size = (round(labels.shape[1] * share), round(labels.shape[0] * share))
        small = cv2.resize(photo, size, interpolation=cv2.INTER_AREA)
        cv2.imwrite(str(out / f"{file.stem}.jpg"), small, [cv2.IMWRITE_JPEG_QUALITY, 92])
        classes = cv2.resize(labels, size, interpolation=cv2.INTER_NEAREST)
        cv2.imwrite(str(out / f"{file.stem}.classes.png"), classes)


def _check_same(labels: NDArray[np.uint8], truth: dict[str, Any]) -> None:
    """Refuse a plan that is not the photo's: the factory has changed since."""
    if labels.shape != (truth["height_px"], truth["width_px"]):
        raise ValueError(f"{truth['photo']} was made by another factory: render its split anew")
    if truth["subject"] != "tile":  # their truth is no drawn outline
        return
    faces = np.zeros(labels.shape, np.uint8)
    for tile in truth["tiles"]:
        cv2.fillPoly(faces, [np.rint(np.array(tile["outline_px"]) * 16).astype(np.int32)], 1, shift=4)
    kinds = labels % SUBJECT_STEP
    found = (kinds == GLAZED) | (kinds == BARE)
    if ((faces > 0) & found).sum() < 0.95 * ((faces > 0) | found).sum():
        raise ValueError(f"{truth['photo']} was made by another factory: render its split anew")


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--split", choices=list(SPLITS), default="train")
    parser.add_argument("--scenes", type=int, default=300)
    parser.add_argument(
        "--subject", choices=list(SUBJECT_WORDS), default=None, help="all drawn at random if left out"
    )
    parser.add_argument(
        "--reuse", type=Path, default=None, help="folder of a split to take photos from instead"
    )
    parser.add_argument("--first", type=int, default=0, help="number of the first scene")
    args = parser.parse_args()
    kind = args.split if args.subject is None else f"{args.split}_{args.subject}"
    folder = Path(".renders") / (
        f"layouts_{kind}" if args.reuse is None else f"layouts_{args.reuse.name}_again"
    )
    folder.mkdir(parents=True, exist_ok=True)
    if args.reuse is not None:
        reuse(args.reuse, folder)
        return 0
    failed = 0
    for number in range(args.first, args.first + args.scenes):
        names = [f"{args.split}_{number:04d}_{view}" for view in range(VIEWS)]
        if (folder / f"{names[-1]}.classes.png").is_file():
            continue
        began = time.perf_counter()
        try:
            for name, plan in zip(names, views_of(SPLITS[args.split], number, args.subject), strict=True):
                _write(plan, folder, name)
        except (ValueError, RuntimeError, IndexError, cv2.error) as error:
            failed += 1
            print(f"{names[0]}: not rendered: {error!r}", file=sys.stderr, flush=True)
            continue
        print(f"{names[0]} {plan.subject} {time.perf_counter() - began:.1f} s", file=sys.stderr, flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
