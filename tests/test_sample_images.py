"""The demo photos carry their truth; a made surface has the relief asked of it (no renderer needed)."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

FOLDER = Path(__file__).resolve().parents[1] / "sample_images"
sys.path.insert(0, str(FOLDER))

from factory.colour import chart_patches, lab_to_linear, linear_to_lab  # noqa: E402
from factory.marks import Mark  # noqa: E402
from factory.networks import Crawling, Crazing  # noqa: E402
from factory.outline import Outline  # noqa: E402
from factory.palette import BODIES, GLAZES  # noqa: E402
from factory.tile_surface import Surface, SurfaceSpec, make_surface  # noqa: E402

SCENARIO = json.loads((FOLDER / "scenario.json").read_text(encoding="utf-8"))
PHOTOS = [photo["file"] for photo in SCENARIO["photos"]]
STEP_MM = 0.08


def truth_of(file: str) -> dict[str, Any]:
    return json.loads((FOLDER / file).with_suffix(".json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("file", PHOTOS)
def test_photo_has_its_truth_inside_its_frame(file: str) -> None:
    image = cv2.imread(str(FOLDER / file))
    assert image is not None, f"{file} can't be read"
    rows, cols = image.shape[:2]
    assert max(rows, cols) >= 2400
    truth = truth_of(file)
    assert truth["photo"] == file
    assert (truth["width_px"], truth["height_px"]) == (cols, rows)
    for tile in truth["tiles"]:
        outline = np.array(tile["outline_px"])
        assert len(outline) >= 4
        assert (outline >= -1).all(), f"{file} {tile['code']}"
        assert (outline <= [cols, rows]).all(), f"{file} {tile['code']}"
        for mark in tile["marks"]:
            place = (mark["x_px"], mark["y_px"])
            inside = cv2.pointPolygonTest(outline.astype(np.float32), place, measureDist=True)
            assert inside > -1.0, f"{file} {tile['code']}: {mark} lies outside its tile"


def test_scenario_and_truth_name_the_same_pieces() -> None:
    for photo in SCENARIO["photos"]:
        truth = truth_of(photo["file"])
        assert [tile["code"] for tile in truth["tiles"]] == [tile["code"] for tile in photo["tiles"]]
        assert (truth["card"] is not None) == (photo["card"] is not None)
        assert (truth["chart"] is not None) == bool(photo.get("chart"))
        assert truth["subject"] == photo.get("subject", "tile")


@pytest.mark.parametrize("photo", SCENARIO["photos"], ids=lambda photo: photo["file"])
def test_faults_asked_for_are_in_the_photo(photo: dict[str, Any]) -> None:
    for wanted, made in zip(photo["tiles"], truth_of(photo["file"])["tiles"], strict=True):
        assert made["crazing"]["present"] == ("crazing" in wanted["render"])
        assert made["crawling"]["present"] == ("crawling" in wanted["render"])
        found = [mark["kind"] for mark in made["marks"]]
        for kind, count in wanted["render"].get("marks", {}).items():
            # On ware some lie on the far side; in a close-up some fall outside the frame.
            share = 0.8 if wanted["kind"] == "tile" else 0.25
            assert found.count(kind) >= share * count, f"{made['code']}: {kind} {found.count(kind)}/{count}"


def test_photos_are_small_enough_to_ship() -> None:
    total = sum((FOLDER / file).stat().st_size for file in PHOTOS)
    assert total <= 12_000_000


def plain(**more: Any) -> Surface:
    return make_surface(
        SurfaceSpec(
            5, Outline("rectangle", 30.0, 40.0), BODIES["buff stoneware"], GLAZES["gloss white"], **more
        ),
        STEP_MM,
    )


@pytest.mark.parametrize(
    ("kind", "at_centre", "at_rim"),
    [("pinhole", -1, 0), ("blister", 1, 0), ("crater", -1, 1), ("speck", 0, 0)],
)
def test_mark_has_its_relief(kind: str, at_centre: int, at_rim: int) -> None:
    mark = Mark(kind, 14.0, 17.0, 2.4)
    sound, marked = plain(), plain(marks=(mark,))
    change = marked.canvas.height - sound.canvas.height
    centre = change[marked.canvas.cell(mark.x_mm, mark.y_mm)]
    window = marked.canvas.window(mark.x_mm, mark.y_mm, 2.0)
    ring = change[window.where][np.abs(window.radius_mm - 1.2) < 0.1].mean()
    assert np.sign(np.round(centre, 2)) == at_centre, f"centre {centre:.3f} mm"
    if at_rim:
        assert ring > 0.05, f"rim {ring:.3f} mm"
    far = window.radius_mm > 2.3
    assert np.abs(change[window.where][far]).max() < 0.06
    colour = np.abs(marked.canvas.colour - sound.canvas.colour).max(axis=-1)
    row, col = np.unravel_index(int(colour.argmax()), colour.shape)
    x_mm = (col + 0.5) * STEP_MM - marked.canvas.margin_mm
    y_mm = (row + 0.5) * STEP_MM - marked.canvas.margin_mm
    assert np.hypot(x_mm - mark.x_mm, y_mm - mark.y_mm) < 1.6
    assert [listed["kind"] for listed in marked.truth["marks"]] == [kind]


def test_speck_of_asked_diameter_is_dark_to_its_edge() -> None:
    mark = Mark("speck", 15.0, 15.0, 3.0)
    sound, marked = plain(), plain(marks=(mark,))
    dark = marked.canvas.colour.mean(axis=-1) < 0.5 * sound.canvas.colour.mean(axis=-1)
    area_mm2 = float(dark.sum()) * STEP_MM**2
    assert 2 * np.sqrt(area_mm2 / np.pi) == pytest.approx(3.0, rel=0.25)


def test_glaze_colour_is_near_the_one_asked_for() -> None:
    lab = plain().truth["glaze_lab"]
    assert np.hypot(lab[1], lab[2]) < 12
    assert 80 < lab[0] < 94


def test_crazing_net_has_its_cell_size() -> None:
    made = plain(crazing=Crazing(4.0), bare_end="none")
    glazed_mm2 = float(made.canvas.glazed.sum()) * STEP_MM**2
    cells, _ = cv2.connectedComponents((~made.crazed & made.canvas.glazed).astype(np.uint8), connectivity=4)
    assert np.sqrt(glazed_mm2 / (cells - 1)) == pytest.approx(4.0, rel=0.45)
    # Plane geometry: a net of hexagons of area A has sqrt(2 sqrt 3) sqrt A = 1.861 sqrt A of line a cell.
    assert made.truth["crazing"]["length_mm_per_cm2"] == pytest.approx(100 * 1.861 / 4.0, rel=0.2)


def test_crawling_bares_the_body_and_rolls_a_lip() -> None:
    sound, made = plain(bare_end="none"), plain(bare_end="none", crawling=Crawling(3, 6.0, 0.5))
    assert made.truth["crawling"]["spots"] >= 1
    assert not made.canvas.glazed[made.crawled].any()
    assert made.canvas.height[made.crawled].mean() < sound.canvas.height[made.crawled].mean() - 0.1
    ring = (cv2.dilate(made.crawled.astype(np.uint8), np.ones((13, 13), np.uint8)) > 0) & ~made.crawled
    assert (made.canvas.height - sound.canvas.height)[ring].mean() > 0.15


def test_equal_seeds_make_equal_surfaces() -> None:
    first, second = plain(), plain()
    assert np.array_equal(first.canvas.height, second.canvas.height)
    assert np.array_equal(first.canvas.colour, second.canvas.colour)


def test_colours_agree_with_an_independent_library() -> None:
    colour = pytest.importorskip("colour")  # colour-science: an independent implementation
    lab = np.array([[53.0, 40.0, -20.0], [20.0, -5.0, 8.0], [88.0, 1.0, 12.0]])
    theirs = colour.XYZ_to_RGB(
        colour.Lab_to_XYZ(lab, [0.3127, 0.3290]), "sRGB", [0.3127, 0.3290], apply_cctf_encoding=False
    )
    assert lab_to_linear(lab) == pytest.approx(np.clip(theirs, 0.002, 0.95), abs=1.5e-3)
    assert linear_to_lab(lab_to_linear(lab)) == pytest.approx(lab, abs=0.05)
    # Chart values: colour-science's own data set, adapted by its own Bradford.
    chart = colour.CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    xyz = np.array([colour.xyY_to_XYZ(value) for value in chart.data.values()])
    rgb = colour.XYZ_to_RGB(xyz, "sRGB", chart.illuminant, "Bradford", apply_cctf_encoding=False)
    assert chart_patches()[0] == pytest.approx(np.clip(rgb, 0.002, 0.98), abs=2e-3)
