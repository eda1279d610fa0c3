"""One photo from plan to files: NAME.jpg, NAME.json and the masks."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card_layout import CardLayout

from .camera import Camera
from .engine import start
from .paper import CHART_SIZE_MM, Print, chart_layout
from .phone import Phone, develop, encode_jpeg
from .scene import Item, Shot, Sight, render, scene_of, see
from .truth import plane_scale, rect_corners, surface_masks, tile_truth, to_world

__all__ = ["REFLECTION_SHARE", "PhotoPlan", "make_photo", "mirrors_light"]

REFLECTION_SHARE = 0.004
"""Share of a surface's pixels that must mirror a light for `reflection_in_view`."""


@dataclass(frozen=True, slots=True, eq=False)
class PhotoPlan:
    """All that makes one photo.

    Attributes
    ----------
    subject : tile, ware or patch
    shot : scene and camera
    layout : of the card in it, or None
    printing : the printer the card came from
    chart_thick_mm : of the chart's board, if an item called chart is in the shot
    seed : of the phone's choices
    noise_seed : of the noise, where the same phone shoots again; None goes on from `seed`
    calm : True for a careful user's shot
    most_bytes : size the JPEG must stay under (its quality falls until it does), or None
    """

    subject: str
    shot: Shot
    layout: CardLayout | None
    printing: Print
    chart_thick_mm: float
    seed: int
    calm: bool = False
    most_bytes: int | None = None
    noise_seed: int | None = None


def mirrors_light(
    camera: Camera, sight: Sight, mask: NDArray[np.bool_], scene: object, floor: float
) -> float:
    """Give the share of masked pixels whose mirror direction meets a light brighter than the surface."""
    mi = start()
    rows, cols = np.nonzero(mask)
    if len(rows) == 0:
        return 0.0
    scalar = mi.variant().startswith("scalar")
    pick = np.random.default_rng(0).permutation(len(rows))[: 500 if scalar else 20000]
    rows, cols = rows[pick], cols[pick]
    gaze = sight.position[rows, cols].astype(np.float64) - camera.position
    gaze /= np.linalg.norm(gaze, axis=1, keepdims=True)
    normal = sight.normal[rows, cols].astype(np.float64)
    normal *= -np.sign((normal * gaze).sum(axis=1, keepdims=True))
    leave = (gaze - 2 * (gaze * normal).sum(axis=1, keepdims=True) * normal).astype(np.float32)
    origin = (sight.position[rows, cols] + 0.05 * normal).astype(np.float32)
    if scalar:
        light = np.array(
            [_met(scene, mi.Ray3f(o.tolist(), d.tolist())) for o, d in zip(origin, leave, strict=True)]
        )
    else:
        light = _met(scene, mi.Ray3f(mi.Point3f(*origin.T), mi.Vector3f(*leave.T)))
    return float((0.04 * light.reshape(-1, 3).mean(axis=1) > floor).mean())


def _met(scene: object, ray: object) -> NDArray[np.float64]:
    """Give the light (n, 3) of the lamp, window or room that each ray meets first; black for a thing."""
    hit = scene.ray_intersect(ray)
    emitter = hit.emitter(scene)
    if emitter is None:
        return np.zeros((1, 3))
    return np.asarray(emitter.eval(hit, True)).T.reshape(-1, 3)


def _write_mask(path: Path, mask: NDArray[np.bool_]) -> None:
    cv2.imwrite(str(path), mask.astype(np.uint8) * 255, [cv2.IMWRITE_PNG_BILEVEL, 1])


def _card_truth(camera: Camera, item: Item, layout: CardLayout, printing: Print) -> dict[str, object]:
    """Give the card's part of the truth: where it lies, how it was printed, the scale at its centre."""
    w, h = layout.width_mm, layout.height_mm
    corners = rect_corners(camera, item.frame, w, h, 0.0)
    size = np.array([camera.width_px, camera.height_px])
    middle = to_world(item.frame, np.array([w / 2, h / 2]), 0.0)
    card = {
        "layout": layout.name,
        "corners_px": corners,
        "whole_in_frame": bool(((np.array(corners) > 0) & (np.array(corners) < size)).all()),
        "paper_linear": [round(v, 4) for v in printing.paper],
        "print_gain": round(printing.gain, 4),
        "ink_tint": [round(v, 4) for v in printing.ink],
        "ink_floor": round(printing.floor, 4),
    }
    return {"card": card, "mm_per_px": round(plane_scale(camera, middle), 6)}


def _chart_truth(camera: Camera, item: Item, thick_mm: float) -> dict[str, object]:
    """Give the chart's part of the truth."""
    centres = camera.project(to_world(item.frame, chart_layout(), thick_mm))
    return {
        "corners_px": rect_corners(camera, item.frame, *CHART_SIZE_MM, thick_mm),
        "patch_centres_px": [[round(float(v), 2) for v in centre] for centre in centres],
    }


def make_photo(
    plan: PhotoPlan, folder: Path, name: str, about: dict[str, object], masks: bool
) -> dict[str, object]:
    """Render one photo and write NAME.jpg, the masks NAME.tileI.MASK.png (photo frame) and, last, NAME.json.

    Parameters
    ----------
    plan : what is in it
    folder : existing folder
    name : file name without ending
    about : put at the head of the JSON (seed, split)
    masks : True writes the masks

    Returns
    -------
    the truth, as written
    """
    shot = plan.shot
    camera = shot.camera
    scene, shapes, white = scene_of(shot)
    sight = see(shot, scene, shapes)
    light = render(shot, scene, sight)
    rng = np.random.default_rng(plan.seed)
    phone = Phone.of(rng, white, plan.calm)
    if plan.noise_seed is not None:
        rng = np.random.default_rng(plan.noise_seed)
    picture = develop(light, phone, rng)
    quality = phone.quality
    data = encode_jpeg(picture, quality)
    while plan.most_bytes is not None and len(data) > plan.most_bytes and quality > 60:
        quality -= 3
        data = encode_jpeg(picture, quality)
    (folder / f"{name}.jpg").write_bytes(data)
    truth: dict[str, object] = {"photo": f"{name}.jpg", **about, "subject": plan.subject}
    truth |= {
        "width_px": camera.width_px,
        "height_px": camera.height_px,
        "card": None,
        "chart": None,
        "mm_per_px": None,
    }
    tiles = []
    for index, item in enumerate(shot.items):
        if item.name == "card" and plan.layout is not None:
            truth |= _card_truth(camera, item, plan.layout, plan.printing)
        if item.name == "chart":
            truth["chart"] = _chart_truth(camera, item, plan.chart_thick_mm)
        if item.surface is None:
            continue
        entry = tile_truth(camera, item, index, sight, plan.subject)
        texels = (entry["mm_per_px"] or 0.12) / item.surface.canvas.step_mm
        found = surface_masks(item.surface, sight, index, texels)
        local = light[found["glazed"]]
        floor = float(np.median(local.mean(axis=1))) * 1.0 if len(local) else 1.0
        share = mirrors_light(camera, sight, found["glazed"], scene, floor)
        entry["reflection_in_view"] = bool(share > REFLECTION_SHARE)
        entry["reflection_share"] = round(share, 5)
        number = len(tiles)
        entry["mask_frame"] = "photo"
        entry["masks"] = {}
        if masks:
            for kind in ("glazed", "crazing", "crawl") + (("piece",) if plan.subject == "ware" else ()):
                if kind in ("crazing", "crawl") and not found[kind].any():
                    continue
                file = f"{name}.tile{number}.{kind}.png"
                _write_mask(folder / file, found[kind])
                entry["masks"][kind] = file
        tiles.append(entry)
    truth["tiles"] = tiles
    (folder / f"{name}.json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")
    return truth
