"""What lies on a sound tile and is no fault: dust, fibres, fingerprints, scratches, water drops."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from .relief import Canvas, smoothstep

__all__ = ["Nuisances", "draw_nuisances"]


@dataclass(frozen=True, slots=True)
class Nuisances:
    """How many of each lie on the surface."""

    dust: int = 0
    fibres: int = 0
    fingerprints: int = 0
    scratches: int = 0
    drops: int = 0


def _dust(rng: np.random.Generator, canvas: Canvas, x: float, y: float) -> None:
    radius = float(rng.lognormal(np.log(0.07), 0.6))
    window = canvas.window(x, y, 3 * radius + 2 * canvas.step_mm)
    lump = smoothstep(1.3, 0.6, window.radius_mm / max(radius, 0.6 * canvas.step_mm))
    tone = np.array([0.55, 0.52, 0.47]) * rng.uniform(0.5, 1.4)
    canvas.tint(window.where, lump * rng.uniform(0.35, 0.9), tone)
    canvas.height[window.where] += lump * min(radius, 0.05)
    canvas.rough[window.where] = np.maximum(canvas.rough[window.where], 0.7 * lump)


def _stroke(
    rng: np.random.Generator, canvas: Canvas, x: float, y: float, length_mm: float, bend: float
) -> np.ndarray:
    turn, points = rng.uniform(0, 6.283), [(x, y)]
    curl = rng.normal(0.0, bend)
    for _ in range(14):
        turn += curl + rng.normal(0.0, bend * 0.5)
        last = points[-1]
        points.append((last[0] + np.cos(turn) * length_mm / 14, last[1] + np.sin(turn) * length_mm / 14))
    line = (np.array(points) + canvas.margin_mm) / canvas.step_mm - 0.5
    ink = np.zeros(canvas.shape, np.uint8)
    cv2.polylines(ink, [np.round(line * 16).astype(np.int32)], False, 255, 1, cv2.LINE_AA, 4)
    return ink.astype(np.float32) / 255.0


def _fingerprint(rng: np.random.Generator, canvas: Canvas, x: float, y: float) -> None:
    window = canvas.window(x, y, 13.0)
    turn = rng.uniform(0, 3.1416)
    u = window.radius_mm * np.cos(window.angle - turn)
    v = window.radius_mm * np.sin(window.angle - turn)
    pad = smoothstep(1.0, 0.75, np.hypot(u / 10.0, v / 7.0).astype(np.float32))
    swirl = np.hypot(u * 0.7 - 2.5, v) + 0.25 * np.sin(0.9 * u + rng.uniform(0, 6)) + 0.18 * np.sin(1.7 * v)
    ridge = smoothstep(-0.2, 0.5, np.sin(2 * np.pi * swirl / rng.uniform(0.42, 0.55)).astype(np.float32))
    grease = pad * ridge * rng.uniform(0.06, 0.22)
    canvas.rough[window.where] = np.clip(canvas.rough[window.where] + grease, 0, 0.95)
    canvas.tint(window.where, pad * ridge * 0.03, np.array([0.5, 0.48, 0.42]))


def _drop(rng: np.random.Generator, canvas: Canvas, x: float, y: float) -> None:
    radius = float(rng.uniform(0.7, 2.4))
    window = canvas.window(x, y, 1.3 * radius)
    lobe = 1 + 0.06 * np.cos(2 * window.angle + rng.uniform(0, 6)) + 0.04 * np.cos(3 * window.angle)
    r = window.radius_mm / (radius * lobe)
    cap = np.sqrt(np.clip(1 - r**2, 0, 1)) * radius * rng.uniform(0.18, 0.32)
    canvas.height[window.where] += cap.astype(np.float32)
    wet = smoothstep(1.02, 0.95, r.astype(np.float32))
    canvas.rough[window.where] = canvas.rough[window.where] * (1 - wet) + 0.05 * wet
    canvas.colour[window.where] *= 1 - 0.15 * wet[..., None]


def draw_nuisances(
    rng: np.random.Generator, canvas: Canvas, wanted: Nuisances, width_mm: float, height_mm: float
) -> list[dict[str, object]]:
    """Draw them into the canvas and list them: kind, x_mm, y_mm."""
    listed: list[dict[str, object]] = []

    def spot(kind: str) -> tuple[float, float]:
        x, y = float(rng.uniform(0, width_mm)), float(rng.uniform(0, height_mm))
        listed.append({"kind": kind, "x_mm": round(x, 3), "y_mm": round(y, 3)})
        return x, y

    for _ in range(wanted.fingerprints):
        _fingerprint(rng, canvas, *spot("fingerprint"))
    for _ in range(wanted.dust):
        _dust(rng, canvas, *spot("dust"))
    everywhere = (slice(0, canvas.shape[0]), slice(0, canvas.shape[1]))
    for _ in range(wanted.fibres):
        ink = _stroke(rng, canvas, *spot("fibre"), float(rng.uniform(1.5, 9.0)), 0.22)
        tone = (
            np.array([0.6, 0.58, 0.55]) if rng.random() < 0.6 else np.array([0.06, 0.06, 0.08])
        ) * rng.uniform(0.6, 1.2)
        canvas.tint(everywhere, ink * rng.uniform(0.3, 0.8), tone)
        canvas.height += ink * 0.02
    for _ in range(wanted.scratches):
        ink = _stroke(rng, canvas, *spot("scratch"), float(rng.uniform(4.0, 25.0)), 0.02)
        canvas.rough += ink * 0.25 * (1 - canvas.rough)
        canvas.tint(everywhere, ink * rng.uniform(0.05, 0.3), np.array([0.5, 0.5, 0.5]))
    for _ in range(wanted.drops):
        _drop(rng, canvas, *spot("drop"))
    return listed
