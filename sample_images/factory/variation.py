"""Draws whole photos at random: the wide variation of the training and test sets."""

from __future__ import annotations

import numpy as np

from vision.card_layout import A5, A6, CardLayout

from . import bench
from .faults import draw_crawling_plan, draw_crazing_plan, draw_marks, draw_nuisance_plan
from .lights import draw_lighting
from .outline import Outline
from .palette import BODIES, GLAZES, Body, Glaze, vary_body, vary_glaze
from .paper import CHART_SIZE_MM, LABEL_SIZE_MM, Print
from .photo import PhotoPlan
from .scene import Item, Shot
from .table import TABLES
from .tile_surface import SurfaceSpec, make_surface
from .ware import ware_plan

__all__ = ["draw_photo"]


def _materials(rng: np.random.Generator) -> tuple[Body, Glaze]:
    body = vary_body(rng, BODIES[str(rng.choice(list(BODIES)))])
    glaze = vary_glaze(rng, GLAZES[str(rng.choice(list(GLAZES)))])
    return body, glaze


def _tile_spec(rng: np.random.Generator, mm_per_px: float, code: str | None, size: tuple[float, float]) -> SurfaceSpec:
    body, glaze = _materials(rng)
    shape = str(rng.choice(["rectangle", "round", "l_shape"], p=[0.9, 0.06, 0.04]))
    width, height = size
    hole = ()
    if rng.random() < 0.25:
        hole = ((width * float(rng.uniform(0.35, 0.65)), height * 0.07 + 2.5, float(rng.uniform(1.5, 3.0))),)
    outline = Outline(
        shape, width, height, float(rng.choice([0.5, 1.5, 4.0, 8.0], p=[0.35, 0.35, 0.2, 0.1])),
        float(rng.uniform(0.03, 0.35)), hole,
    )
    end = str(rng.choice(["bottom", "top", "none", "left"], p=[0.55, 0.25, 0.12, 0.08]))
    bare = float(rng.uniform(0.08, 0.3))
    box = (2.0, 2.0 + (bare * height if end == "top" else 0), width - 2.0, height - 2.0 - (bare * height if end == "bottom" else 0))
    sound = bool(rng.random() < 0.32)
    fault = rng.random()
    area = width * height / 100
    return SurfaceSpec(
        seed=int(rng.integers(1 << 31)),
        outline=outline,
        body=body,
        glaze=glaze,
        thickness_mm=float(rng.uniform(4.5, 8.5)),
        bare_end=end,
        bare_fraction=bare,
        coats=tuple(sorted(rng.uniform(0.25, 0.75, int(rng.choice([0, 1, 2], p=[0.7, 0.2, 0.1]))))),
        texture=float(rng.uniform(0.3, 1.0)) if rng.random() < 0.12 else 0.0,
        stripe=bool(rng.random() < 0.08),
        marks=draw_marks(rng, box, mm_per_px, sound, body.specks_per_cm2),
        crazing=draw_crazing_plan(rng, mm_per_px) if not sound and fault < 0.25 else None,
        crawling=draw_crawling_plan(rng) if not sound and 0.25 < fault < 0.42 else None,
        nuisances=draw_nuisance_plan(rng, area),
        code=code,
    )


def _tile_sizes(rng: np.random.Generator, count: int) -> list[tuple[float, float]]:
    wide = float(rng.uniform(38, 70))
    tall = float(rng.uniform(1.2, 2.2)) * wide
    if rng.random() < 0.12:
        wide, tall = tall, wide
    return [(wide + float(rng.normal(0, 1.0)), tall + float(rng.normal(0, 1.5))) for _ in range(count)]


def _tile_photo(rng: np.random.Generator, with_card: bool, with_chart: bool, size_px: tuple[int, int]) -> PhotoPlan:
    count = int(rng.choice([1, 2, 3, 4, 6], p=[0.5, 0.26, 0.12, 0.08, 0.04]))
    sizes = _tile_sizes(rng, count)
    columns = count if count <= 4 else (count + 1) // 2
    frames, (wide, tall) = bench.lay_rows(rng, sizes, columns, float(rng.uniform(6, 26)))
    labels = rng.random() < 0.45
    codes = [f"{rng.choice(list('TGSK'))}-{int(rng.integers(1, 9999)):04d}" if labels else None for _ in range(count)]
    box = [0.0, -tall, wide, 0.0]
    placed: dict[str, bench.Frame] = {}
    label_frames = []
    if labels:
        for (x, y, _, turn), (w, h) in zip(frames, sizes, strict=True):
            del w
            label_frames.append((x + float(rng.uniform(0, 5)), y - h - float(rng.uniform(5, 9)), 0.15, turn + float(rng.normal(0, 4))))
        box[1] -= LABEL_SIZE_MM[1] + 8
    layout: CardLayout = A5 if rng.random() < 0.12 else A6
    wanted = ([("card", (layout.width_mm, layout.height_mm))] if with_card else []) + ([("chart", CHART_SIZE_MM)] if with_chart else [])
    for name, (w, h) in wanted:
        # Put it where the whole stays nearest to the photo's own shape.
        aspect = size_px[0] / size_px[1]
        beside = (box[2] - box[0] + w) / max(box[3] - box[1], h)
        below = max(box[2] - box[0], w) / (box[3] - box[1] + h)
        gap, turn = float(rng.uniform(6, 22)), float(np.clip(rng.normal(0, 5), -14, 14))
        sway = np.sin(np.radians(abs(turn)))
        if abs(np.log(beside / aspect)) < abs(np.log(below / aspect)):
            y = box[3] - float(rng.uniform(0, max(0.1, box[3] - box[1] - h)))
            if rng.random() < 0.5:
                placed[name] = (box[2] + gap + sway * h, y, 0.2, turn)
                box[2] += gap + w + 2 * sway * h
            else:
                placed[name] = (box[0] - gap - w - sway * h, y, 0.2, turn)
                box[0] -= gap + w + 2 * sway * h
            box[1] = min(box[1], y - h - sway * w)
        else:
            x = box[0] + float(rng.uniform(0, max(0.1, box[2] - box[0] - w)))
            placed[name] = (x, box[1] - gap - sway * w, 0.2, turn)
            box[1] -= gap + h + 2 * sway * w
            box[2] = max(box[2], x + w)
    tilt = float(np.clip(abs(rng.normal(0, 11)), 0, 25))
    slack = float(rng.uniform(1.06, 1.3)) * (1 + 0.006 * tilt)
    camera = bench.camera_over(rng, tuple(box), size_px, tilt, slack)
    scale = _scale(camera)
    step = float(np.clip(scale * 0.95, 0.03, 0.16))
    items: list[Item] = []
    span = float(np.hypot(box[2] - box[0], box[3] - box[1]) * slack * 2.2 + 60)
    items.append(bench.table_item(rng, str(rng.choice(TABLES)), span, camera.target, 1536))
    printing = Print.of(rng)
    for index, frame in enumerate(frames):
        surface = make_surface(_tile_spec(rng, scale, codes[index], sizes[index]), step)
        items.append(bench.tile_item(f"tile{index}", surface, frame, 1 if step > 0.05 else 2))
    for index, frame in enumerate(label_frames):
        items.append(bench.label_item(rng, f"label{index}", codes[index], frame, printing, 12.0))
    if "card" in placed:
        curl = float(rng.uniform(0, 0.5) if rng.random() < 0.8 else rng.uniform(0.5, 1.5))
        dirt = float(rng.uniform(0, 0.6))
        items.append(bench.card_item(rng, layout, placed["card"], printing, 10.0, dirt, curl))
    thick = float(rng.uniform(0.4, 2.0))
    if "chart" in placed:
        x, y, _, turn = placed["chart"]
        items.append(bench.chart_item((x, y, 0.0, turn), 8.0, thick))
    if rng.random() < 0.2:
        corner = np.array([box[2] + rng.uniform(5, 40), box[3] + rng.uniform(0, 30)])
        items.append(bench.pencil_item(rng, corner))
    return _finish(rng, "tile", camera, items, layout if "card" in placed else None, printing, thick)


def _scale(camera) -> float:  # noqa: ANN001
    return float(np.linalg.norm(camera.position - camera.target) / camera.focal_px)


def _finish(rng, subject, camera, items, layout, printing, chart_thick) -> PhotoPlan:  # noqa: ANN001
    gaze = camera.target - camera.position
    mirror = gaze / np.linalg.norm(gaze) * np.array([1, 1, -1])
    lighting = draw_lighting(rng, camera.target, mirror)
    items = items + bench.photographer_items(rng, camera)
    shot = Shot(camera, tuple(items), lighting, 4, int(rng.integers(1 << 30)))
    return PhotoPlan(subject, shot, layout, printing, chart_thick, int(rng.integers(1 << 31)))


def _patch_photo(rng: np.random.Generator, size_px: tuple[int, int]) -> PhotoPlan:
    scale = float(rng.uniform(0.03, 0.085))
    wide, tall = size_px[0] * scale * 1.35 + 16, size_px[1] * scale * 1.45 + 16
    body, glaze = _materials(rng)
    sound = bool(rng.random() < 0.3)
    fault = rng.random()
    margin = 0.14
    box = (wide * margin, tall * margin, wide * (1 - margin), tall * (1 - margin))
    spec = SurfaceSpec(
        seed=int(rng.integers(1 << 31)), outline=Outline("rectangle", wide, tall), body=body, glaze=glaze, bare_end="none",
        marks=draw_marks(rng, box, scale, sound, body.specks_per_cm2),
        crazing=draw_crazing_plan(rng, scale) if not sound and fault < 0.28 else None,
        crawling=draw_crawling_plan(rng) if not sound and 0.28 < fault < 0.42 else None,
        nuisances=draw_nuisance_plan(rng, wide * tall / 100), flat_edge=True,
    )
    frame = (-wide / 2, tall / 2, 0.0, 0.0)
    surface = make_surface(spec, max(0.035, scale))
    tilt = float(np.clip(abs(rng.normal(0, 9)), 0, 20))
    view = (-size_px[0] * scale / 2, -size_px[1] * scale / 2, size_px[0] * scale / 2, size_px[1] * scale / 2)
    camera = bench.camera_over(rng, view, size_px, tilt, 1.0, float(rng.uniform(28, 50)))
    items = [bench.tile_item("tile0", surface, frame, 1)]
    return _finish(rng, "patch", camera, items, None, Print.of(rng), 0.0)


def draw_photo(seed: tuple[int, ...], subject: str | None = None, careful: bool = False) -> PhotoPlan:
    """Draw one photo.

    Parameters
    ----------
    seed : the photo's own seed words; equal seeds give equal photos
    subject : tile, ware or patch; None draws one (65, 15, 20 of 100)
    careful : True for test photos: a tile photo nearly always has the card, half of them the chart too
    """
    rng = np.random.default_rng(list(seed))
    subject = subject or str(rng.choice(["tile", "ware", "patch"], p=[0.65, 0.15, 0.20]))
    if subject == "tile":
        with_card = bool(rng.random() < (0.95 if careful else 0.6))
        with_chart = bool(with_card and rng.random() < (0.5 if careful else 0.2))
        size = (1840, 1380) if with_card or with_chart else (1600, 1200)
        if careful:
            size = (1840, 1380)
        if rng.random() < 0.25:
            size = (size[1], size[0])
        return _tile_photo(rng, with_card, with_chart, size)
    size = (1600, 1200) if rng.random() < 0.75 else (1200, 1600)
    if subject == "patch":
        return _patch_photo(rng, size)
    camera, items, layout, printing = ware_plan(rng, size, *_materials(rng))
    return _finish(rng, "ware", camera, items, layout, printing, 0.0)
