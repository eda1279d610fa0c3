"""Turns the photos of scenario.json into plans: clays, glazes, coats, faults, tables and lights."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from vision.card_layout import A6

from . import bench
from .camera import Camera
from .colour import lab_to_linear, linear_to_lab
from .faults import Box, DrawFaults, place_marks
from .layout import arrange
from .lights import Lamp, Lighting, white_of
from .networks import Crawling, Crazing
from .nuisance import Nuisances
from .outline import Outline
from .palette import Body, Glaze
from .paper import CHART_SIZE_MM, Print
from .patch import patch_plan
from .photo import PhotoPlan
from .scene import Item, Shot
from .tile_surface import SurfaceSpec, make_surface
from .ware import ware_plan

__all__ = ["STUDIO_PRINT", "glaze_on", "plan_of"]

STUDIO_PRINT = Print((0.845, 0.85, 0.862), 1.05, (1.012, 1.0, 0.988), 0.019)
"""The studio's one printer and paper: every sample photo shows the same card."""

ROUGHNESS = {"gloss": 0.11, "satin": 0.31, "matt": 0.52}
TILE_MM = (52.0, 104.0)
LONG_SIDE_PX, SHORT_SIDE_PX = 2560, 1920


def _lab(linear: np.ndarray) -> tuple[float, float, float]:
    light, a_star, b_star = (float(v) for v in linear_to_lab(linear))
    return (light, a_star, b_star)


def glaze_on(render: Mapping[str, Any], body: Body, coats: float, raw_mm: float | None) -> Glaze:
    """Give the look of a glaze of the scenario on a clay.

    Parameters
    ----------
    render : the recipe's `render` entry: lab, finish, opacity of one coat, variegation
    body : clay below
    coats : how many
    raw_mm : raw coat, mm; None takes 0.3 a coat. The fired coat is taken as 0.55 of it (eye estimate).

    Notes
    -----
    The clay shows through as exp(-density x coats), coloured by the glaze. Chosen to look right.
    """
    colour = lab_to_linear(render["lab"])
    density = -np.log(max(1e-3, 1 - min(0.995, render["opacity"]))) * 0.75
    clay = lab_to_linear(body.lab) * (colour / colour.max()) ** 0.45 * 0.93

    def seen(share: float) -> tuple[float, float, float]:
        cover = 1 - np.exp(-density * coats * share)
        return _lab((colour * (1 - 0.05 * max(0.0, coats * share - 1))) * cover + clay * (1 - cover))

    return Glaze(
        name=str(render.get("name", "")),
        thin_lab=seen(0.22),
        thick_lab=seen(1.2),
        roughness=ROUGHNESS[render["finish"]],
        variegation=float(render.get("variegation", 0.1)),
        streak=0.4 * float(render.get("variegation", 0.1)),
        thickness_mm=0.55 * (raw_mm if raw_mm is not None else 0.3 * coats),
        run={"gloss": 0.35, "satin": 0.12, "matt": 0.05}[render["finish"]],
    )


def _faults_of(wanted: Mapping[str, Any], specks_per_cm2: float) -> DrawFaults:
    """Give the drawer of the very faults a scenario tile asks for, with a sound tile's dust."""

    def draw(rng: np.random.Generator, box: Box, mm_per_px: float) -> dict[str, object]:
        kinds = [kind for kind, count in wanted.get("marks", {}).items() for _ in range(count)]
        rng.shuffle(kinds)
        area = (box[2] - box[0]) * (box[3] - box[1])
        kinds += ["speck"] * rng.poisson(specks_per_cm2 * area / 100)
        marks = place_marks(rng, kinds, box, 0.75 * mm_per_px, len(kinds) > 14, 80)
        craze, crawl = wanted.get("crazing"), wanted.get("crawling")
        crazing = crawling = None
        if craze:
            stained = bool(craze["stained"])
            crazing = Crazing(
                float(craze["cell_mm"]), 0.08 if stained else 0.09, 0.9 if stained else 0.6, stained
            )
        if crawl:
            size = float(np.sqrt(crawl["area_fraction"] * area / crawl["spots"]) * 1.25)
            crawling = Crawling(int(crawl["spots"]), size, 0.6)
        dust = Nuisances(int(rng.integers(2, 14)), int(rng.integers(0, 3)), int(rng.random() < 0.3), 0, 0)
        return {"marks": tuple(marks), "crazing": crazing, "crawling": crawling, "nuisances": dust}

    return draw


def _materials(scenario: Mapping[str, Any], tile: Mapping[str, Any]) -> tuple[Body, Glaze, float]:
    look = {body["name"]: body["render"] for body in scenario["bodies"]}[tile["body"]]
    body = Body(tile["body"], tuple(look["lab"]), float(look["grog"]), 0.0)
    layer = tile["layers"][0]
    recipe = {recipe["name"]: recipe["render"] for recipe in scenario["recipes"]}[layer["recipe"]]
    glaze = glaze_on(
        recipe | {"name": layer["recipe"]}, body, float(layer["coats"]), layer.get("raw_thickness_mm")
    )
    specks = 0.5 if look["grog"] > 0.3 and recipe["opacity"] < 0.9 else 0.0
    return body, glaze, specks


def light_named(rng: np.random.Generator, name: str, camera: Camera) -> Lighting:
    """Give one of the studio's lights: window, ceiling, lamp, or window and ceiling."""
    target, mirror = camera.target, camera.mirrored_gaze()
    lamps: list[Lamp] = []
    if "window" in name:
        azimuth = float(rng.choice([np.pi * 0.9, np.pi * 0.62, np.pi * 0.2]) + rng.normal(0, 0.15))
        centre = target + np.array([np.cos(azimuth) * 1150, np.sin(azimuth) * 1150, rng.uniform(650, 950)])
        day = white_of(float(rng.uniform(5600, 7200)))
        lamps.append(Lamp("window", centre, target, 1150, 1250, 1.1, day, (2, 3), int(rng.integers(1 << 30))))
    if "ceiling" in name:
        for side in (-1, 1):
            towards = mirror + np.array([side * 0.28, rng.normal(0, 0.12), 0.0])
            place = target + towards / np.linalg.norm(towards) * 1550
            cool = white_of(float(rng.uniform(3700, 4300)), 0.004)
            lamps.append(Lamp("tube", place, target, 1200, 42, 0.42, cool))
    if "lamp" in name:
        towards = mirror + np.array([rng.choice([-0.5, 0.5]), rng.normal(0.25, 0.1), 0.0])
        place = target + towards / np.linalg.norm(towards) * 620
        lamps.append(Lamp("bulb", place, target, 85, 85, 1.1, white_of(2950)))
    room = "workshop" if rng.random() < 0.6 else "lobby"
    share = 0.5 if "lamp" in name else 0.75
    return Lighting(
        tuple(lamps), room, float(rng.uniform(0, 360)), share, white_of(4500), int(rng.integers(1 << 30))
    )


def _flat_photo(
    scenario: Mapping[str, Any], photo: Mapping[str, Any], rng: np.random.Generator
) -> tuple[Camera, list[Item], float]:
    tiles = photo["tiles"]
    sizes = [(TILE_MM[0] + float(rng.normal(0, 0.8)), TILE_MM[1] + float(rng.normal(0, 1.2))) for _ in tiles]
    portrait = len(tiles) >= 2
    size_px = (SHORT_SIDE_PX, LONG_SIDE_PX) if portrait else (LONG_SIDE_PX, SHORT_SIDE_PX)
    if photo.get("chart") and portrait:
        size_px = (LONG_SIDE_PX, SHORT_SIDE_PX)
    aspect = size_px[0] / size_px[1]
    placed = arrange(rng, sizes, len(tiles), float(rng.uniform(9, 18)), True)
    placed.add_paper(rng, "card", (A6.width_mm, A6.height_mm), aspect)
    if photo.get("chart"):
        placed.add_paper(rng, "chart", CHART_SIZE_MM, aspect)
    left, low, right, top = placed.box
    tilt = float(rng.uniform(4, 19))
    camera = bench.camera_over(
        rng, (left, low, right, top), size_px, tilt, 1.08 + 0.005 * tilt, float(rng.uniform(44, 58))
    )
    scale = camera.centre_mm_per_px
    span = float(np.hypot(right - left, top - low) * 2.4 + 60)
    items = [bench.table_item(rng, photo["table"], span, camera.target, 3200, 0.3)]
    for index, (tile, frame, size) in enumerate(zip(tiles, placed.tiles, sizes, strict=True)):
        body, glaze, specks = _materials(scenario, tile)
        bare = float(rng.uniform(0.13, 0.17))
        box: Box = (2.5, 3.0, size[0] - 2.5, size[1] * (1 - bare) - 4.0)
        faults = _faults_of(tile["render"], specks)(rng, box, scale)
        spec = SurfaceSpec(
            seed=int(rng.integers(1 << 31)),
            outline=Outline("rectangle", *size, 1.5, 0.13, ((size[0] / 2, 7.0, 2.2),)),
            body=body,
            glaze=glaze,
            thickness_mm=6.3,
            bare_fraction=bare,
            code=tile["code"],
            **faults,
        )
        items.append(bench.tile_item(f"tile{index}", make_surface(spec, 0.09), frame, 1))
        items.append(
            bench.label_item(rng, f"label{index}", tile["code"], placed.labels[index], STUDIO_PRINT, 14.0)
        )
    items.append(bench.card_item(rng, A6, placed.papers["card"], STUDIO_PRINT, 14.0, 0.25, 0.4))
    if photo.get("chart"):
        x, y, _, turn = placed.papers["chart"]
        items.append(bench.chart_item((x, y, 0.0, turn), 8.0, 1.5))
    if rng.random() < 0.4:
        items.append(bench.pencil_item(rng, np.array([right + 12, top + rng.uniform(-20, 20)])))
    return camera, items, 1.5


def plan_of(scenario: Mapping[str, Any], index: int, seed: tuple[int, ...]) -> PhotoPlan:
    """Plan one photo of the scenario.

    Parameters
    ----------
    scenario : the parsed scenario.json
    index : which of its photos
    seed : seed words; equal seeds give equal photos
    """
    photo = scenario["photos"][index]
    rng = np.random.default_rng(list(seed))
    subject = photo.get("subject", "tile")
    thick = 0.0
    if subject == "tile":
        camera, items, thick = _flat_photo(scenario, photo, rng)
    else:
        tile = photo["tiles"][0]
        body, glaze, specks = _materials(scenario, tile)
        faults = _faults_of(tile["render"], specks)
        size_px = (LONG_SIDE_PX, SHORT_SIDE_PX)
        if subject == "patch":
            camera, items = patch_plan(rng, size_px, body, glaze, faults, 0.03)
        else:
            camera, items, _, _ = ware_plan(rng, size_px, body, glaze, faults, "mug", photo["table"], 0.3)
        for item in items:
            if item.surface is not None:
                item.surface.truth["code"] = tile["code"]
    lighting = light_named(rng, photo["light"], camera)
    shot = Shot(
        camera, (*items, *bench.photographer_items(rng, camera)), lighting, 4, int(rng.integers(1 << 30))
    )
    layout = A6 if photo.get("card") else None
    return PhotoPlan(subject, shot, layout, STUDIO_PRINT, thick, int(rng.integers(1 << 31)), calm=True)
