"""Draws whole photos at random: the wide variation of the training and test sets."""

from __future__ import annotations

from functools import partial

import numpy as np

from vision.card_layout import A5, A6, CardLayout

from . import bench
from .camera import Camera
from .faults import Box, DrawTileFaults, draw_faults
from .layout import arrange
from .lights import draw_lighting
from .outline import Outline
from .palette import BODIES, GLAZES, Body, Glaze, vary_body, vary_glaze
from .paper import CHART_SIZE_MM, Print
from .patch import patch_plan
from .photo import PhotoPlan
from .scene import Item, Shot
from .table import TABLES
from .tile_surface import SurfaceSpec, make_surface
from .ware import ware_plan

__all__ = ["draw_card_photo", "draw_photo", "draw_tile"]

_SAMPLES = 4
_LAYOUT_PX = (640, 480)


def _materials(rng: np.random.Generator) -> tuple[Body, Glaze]:
    body = vary_body(rng, BODIES[str(rng.choice(list(BODIES)))])
    glaze = vary_glaze(rng, GLAZES[str(rng.choice(list(GLAZES)))])
    return body, glaze


_USUAL_SHAPES, _ODD_SHAPES = (0.9, 0.06, 0.04), (0.6, 0.22, 0.18)
"""Odds of a rectangle, a round or oval tile, an L, in a usual photo and where shapes are to be learnt."""


def _outline(rng: np.random.Generator, width: float, height: float, odds: tuple[float, ...]) -> Outline:
    shape = str(rng.choice(["rectangle", "round", "l_shape"], p=odds))
    holes: tuple[tuple[float, float, float], ...] = ()
    if rng.random() < 0.25:
        holes = ((width * float(rng.uniform(0.35, 0.65)), height * 0.07 + 2.5, float(rng.uniform(1.5, 3.0))),)
    corner = float(rng.choice([0.5, 1.5, 4.0, 8.0], p=[0.35, 0.35, 0.2, 0.1]))
    return Outline(shape, width, height, corner, float(rng.uniform(0.03, 0.35)), holes)


def _tile_spec(
    rng: np.random.Generator,
    mm_per_px: float,
    code: str | None,
    size: tuple[float, float],
    odds: tuple[float, ...],
    faults: DrawTileFaults,
) -> SurfaceSpec:
    body, glaze = _materials(rng)
    width, height = size
    end = str(rng.choice(["bottom", "top", "none", "left"], p=[0.55, 0.25, 0.12, 0.08]))
    bare = float(rng.uniform(0.08, 0.3))
    strip = bare * height
    box: Box = (2.0, 2.0 + strip * (end == "top"), width - 2.0, height - 2.0 - strip * (end == "bottom"))
    coats = int(rng.choice([0, 1, 2], p=[0.7, 0.2, 0.1]))
    return SurfaceSpec(
        seed=int(rng.integers(1 << 31)),
        outline=_outline(rng, width, height, odds),
        body=body,
        glaze=glaze,
        thickness_mm=float(rng.uniform(4.5, 8.5)),
        bare_end=end,
        bare_fraction=bare,
        coats=tuple(sorted(float(start) for start in rng.uniform(0.25, 0.75, coats))),
        texture=float(rng.uniform(0.3, 1.0)) if rng.random() < 0.12 else 0.0,
        stripe=bool(rng.random() < 0.08),
        code=code,
        **faults(rng, box, mm_per_px, body.specks_per_cm2),
    )


def _tile_sizes(rng: np.random.Generator, count: int) -> list[tuple[float, float]]:
    wide = float(rng.uniform(38, 70))
    tall = float(rng.uniform(1.2, 2.2)) * wide
    if rng.random() < 0.12:
        wide, tall = tall, wide
    return [(wide + float(rng.normal(0, 1.0)), tall + float(rng.normal(0, 1.5))) for _ in range(count)]


def _tile_photo(
    rng: np.random.Generator,
    with_card: bool,
    with_chart: bool,
    size_px: tuple[int, int],
    odds: tuple[float, ...],
    coarsest_mm: float,
    printed: Print | None = None,
    of_size: CardLayout | None = None,
    faults: DrawTileFaults = draw_faults,
) -> PhotoPlan:
    count = int(rng.choice([1, 2, 3, 4, 6], p=[0.5, 0.26, 0.12, 0.08, 0.04]))
    sizes = _tile_sizes(rng, count)
    labelled = bool(rng.random() < 0.45)
    codes = [
        f"{rng.choice(list('TGSK'))}-{int(rng.integers(1, 9999)):04d}" if labelled else None
        for _ in range(count)
    ]
    columns = count if count <= 4 else (count + 1) // 2
    placed = arrange(rng, sizes, columns, float(rng.uniform(6, 26)), labelled)
    aspect = size_px[0] / size_px[1]
    drawn: CardLayout = A5 if rng.random() < 0.12 else A6
    layout = of_size or drawn
    if with_card:
        placed.add_paper(rng, "card", (layout.width_mm, layout.height_mm), aspect)
    if with_chart:
        placed.add_paper(rng, "chart", CHART_SIZE_MM, aspect)
    left, low, right, top = placed.box
    tilt = float(np.clip(abs(rng.normal(0, 11)), 0, 25))
    slack = float(rng.uniform(1.06, 1.3)) * (1 + 0.006 * tilt)
    camera = bench.camera_over(rng, (left, low, right, top), size_px, tilt, slack)
    scale = camera.centre_mm_per_px
    step = float(np.clip(scale * 0.95, 0.03, coarsest_mm))
    span = float(np.hypot(right - left, top - low) * slack * 2.2 + 60)
    items: list[Item] = [bench.table_item(rng, str(rng.choice(TABLES)), span, camera.target, 1536)]
    printing = printed or Print.of(rng)
    for index, frame in enumerate(placed.tiles):
        surface = make_surface(_tile_spec(rng, scale, codes[index], sizes[index], odds, faults), step)
        items.append(bench.tile_item(f"tile{index}", surface, frame, 1 if step > 0.05 else 2))
    for index, frame in enumerate(placed.labels):
        items.append(bench.label_item(rng, f"label{index}", str(codes[index]), frame, printing, 12.0))
    if with_card:
        curl = float(rng.uniform(0, 0.5) if rng.random() < 0.8 else rng.uniform(0.5, 1.5))
        dirt = float(rng.uniform(0, 0.6))
        items.append(bench.card_item(rng, layout, placed.papers["card"], printing, 10.0, dirt, curl))
    thick = float(rng.uniform(0.4, 2.0))
    if with_chart:
        x, y, _, turn = placed.papers["chart"]
        items.append(bench.chart_item((x, y, 0.0, turn), 8.0, thick))
    if rng.random() < 0.2:
        items.append(bench.pencil_item(rng, np.array([right + rng.uniform(5, 40), top + rng.uniform(0, 30)])))
    return _lit(rng, "tile", camera, items, layout if with_card else None, printing, thick)


def _lit(
    rng: np.random.Generator,
    subject: str,
    camera: Camera,
    items: list[Item],
    layout: CardLayout | None,
    printing: Print,
    chart_thick_mm: float = 0.0,
) -> PhotoPlan:
    """Bring light, photographer and phone to a scene."""
    lighting = draw_lighting(rng, camera)
    everything = (*items, *bench.photographer_items(rng, camera))
    shot = Shot(camera, everything, lighting, _SAMPLES, int(rng.integers(1 << 30)))
    return PhotoPlan(subject, shot, layout, printing, chart_thick_mm, int(rng.integers(1 << 31)))


def draw_photo(
    seed: tuple[int, ...],
    subject: str | None = None,
    careful: bool = False,
    layout: bool = False,
    tile_faults: DrawTileFaults = draw_faults,
    size_px: tuple[int, int] | None = None,
) -> PhotoPlan:
    """Draw one photo.

    Parameters
    ----------
    seed : the photo's own seed words; equal seeds give equal photos
    subject : tile, ware or patch; None draws one (65, 15, 20 of 100)
    careful : True for test photos: a tile photo nearly always has the card, half of them the chart too
    layout : True for a small photo, coarse surfaces, more round and L-shaped tiles: what counts is where
        pieces lie
    tile_faults : draws what is wrong with each surface
    size_px : width and height of the photo, the usual where None; some are upright
    """
    rng = np.random.default_rng(list(seed))
    subject = subject or str(rng.choice(["tile", "ware", "patch"], p=[0.65, 0.15, 0.20]))
    if subject == "tile":
        with_card = bool(rng.random() < (0.95 if careful else 0.6))
        with_chart = bool(with_card and rng.random() < (0.5 if careful else 0.2))
        size = size_px or ((1840, 1380) if with_card or careful else (1600, 1200))
        if layout:
            size = _LAYOUT_PX
        if rng.random() < 0.25:
            size = (size[1], size[0])
        odds, coarsest_mm = (_ODD_SHAPES, 0.4) if layout else (_USUAL_SHAPES, 0.16)
        return _tile_photo(rng, with_card, with_chart, size, odds, coarsest_mm, faults=tile_faults)
    size = size_px or ((1600, 1200) if not layout else _LAYOUT_PX)
    if rng.random() >= 0.75:
        size = (size[1], size[0])
    body, glaze = _materials(rng)
    faults = partial(tile_faults, body_specks_per_cm2=body.specks_per_cm2)
    if subject == "patch":
        camera, items = patch_plan(rng, size, body, glaze, faults)
        return _lit(rng, "patch", camera, items, None, Print())
    camera, items, card, printing = ware_plan(rng, size, body, glaze, faults, layout=layout)
    return _lit(rng, "ware", camera, items, card, printing)


def draw_tile(rng: np.random.Generator, mm_per_px: float) -> SurfaceSpec:
    """Draw one tile as in a usual photo of that scale."""
    return _tile_spec(rng, mm_per_px, None, _tile_sizes(rng, 1)[0], _USUAL_SHAPES, draw_faults)


def draw_card_photo(seed: tuple[int, ...], printing: Print, layout: CardLayout) -> PhotoPlan:
    """Draw a photo of tiles with the chart and one printed card, in all else as `draw_photo`."""
    rng = np.random.default_rng(list(seed))
    return _tile_photo(rng, True, True, (1840, 1380), _USUAL_SHAPES, 0.16, printing, layout)
