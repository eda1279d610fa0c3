"""Shade many small surfaces quickly, without ray tracing: python sample_images/shade_surfaces.py --count 400.

Rendering is slow and marks are many and various, so the mark model also learns from these: the factory's
own surfaces (height, colour, roughness) under a made-up room, seen through the factory's own phone. One
bounce of light, shadows by marching the height field, reflections from a blurred map of the room. Files and
truth are as `render_splits.py` writes them. Nothing is ever tested on these. ``--far`` shades surfaces as a
photo of a whole board shows them: coarse, with many marks of 5 to 16 pixels of every kind, and faint nets.
"""

from __future__ import annotations

import argparse
import json
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from itertools import repeat
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parent), str(Path(__file__).resolve().parents[1])]

import cv2  # noqa: E402
import numpy as np  # noqa: E402
from factory.faults import (  # noqa: E402
    draw_crawling_plan,
    draw_crazing_plan,
    draw_marks,
    draw_nuisance_plan,
    place_marks,
)
from factory.lights import white_of  # noqa: E402
from factory.noise import fractal  # noqa: E402
from factory.outline import Outline  # noqa: E402
from factory.palette import BODIES, GLAZES, vary_body, vary_glaze  # noqa: E402
from factory.phone import Phone, develop, encode_jpeg  # noqa: E402
from factory.tile_surface import Surface, SurfaceSpec, make_surface  # noqa: E402

SEED_WORD = 53
FAR_WORD = 59
MAP_SIDE = 256
GLOSS_LEVELS = (0.004, 0.012, 0.035, 0.09, 0.2, 0.45)


def draw_spec(rng: np.random.Generator, mm_per_px: float, size_px: tuple[int, int]) -> SurfaceSpec:
    """Draw a surface that fills the picture, sometimes a whole tile with its edges and foot."""
    wide, tall = size_px[0] * mm_per_px - 1.6, size_px[1] * mm_per_px - 1.6
    body = vary_body(rng, BODIES[str(rng.choice(list(BODIES)))])
    glaze = vary_glaze(rng, GLAZES[str(rng.choice(list(GLAZES)))])
    whole = bool(rng.random() < 0.5)
    end = str(rng.choice(["bottom", "top", "none"], p=[0.5, 0.2, 0.3])) if whole else "none"
    bare = float(rng.uniform(0.06, 0.22))
    pad = 1.5 if whole else 0.5
    top = pad + (bare * tall if end == "top" else 0)
    low = tall - pad - (bare * tall if end == "bottom" else 0)
    sound, fault = bool(rng.random() < 0.2), rng.random()
    marks = draw_marks(rng, (pad, top, wide - pad, low), mm_per_px, sound, body.specks_per_cm2)
    if not sound and rng.random() < 0.5:
        more = draw_marks(rng, (pad, top, wide - pad, low), mm_per_px, False, 0)
        kept = [
            m
            for m in more
            if all(
                np.hypot(m.x_mm - k.x_mm, m.y_mm - k.y_mm) > 0.75 * (m.diameter_mm + k.diameter_mm)
                for k in marks
            )
        ]
        marks = (*marks, *kept)
    return SurfaceSpec(
        seed=int(rng.integers(1 << 31)),
        outline=Outline("rectangle", wide, tall, float(rng.uniform(0.5, 4)), float(rng.uniform(0.03, 0.3))),
        body=body,
        glaze=glaze,
        bare_end=end,
        bare_fraction=bare,
        texture=float(rng.uniform(0.3, 1.0)) if rng.random() < 0.12 else 0.0,
        stripe=bool(rng.random() < 0.06),
        marks=marks,
        crazing=draw_crazing_plan(rng, mm_per_px) if not sound and fault < 0.3 else None,
        crawling=draw_crawling_plan(rng) if not sound and 0.3 < fault < 0.5 else None,
        nuisances=draw_nuisance_plan(rng, wide * tall / 100),
        flat_edge=not whole,
    )


def draw_far_spec(rng: np.random.Generator, mm_per_px: float, size_px: tuple[int, int]) -> SurfaceSpec:
    """Draw a surface seen from further away: small marks of all kinds side by side, faint nets."""
    spec = draw_spec(rng, mm_per_px, size_px)
    wide, tall = spec.outline.width_mm, spec.outline.height_mm
    low = tall * (1 - spec.bare_fraction) if spec.bare_end == "bottom" else tall
    top = tall * spec.bare_fraction if spec.bare_end == "top" else 0.0
    fault = rng.random()
    kinds: list[str] = []
    if fault < 0.85:
        for kind, mean in (("pinhole", 14), ("blister", 16), ("crater", 16), ("speck", 12)):
            if rng.random() < 0.7:
                kinds += [kind] * int(rng.poisson(mean * rng.uniform(0.2, 1.3)))
    box = (1.5, top + 1.5, wide - 1.5, low - 1.5)
    shuffled = [kinds[i] for i in rng.permutation(len(kinds))]
    marks = place_marks(rng, shuffled, box, mm_per_px, bool(rng.random() < 0.3))
    crazing = None
    if rng.random() < 0.4:
        drawn = draw_crazing_plan(rng, mm_per_px)
        crazing = replace(drawn, contrast=float(rng.uniform(0.25, 0.9)))
    return replace(
        spec,
        marks=tuple(marks),
        crazing=crazing,
        crawling=spec.crawling if rng.random() < 0.4 else None,
    )


def draw_room(
    rng: np.random.Generator, mirror: np.ndarray, beside: np.ndarray | None = None
) -> tuple[np.ndarray, list[tuple[np.ndarray, float, np.ndarray]]]:
    """Draw a room as a map over directions (x, y) / (1 + z), and its lamps (direction, half angle, light).

    Where `beside` is given, the first lamp stands in that direction and the others are dimmed: with equal
    generators two such rooms differ by that lamp's place alone.
    """
    axis = (np.arange(MAP_SIDE, dtype=np.float32) + 0.5) / MAP_SIDE * 2 - 1
    px, py = np.meshgrid(axis, axis)
    r2 = px**2 + py**2
    z = (1 - r2) / (1 + r2)
    direction = np.stack([2 * px / (1 + r2), 2 * py / (1 + r2), z], -1)
    slope = rng.normal(0, 0.5, 2)
    wall = 1 + slope[0] * direction[..., 0] + slope[1] * direction[..., 1]
    wall = np.clip(wall * (1 + 0.5 * fractal(rng, px.shape, 50, 4)), 0.12, None)
    room = wall[..., None].astype(np.float32) * white_of(rng.uniform(3000, 7000)) * rng.uniform(0.15, 1.0)
    me = np.arccos(np.clip(direction @ mirror, -1, 1))
    room *= (1 - rng.uniform(0.2, 0.85) / (1 + np.exp((me - rng.uniform(0.12, 0.35)) * 40)))[..., None]
    lamps = []
    count = int(rng.choice([0, 1, 2, 3], p=[0.07, 0.43, 0.35, 0.15]))
    for number in range(count if beside is None else max(1, count)):
        towards = (
            mirror + rng.normal(0, 0.3, 3)
            if rng.random() < 0.4
            else np.append(rng.normal(0, 0.8, 2), rng.uniform(0.3, 1.0))
        )
        towards[2] = max(towards[2], 0.2)
        towards = towards / np.linalg.norm(towards)
        if beside is not None and number == 0:
            towards = beside
        side = np.cross(towards, [0.0, 0.0, 1.0]) + rng.normal(0, 0.02, 3)
        side /= np.linalg.norm(side)
        up = np.cross(side, towards)
        kind = str(rng.choice(["window", "tube", "panel", "bulb"], p=[0.35, 0.2, 0.2, 0.25]))
        half_w, half_h = {
            "window": rng.uniform(0.15, 0.5, 2),
            "tube": (rng.uniform(0.3, 0.6), rng.uniform(0.015, 0.04)),
            "panel": (rng.uniform(0.12, 0.35),) * 2,
            "bulb": (rng.uniform(0.03, 0.09),) * 2,
        }[kind]
        u = direction @ side / np.maximum(direction @ towards, 1e-3) / half_w
        v = direction @ up / np.maximum(direction @ towards, 1e-3) / half_h
        edge = np.hypot(u, v) if kind == "bulb" else np.maximum(np.abs(u), np.abs(v))
        shape = np.clip((1 - edge) * min(half_w, half_h) * MAP_SIDE / 2 + 0.5, 0, 1) * (
            direction @ towards > 0
        )
        if kind == "window":
            bars = (np.abs(np.sin(np.pi * u * rng.integers(1, 3))) > 0.06) & (
                np.abs(np.sin(np.pi * v * rng.integers(1, 3))) > 0.06
            )
            shape = shape * np.where(bars, 1 + 0.3 * fractal(rng, px.shape, 20, 3), 0.1)
        colour = white_of(rng.uniform(5000, 8000) if kind == "window" else rng.uniform(2700, 5000))
        power = rng.uniform(0.5, 2.2)
        if beside is not None:
            power = power + 0.4 if number == 0 else 0.2 * power
        solid = 4 * half_w * half_h
        room += (shape[..., None] * colour * np.clip(power / solid, 0, 900)).astype(np.float32)
        lamps.append((towards, float(min(max(half_w, half_h), 0.3)), power * colour))
    return room.astype(np.float32), lamps


def shade(surface: Surface, rng: np.random.Generator, beside: np.ndarray | None = None) -> np.ndarray:
    """Give the light that leaves the surface towards the camera, (rows, cols, 3) float32.

    `beside` is the direction of the main lamp, None to draw it.
    """
    canvas = surface.canvas
    step, height = canvas.step_mm, canvas.height.astype(np.float32)
    rows, cols = height.shape
    gx = cv2.Sobel(height, cv2.CV_32F, 1, 0, ksize=1) / (2 * step)
    gy = cv2.Sobel(height, cv2.CV_32F, 0, 1, ksize=1) / (2 * step)
    normal = np.stack([-gx, -gy, np.ones_like(gx)], -1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    tilt, turn, distance = np.radians(abs(rng.normal(0, 10))), rng.uniform(0, 6.283), rng.uniform(200, 600)
    x = ((np.arange(cols) - cols / 2) * step / distance).astype(np.float32)[None, :]
    y = ((np.arange(rows) - rows / 2) * step / distance).astype(np.float32)[:, None]
    view = np.stack(
        np.broadcast_arrays(
            np.tan(tilt) * np.cos(turn) - x, np.tan(tilt) * np.sin(turn) - y, np.ones((1, 1))
        ),
        -1,
    )
    view = (view / np.linalg.norm(view, axis=-1, keepdims=True)).astype(np.float32)
    middle = view[rows // 2, cols // 2]
    mirror = np.array([-middle[0], -middle[1], middle[2]])
    room, lamps = draw_room(rng, mirror, beside)
    open_sky = np.ones_like(height)
    for reach in (2.0, 5.0, 12.0):
        depth = cv2.GaussianBlur(height, (0, 0), reach) - height
        open_sky *= 1 - 0.45 * np.clip(depth / (reach * step) * 0.9, 0, 1)
    ambient = cv2.GaussianBlur(room, (0, 0), MAP_SIDE * 0.22)
    mean_room = ambient[MAP_SIDE // 2, MAP_SIDE // 2]
    lean = (
        np.array([(room.mean(-1) * g).mean() for g in np.meshgrid(*(np.linspace(-1, 1, MAP_SIDE),) * 2)])
        / room.mean()
    )
    diffuse = (mean_room * 0.9)[None, None] * (
        open_sky * np.clip(1 + normal[..., :2] @ lean.astype(np.float32), 0.2, None)
    )[..., None]
    for towards, half, power in lamps:
        lit = np.zeros_like(height)
        jitters = rng.normal(0, half * 0.5, (2, 3))
        for jitter in jitters:
            d = towards + jitter
            d = d / np.linalg.norm(d)
            shadow = np.ones_like(height)
            flat = np.hypot(d[0], d[1]) + 1e-6
            rise = max(d[2], 0.1) / flat * step
            for k in (1, 2, 3, 5, 8, 12, 18, 28):
                move = np.float32([[1, 0, d[0] / flat * k], [0, 1, d[1] / flat * k]])
                there = cv2.warpAffine(
                    height,
                    move,
                    (cols, rows),
                    flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
                    borderMode=cv2.BORDER_REPLICATE,
                )
                shadow = np.minimum(
                    shadow, np.clip(1 - (there - height - rise * k) / (0.5 * step * np.sqrt(k)), 0, 1)
                )
            lit += shadow * np.clip(normal @ d.astype(np.float32), 0, None) / len(jitters)
        diffuse = diffuse + lit[..., None] * (power / np.pi).astype(np.float32)
    cosine = np.clip((normal * view).sum(-1), 0.05, 1)
    out = 2 * cosine[..., None] * normal - view
    map_x = ((out[..., 0] / (1 + np.maximum(out[..., 2], -0.5)) + 1) / 2 * MAP_SIDE - 0.5).astype(np.float32)
    map_y = ((out[..., 1] / (1 + np.maximum(out[..., 2], -0.5)) + 1) / 2 * MAP_SIDE - 0.5).astype(np.float32)
    alpha = np.clip(canvas.rough, 0.05, 0.9) ** 2
    place = np.interp(np.log(alpha), np.log(GLOSS_LEVELS), np.arange(len(GLOSS_LEVELS))).astype(np.float32)
    glossy = np.zeros_like(diffuse, dtype=np.float32)
    for level, sigma in enumerate(GLOSS_LEVELS):
        share = np.clip(1 - np.abs(place - level), 0, 1)
        if share.max() <= 0:
            continue
        soft = cv2.GaussianBlur(room, (0, 0), max(0.3, sigma * 0.6 * MAP_SIDE / 2))
        glossy += share[..., None] * cv2.remap(
            soft, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
    fresnel = (0.04 + 0.96 * (1 - cosine) ** 5) * (1 - 0.6 * np.clip(alpha, 0, 1))
    light = (
        canvas.colour * diffuse
        + (fresnel * (0.3 + 0.7 * open_sky) * np.clip(out[..., 2] * 3 + 0.4, 0, 1))[..., None] * glossy
    )
    outside = surface.distance < 0
    if outside.any():
        table = (white_of(rng.uniform(3500, 6500)) * rng.uniform(0.03, 0.7)).astype(np.float32)
        ground = (
            table
            * (1 + 0.25 * fractal(rng, height.shape, rng.uniform(3, 40), 4))[..., None]
            * (mean_room + 0.3)
        )
        light = np.where(outside[..., None], np.clip(ground, 0.005, None), light)
    return light.astype(np.float32)


def write_truth(
    surface: Surface, folder: Path, name: str, size: tuple[int, int], about: dict[str, object]
) -> None:
    """Write NAME.json and the masks of a surface shaded into a picture of `size` (cols, rows)."""
    spec = surface.spec
    rows, cols = surface.canvas.shape
    fx, fy = size[0] / cols, size[1] / rows
    entry = dict(surface.truth)
    entry["marks"] = [dict(mark) for mark in entry["marks"]]
    for mark in entry["marks"]:
        for axis, share in (("x", fx), ("y", fy)):
            mark[f"{axis}_px"] = round(
                (mark[f"{axis}_mm"] + surface.canvas.margin_mm) / surface.canvas.step_mm * share - 0.5, 2
            )
        mark["diameter_px"] = round(mark["diameter_mm"] / surface.canvas.step_mm * (fx + fy) / 2, 2)
    outline = (surface.polygon_mm + surface.canvas.margin_mm) / surface.canvas.step_mm * [fx, fy] - 0.5
    if spec.flat_edge:
        outline = np.array([[0, 0], [size[0] - 1, 0], [size[0] - 1, size[1] - 1], [0, size[1] - 1]])
    entry |= {
        "mm_per_px": surface.canvas.step_mm / fx,
        "outline_px": outline.round(2).tolist(),
        "corners_px": None,
        "masks": {},
    }
    for kind, mask in (
        ("glazed", surface.canvas.glazed),
        ("crazing", surface.crazed),
        ("crawl", surface.crawled),
    ):
        if mask.any():
            share = cv2.resize(mask.astype(np.float32), size, interpolation=cv2.INTER_AREA)
            file = f"{name}.tile0.{kind}.png"
            cv2.imwrite(
                str(folder / file), ((share > (0.2 if kind == "crazing" else 0.5)) * 255).astype(np.uint8)
            )
            entry["masks"][kind] = file
    truth = {"photo": f"{name}.jpg", **about, "subject": "patch" if spec.flat_edge else "tile"}
    truth |= {"width_px": size[0], "height_px": size[1], "tiles": [entry]}
    (folder / f"{name}.json").write_text(json.dumps(truth) + "\n", encoding="utf-8")


def make_one(number: int, folder: Path, far: bool) -> str:
    """Shade one picture and write its files; gives its name."""
    word = FAR_WORD if far else SEED_WORD
    rng = np.random.default_rng([word, number])
    name = f"{'far' if far else 'shaded'}_{number:05d}"
    if (folder / f"{name}.json").is_file():
        return name
    if far:
        size = (int(rng.integers(280, 480)), int(rng.integers(280, 480)))
        mm_per_px = float(np.exp(rng.uniform(np.log(0.12), np.log(0.34))))
        finer = 2.0
        spec = draw_far_spec(rng, mm_per_px, size)
    else:
        size = (int(rng.integers(420, 760)), int(rng.integers(420, 760)))
        mm_per_px = float(np.exp(rng.uniform(np.log(0.035), np.log(0.14))))
        finer = 1.5
        spec = draw_spec(rng, mm_per_px, size)
    surface = make_surface(spec, mm_per_px / finer)
    light = shade(surface, rng)
    rows, cols = light.shape[:2]
    size = (round(cols / finer), round(rows / finer))
    small = cv2.resize(light, size, interpolation=cv2.INTER_AREA)
    phone = Phone.of(
        rng, small.reshape(-1, 3).mean(0) / max(float(small[..., 1].mean()), 1e-6), bool(rng.random() < 0.3)
    )
    picture = develop(small, phone, rng)
    (folder / f"{name}.jpg").write_bytes(encode_jpeg(picture, phone.quality))
    write_truth(surface, folder, name, size, {"seed": [word, number], "split": "shaded"})
    return name


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, required=True)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--far", action="store_true", help="as a photo of a whole board shows surfaces")
    parser.add_argument("--out", type=Path, default=None, help="default: .renders/shaded or .renders/far")
    parser.add_argument("--processes", type=int, default=1)
    args = parser.parse_args()
    folder = args.out or Path(".renders") / ("far" if args.far else "shaded")
    folder.mkdir(parents=True, exist_ok=True)
    numbers = range(args.first, args.first + args.count)
    cv2.setNumThreads(1)
    with ProcessPoolExecutor(args.processes) as pool:
        for name in pool.map(make_one, numbers, repeat(folder), repeat(args.far), chunksize=4):
            print(name, file=sys.stderr, flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
