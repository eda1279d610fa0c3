"""Render small pictures of faces to learn finish: python sample_images/render_faces.py --count 500.

Each scene is rendered with three roughnesses, one from each third of the range's logarithm: what is painted
on the glaze stays, what it mirrors changes. Files and truth are as `render_splits.py` writes them, with
`photo_px` besides, the long side of the photo a face is cut from. Nothing is ever tested on these.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import cv2
import numpy as np
from factory.engine import start
from factory.phone import Phone, develop, encode_jpeg
from factory.photo import REFLECTION_SHARE, mirrors_light
from factory.scene import render, scene_of, see
from factory.sheen import ROUGHNESS, FacePlan, draw_face, with_roughness
from factory.truth import surface_masks, tile_truth

SEED_WORD = 139
_PARTS = 3
_FINER = 0.4
"""Blur and grain of a phone's pixels, as pixels of a picture so much smaller have them."""


def _name(part: int, number: int) -> str:
    return f"face{part}_{number:05d}"


def _phone(rng: np.random.Generator, white: np.ndarray) -> Phone:
    phone = Phone.of(rng, white)
    return replace(
        phone,
        focus_px=phone.focus_px * _FINER,
        motion_px=phone.motion_px * _FINER,
        shot_noise=phone.shot_noise * _FINER,
        read_noise=phone.read_noise * _FINER,
        sharpen=phone.sharpen * _FINER,
        quality=min(95, phone.quality + 12),
    )


def make_faces(plan: FacePlan, folder: Path, seed: list[int]) -> None:
    """Render one scene with several roughnesses: face0_NUMBER and so on, each a photo, a mask and a truth."""
    mi = start()
    shot = plan.shot
    camera, item = shot.camera, shot.items[plan.item]
    rng = np.random.default_rng([*seed, 3])
    low, high = np.log(ROUGHNESS)
    scene, shapes, white = scene_of(shot)
    sight = see(shot, scene, shapes)
    values = mi.traverse(scene)
    texture = next(
        key for key, _ in values.items() if key.startswith(f"{item.name}.") and "roughness.data" in key
    )
    for part in range(_PARTS):
        rough = float(np.exp(low + (high - low) * (part + rng.random()) / _PARTS))
        surface = with_roughness(item.surface, rough)
        values[texture] = mi.TensorXf(np.ascontiguousarray(surface.canvas.rough[..., None], np.float32))
        values.update()
        light = render(replace(shot, seed=int(rng.integers(1 << 30))), scene, sight)
        masks = surface_masks(surface, sight, plan.item, 1.0)
        here = light[masks["glazed"]]
        if len(here) < 400:
            return
        phone = _phone(rng, white)
        name = _name(part, seed[-1])
        entry = tile_truth(camera, replace(item, surface=surface), plan.item, sight, plan.subject)
        share = mirrors_light(camera, sight, masks["glazed"], scene, float(np.median(here.mean(axis=1))))
        entry |= {"reflection_in_view": share > REFLECTION_SHARE, "reflection_share": round(share, 5)}
        entry["masks"] = {"glazed": f"{name}.tile0.glazed.png"}
        cv2.imwrite(str(folder / entry["masks"]["glazed"]), masks["glazed"].astype(np.uint8) * 255)
        (folder / f"{name}.jpg").write_bytes(encode_jpeg(develop(light, phone, rng), phone.quality))
        truth = {
            "photo": f"{name}.jpg",
            "seed": seed,
            "split": "faces",
            "subject": plan.subject,
            "photo_px": round(plan.photo_px, 1),
        }
        truth |= {"width_px": camera.width_px, "height_px": camera.height_px, "tiles": [entry]}
        (folder / f"{name}.json").write_text(json.dumps(truth) + "\n", encoding="utf-8")


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, required=True, help="scenes, three pictures each")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--out", type=Path, default=Path(".renders/faces"))
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    failed = 0
    for number in range(args.first, args.first + args.count):
        if (args.out / f"{_name(0, number)}.json").is_file():
            continue
        began = time.perf_counter()
        seed = [SEED_WORD, number]
        try:
            make_faces(draw_face(tuple(seed)), args.out, seed)
        except (ValueError, RuntimeError, IndexError, cv2.error) as error:
            failed += 1
            print(f"scene {number}: not rendered: {error!r}", file=sys.stderr, flush=True)
            continue
        print(f"scene {number} {time.perf_counter() - began:.1f} s", file=sys.stderr, flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
