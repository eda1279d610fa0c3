"""The light of a workshop: windows, tubes, panels, bulbs and the room itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from .camera import Camera
from .engine import start
from .noise import Field, fractal

__all__ = ["ENVIRONMENTS", "Lamp", "Lighting", "clear_of_view", "draw_lighting", "light_dict", "white_of"]

ENVIRONMENT_FOLDER = Path(__file__).resolve().parents[1] / "environments"
ENVIRONMENTS = ("workshop", "lobby", "studio", "apartment", "park", "forest")


@dataclass(frozen=True, slots=True, eq=False)
class Lamp:
    """An area light.

    Attributes
    ----------
    kind : window, tube, panel or bulb
    centre : (3,) mm
    facing : (3,) mm, the point it faces
    width_mm, height_mm : size (a bulb's diameter is its width)
    share : irradiance it gives at the facing point, relative to the other lights
    colour : (3,) linear, green 1
    bars : panes across and down (a window), 1 and 1 for one sheet of light
    """

    kind: str
    centre: NDArray[np.float64]
    facing: NDArray[np.float64]
    width_mm: float
    height_mm: float
    share: float
    colour: NDArray[np.float64]
    bars: tuple[int, int] = (1, 1)
    seed: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Lighting:
    """All light of one photo: lamps, the room's name ("" for a made-up one), its turn, share and colour."""

    lamps: tuple[Lamp, ...]
    room: str
    room_turn_deg: float
    room_share: float
    room_colour: NDArray[np.float64]
    seed: int


def white_of(kelvin: float, tint: float = 0.0) -> NDArray[np.float64]:
    """Give a light's linear sRGB colour, green 1, from its temperature (Kang et al. 2002, from memory)."""
    t = 1e3 / kelvin
    x = (
        -0.2661239 * t**3 - 0.2343589 * t**2 + 0.8776956 * t + 0.179910
        if kelvin < 4000
        else -3.0258469 * t**3 + 2.1070379 * t**2 + 0.2226347 * t + 0.240390
    )
    if kelvin < 2222:
        y = -1.1063814 * x**3 - 1.34811020 * x**2 + 2.18555832 * x - 0.20219683
    elif kelvin < 4000:
        y = -0.9549476 * x**3 - 1.37418593 * x**2 + 2.09137015 * x - 0.16748867
    else:
        y = 3.0817580 * x**3 - 5.87338670 * x**2 + 3.75112997 * x - 0.37001483
    y += tint
    xyz = np.array([x / y, 1.0, (1 - x - y) / y])
    to_rgb = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
    rgb = np.clip(to_rgb @ xyz, 0.02, None)
    return np.asarray(rgb / rgb[1])


def clear_of_view(lamp: Lamp, camera: Camera) -> Lamp:
    """Push a lamp that hangs between camera and scene up behind the camera; leave any other as it is."""
    gaze = camera.target - camera.position
    depth_of_scene = float(np.linalg.norm(gaze))
    away = lamp.centre - camera.position
    depth = float(away @ gaze) / depth_of_scene
    reach = np.hypot(lamp.width_mm, lamp.height_mm) / 2
    if not -reach < depth < depth_of_scene:
        return lamp
    aside = float(np.linalg.norm(away - depth * gaze / depth_of_scene))
    corner = np.hypot(camera.width_px, camera.height_px) / 2 / camera.focal_px
    if aside > reach + max(0.0, depth) * corner:
        return lamp
    place = camera.target + (lamp.centre - camera.target) / np.linalg.norm(lamp.centre - camera.target) * (
        1.2 * depth_of_scene + reach
    )
    return replace(lamp, centre=place)


def draw_lighting(rng: np.random.Generator, camera: Camera) -> Lighting:
    """Draw the light of one photo at random.

    Parameters
    ----------
    rng : seeded generator
    camera : of the photo; no lamp hangs in its view, and half of those overhead show as reflections
    """
    target, mirror = camera.target, camera.mirrored_gaze()
    lamps = []
    for _ in range(int(rng.choice([0, 1, 2], p=[0.2, 0.55, 0.25]))):
        azimuth, away = rng.uniform(0, 2 * np.pi), rng.uniform(600, 2200)
        high = rng.uniform(250, 1500)
        centre = target + np.array([np.cos(azimuth) * away, np.sin(azimuth) * away, high])
        lamps.append(
            Lamp(
                "window",
                centre,
                target + np.array([0.0, 0.0, rng.uniform(0, high * 0.6)]),
                rng.uniform(500, 1500),
                rng.uniform(600, 1500),
                rng.uniform(0.5, 1.4),
                white_of(rng.uniform(5000, 8500)),
                (int(rng.integers(1, 4)), int(rng.integers(1, 4))),
                int(rng.integers(1 << 30)),
            )
        )
    overhead = int(rng.choice([0, 1, 2, 3], p=[0.22, 0.43, 0.25, 0.10]))
    if not lamps:
        overhead = max(1, overhead)
    warm = white_of(
        rng.choice([2700, 3000, 3500, 4000, 5000]) * rng.uniform(0.95, 1.05), rng.normal(0, 0.006)
    )
    for _ in range(overhead):
        kind = str(rng.choice(["tube", "panel", "bulb", "bulb"]))
        distance = rng.uniform(450, 1800)
        if rng.random() < 0.55:
            towards = mirror + rng.normal(0, 0.12, 3)
        else:
            towards = np.array([rng.normal(0, 0.7), rng.normal(0, 0.7), 1.0])
        towards = towards / np.linalg.norm(towards)
        towards[2] = max(towards[2], 0.25)
        size = {
            "tube": (rng.uniform(500, 1200), rng.uniform(25, 60)),
            "panel": (rng.uniform(250, 600),) * 2,
        }.get(kind, (rng.uniform(50, 130),) * 2)
        lamps.append(
            Lamp(
                kind,
                target + towards * distance,
                target,
                size[0],
                size[1],
                rng.uniform(0.3, 1.2),
                warm,
                (1, 1),
            )
        )
    outdoors = rng.random() < 0.55
    room = str(rng.choice(ENVIRONMENTS, p=[0.3, 0.22, 0.16, 0.2, 0.06, 0.06])) if outdoors else ""
    return Lighting(
        tuple(clear_of_view(lamp, camera) for lamp in lamps),
        room,
        float(rng.uniform(0, 360)),
        float(rng.uniform(0.35, 1.5)),
        white_of(rng.uniform(3200, 7000)),
        int(rng.integers(1 << 30)),
    )


def _made_room(rng: np.random.Generator) -> Field:
    """Paint a plain room as a light map (128, 256, 3): pale ceiling, walls with shelves, darker floor."""
    rows, cols = 128, 256
    v = np.linspace(0, 1, rows)[:, None]
    light = np.where(
        v < 0.33, rng.uniform(0.7, 1.3), np.where(v < 0.55, rng.uniform(0.4, 0.9), 0.2)
    ) * np.ones((1, cols))
    light = light * np.exp(0.15 * fractal(rng, (rows, cols), 90, 3))
    for _ in range(int(rng.integers(4, 12))):  # shelves, doors, people, a kiln: darker and lighter boxes
        top, left = int(rng.uniform(0.2, 0.5) * rows), int(rng.integers(cols))
        low, right = top + int(rng.uniform(4, 40)), left + int(rng.uniform(4, 40))
        light[top:low, left:right] *= rng.uniform(0.2, 1.5)
    tint = 1 + 0.1 * rng.standard_normal(3)
    return np.asarray(cv2.GaussianBlur(light, (0, 0), 1.2)[..., None] * tint, dtype=np.float32)


def _room_map(lighting: Lighting) -> Field:
    mi = start()
    path = ENVIRONMENT_FOLDER / f"{lighting.room}.exr"
    rng = np.random.default_rng(lighting.seed)
    if lighting.room and path.is_file():
        room = np.array(mi.Bitmap(str(path)).convert(mi.Bitmap.PixelFormat.RGB, mi.Struct.Type.Float32))
        room = np.clip(room[..., :3], 0, 400 * max(1e-3, float(np.median(room))))
    else:
        room = _made_room(rng) * lighting.room_colour.astype(np.float32)
    rows = room.shape[0]
    polar = (np.arange(rows) + 0.5) / rows * np.pi
    weight = np.clip(np.cos(polar), 0, None) * np.sin(polar)
    irradiance = float((room.mean(axis=-1) * weight[:, None]).sum() / weight.sum() / room.shape[1])
    return np.asarray(room / max(irradiance, 1e-6), dtype=np.float32)


def _window_picture(lamp: Lamp) -> Field:
    """Paint a lamp's face (rows, cols, 3), mean 1: panes, frame, brighter sky above, fall to the edge."""
    rng = np.random.default_rng(lamp.seed)
    rows = cols = 96
    v, u = np.mgrid[0:rows, 0:cols].astype(np.float32) / rows
    face = np.ones((rows, cols), np.float32)
    if lamp.kind == "window":
        face = (
            1.3
            - 0.9 * v * rng.uniform(0.2, 1.0)
            + 0.25 * np.abs(fractal(rng, (rows, cols), 30, 4)) * (v > 0.45)
        )
        for count, axis in ((lamp.bars[0], u), (lamp.bars[1], v)):
            at = (axis * count) % 1.0
            face = np.where((at < 0.035 * count) | (at > 1 - 0.035 * count), 0.03, face)
    elif lamp.kind == "panel":
        edge = np.minimum(np.minimum(u, 1 - u), np.minimum(v, 1 - v))
        face = np.clip(edge * 14, 0.25, 1)
    face = np.asarray(face / face.mean(), dtype=np.float32)[..., None] * lamp.colour.astype(np.float32)
    return np.asarray(face, dtype=np.float32)


def light_dict(lighting: Lighting) -> tuple[dict[str, object], NDArray[np.float64]]:
    """Give Mitsuba's emitters and the mean colour (3,) of the light on the table, green 1."""
    mi = start()
    world = mi.ScalarTransform4f
    room = _room_map(lighting) * np.float32(lighting.room_share / np.pi)
    parts: dict[str, object] = {
        "room": {
            "type": "envmap",
            "bitmap": mi.Bitmap(np.ascontiguousarray(room)),
            "to_world": world().rotate([0, 0, 1], lighting.room_turn_deg).rotate([1, 0, 0], 90),
        }
    }
    polar = (np.arange(room.shape[0]) + 0.5) / room.shape[0] * np.pi
    weight = np.clip(np.cos(polar), 0, None) * np.sin(polar)
    total = (room.mean(axis=1) * weight[:, None]).sum(axis=0) / weight.sum() * np.pi
    for index, lamp in enumerate(lighting.lamps):
        towards = lamp.facing - lamp.centre
        away = float(np.linalg.norm(towards))
        fall = max(0.1, float(-towards[2] / away))
        area = lamp.width_mm * lamp.height_mm * (np.pi / 4 if lamp.kind == "bulb" else 1.0)
        radiance = lamp.share * away**2 / (area * fall)
        radiance = min(radiance, 900.0)
        picture = _window_picture(lamp) * np.float32(radiance)
        total = total + radiance * area * fall / away**2 * lamp.colour
        up = [0, 0, 1] if abs(towards[2]) / away < 0.95 else [0.3, 1, 0]
        half = [lamp.width_mm / 2, lamp.height_mm / 2, 1]
        parts[f"lamp{index}"] = {
            "type": "disk" if lamp.kind == "bulb" else "rectangle",
            "to_world": world().look_at(lamp.centre.tolist(), lamp.facing.tolist(), up).scale(half),
            "emitter": {
                "type": "area",
                "radiance": {
                    "type": "bitmap",
                    "bitmap": mi.Bitmap(np.ascontiguousarray(picture)),
                    "raw": True,
                },
            },
        }
    return parts, np.asarray(total / total[1])
