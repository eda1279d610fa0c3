"""Draws at random what is wrong, or only seems wrong, with a surface."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .marks import Mark
from .networks import Crawling, Crazing
from .nuisance import Nuisances

__all__ = [
    "SIZES_MM",
    "Box",
    "DrawFaults",
    "DrawTileFaults",
    "draw_crawling_plan",
    "draw_crazing_plan",
    "draw_dense_faults",
    "draw_faults",
    "draw_marks",
    "draw_mixed_faults",
    "draw_nuisance_plan",
    "place_marks",
]

Box = tuple[float, float, float, float]
"""Left, top, right, low of the part of a surface that may bear marks, mm in its frame."""

DrawFaults = Callable[[np.random.Generator, Box, float], dict[str, object]]
"""(generator, box, mm per pixel) -> fault fields of a SurfaceSpec: marks, crazing, crawling, nuisances."""
DrawTileFaults = Callable[[np.random.Generator, Box, float, float], dict[str, object]]
"""As `DrawFaults`, with the body's own specks per square centimetre last."""

SIZES_MM: dict[str, tuple[float, float, float]] = {
    "pinhole": (0.25, 0.6, 1.3),
    "blister": (0.6, 2.0, 7.0),
    "crater": (0.7, 1.9, 6.0),
    "speck": (0.2, 0.7, 2.6),
}
"""Smallest, median and largest diameter drawn, mm (from common studio observation, no source)."""


def _diameter(rng: np.random.Generator, kind: str, mm_per_px: float) -> float:
    low, middle, high = SIZES_MM[kind]
    floor = max(low, 3.2 * mm_per_px)
    middle = max(middle, 7.5 * mm_per_px)
    return float(np.clip(rng.lognormal(np.log(middle), 0.5), floor, max(high, 1.5 * middle)))


def place_marks(
    rng: np.random.Generator,
    kinds: list[str],
    box: Box,
    mm_per_px: float,
    clustered: bool,
    tries: int = 12,
) -> list[Mark]:
    """Place marks in a box so that none overlap; ones that find no room are left out."""
    left, top, right, low = box
    hubs = [(rng.uniform(left, right), rng.uniform(top, low)) for _ in range(int(rng.integers(1, 4)))]
    reach = 0.22 * min(right - left, low - top)
    placed: list[Mark] = []
    for kind in kinds:
        diameter = _diameter(rng, kind, mm_per_px)
        for _ in range(tries):
            if clustered and rng.random() < 0.8:
                hub = hubs[int(rng.integers(len(hubs)))]
                x, y = rng.normal(hub[0], reach), rng.normal(hub[1], reach)
            else:
                x, y = rng.uniform(left, right), rng.uniform(top, low)
            pad = diameter * 0.55
            if not (left + pad < x < right - pad and top + pad < y < low - pad):
                continue
            if all(
                np.hypot(x - m.x_mm, y - m.y_mm) > 0.75 * (diameter + m.diameter_mm) + 2 * mm_per_px
                for m in placed
            ):
                broken = kind == "blister" and rng.random() < 0.4
                placed.append(Mark(kind, float(x), float(y), diameter, broken))
                break
    return placed


def draw_marks(
    rng: np.random.Generator, box: Box, mm_per_px: float, sound: bool, body_specks_per_cm2: float
) -> tuple[Mark, ...]:
    """Draw a surface's marks: none on a sound one but the body's own specks."""
    area_cm2 = max(0.5, (box[2] - box[0]) * (box[3] - box[1]) / 100.0)
    kinds: list[str] = []
    if not sound:
        many = {"pinhole": 30, "blister": 22, "crater": 16, "speck": 40}
        chosen = rng.choice(list(many), size=int(rng.choice([1, 2, 3], p=[0.45, 0.35, 0.2])), replace=False)
        for kind in chosen:
            count = 1 + rng.poisson(rng.exponential(0.35) * min(area_cm2, 30.0))
            kinds += [str(kind)] * int(min(count, many[str(kind)]))
    if body_specks_per_cm2 > 0:
        kinds += ["speck"] * int(min(120, rng.poisson(body_specks_per_cm2 * area_cm2 * 0.5)))
    order = rng.permutation(len(kinds))
    return tuple(place_marks(rng, [kinds[i] for i in order], box, mm_per_px, bool(rng.random() < 0.35)))


def draw_crazing_plan(rng: np.random.Generator, mm_per_px: float) -> Crazing:
    """Draw a net that the photo can show: cells of at least 14 pixels, lines of at least a third of one."""
    cell = max(float(rng.lognormal(np.log(4.5), 0.5)), 14 * mm_per_px)
    stained = bool(rng.random() < 0.7)
    width = max(float(rng.lognormal(np.log(0.07), 0.45)), (0.45 if stained else 0.6) * mm_per_px)
    return Crazing(min(cell, 22.0), width, float(rng.uniform(0.35, 0.95)), stained)


def draw_crawling_plan(rng: np.random.Generator) -> Crawling:
    """Draw bare patches with rolled lips."""
    return Crawling(
        int(rng.integers(1, 14)), float(rng.lognormal(np.log(5.0), 0.5)), float(rng.uniform(0.25, 0.8))
    )


def draw_nuisance_plan(rng: np.random.Generator, area_cm2: float) -> Nuisances:
    """Draw what lies on the surface and is no fault."""
    dusty = rng.random() < 0.5
    return Nuisances(
        dust=int(min(90, rng.poisson(rng.exponential(0.5) * area_cm2))) if dusty else int(rng.integers(0, 4)),
        fibres=int(rng.choice([0, 1, 2, 4], p=[0.6, 0.2, 0.1, 0.1])),
        fingerprints=int(rng.choice([0, 1, 2], p=[0.7, 0.2, 0.1])),
        scratches=int(rng.choice([0, 1, 3], p=[0.75, 0.15, 0.1])),
        drops=int(rng.choice([0, 1, 3], p=[0.88, 0.08, 0.04])),
    )


def draw_faults(
    rng: np.random.Generator, box: Box, mm_per_px: float, body_specks_per_cm2: float
) -> dict[str, object]:
    """Draw what is wrong with a surface at random: a third are sound, a quarter crazed, a sixth crawled."""
    sound = bool(rng.random() < 0.31)
    fault = float(rng.random())
    return {
        "marks": draw_marks(rng, box, mm_per_px, sound, body_specks_per_cm2),
        "crazing": draw_crazing_plan(rng, mm_per_px) if not sound and fault < 0.26 else None,
        "crawling": draw_crawling_plan(rng) if not sound and 0.26 < fault < 0.42 else None,
        "nuisances": draw_nuisance_plan(rng, (box[2] - box[0]) * (box[3] - box[1]) / 100),
    }


def draw_mixed_faults(
    rng: np.random.Generator, box: Box, mm_per_px: float, body_specks_per_cm2: float
) -> dict[str, object]:
    """Draw marks of all kinds side by side, to tell them apart by: one surface in six is sound."""
    drawn = draw_faults(rng, box, mm_per_px, body_specks_per_cm2)
    if rng.random() < 1 / 6:
        return drawn | {"marks": draw_marks(rng, box, mm_per_px, True, body_specks_per_cm2)}
    kinds = [
        kind
        for kind, mean in (("pinhole", 9), ("blister", 9), ("crater", 9), ("speck", 7))
        if rng.random() < 0.8
        for _ in range(int(rng.poisson(mean * rng.uniform(0.3, 1.3))))
    ]
    shuffled = [kinds[i] for i in rng.permutation(len(kinds))]
    return drawn | {"marks": tuple(place_marks(rng, shuffled, box, mm_per_px, bool(rng.random() < 0.3)))}


def draw_dense_faults(
    rng: np.random.Generator, box: Box, mm_per_px: float, body_specks_per_cm2: float
) -> dict[str, object]:
    """Draw marks of all kinds side by side and a net on every second surface: much to learn from a photo."""
    drawn = draw_mixed_faults(rng, box, mm_per_px, body_specks_per_cm2)
    crazed = bool(rng.random() < 0.5)
    return drawn | {
        "crazing": draw_crazing_plan(rng, mm_per_px) if crazed else None,
        "crawling": None if crazed else drawn["crawling"],
    }
