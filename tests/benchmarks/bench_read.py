"""Seconds per stage of reading a 12 MP photo of one tile and the card, and the ratio to cv2.imdecode.

    python -m pytest -m benchmark tests/benchmarks/bench_read.py -s

Needs no files: the photo is drawn, encoded as a phone's JPEG and read back. Stages of a piece run side by
side, so their seconds add up to more than the whole. Beside other programs only `processor_s`, of all threads
together, can be compared. Memory, on Linux, is the most a program holds that only reads it.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

import vision.piece_surface as piece_surface
import vision.pipeline as pipeline
from tests.synthetic import DrawnTile, Scene, Spot, draw_photo
from vision.card_layout import A6
from vision.photo import decode_photo

FIGURES = Path(__file__).resolve().parent / "figures"
STAGES = (
    "find_card",
    "find_chart",
    "fit_correction",
    "find_labels",
    "find_pieces",
    "straighten",
    "correct_image",
    "part_surface",
    "measure_blur",
    "find_marks",
    "detect_crazing",
    "detect_crawling",
    "measure_glaze_colour",
    "judge_gloss",
    "measure_surround",
)


def phone_jpeg(tiles: tuple[DrawnTile, ...], mm_per_px: float, card_at: tuple[float, float]) -> bytes:
    """Draw a 4032 x 3024 photo at half size and double it: drawing is slow, reading is what is timed."""
    scene = Scene(
        tiles=tiles, rows=1512, cols=2016, mm_per_px=mm_per_px * 2, card=A6, card_at_mm=card_at, tilt_deg=6.0
    )
    small = draw_photo(scene).pixels
    full = cv2.resize(small, (4032, 3024), interpolation=cv2.INTER_CUBIC)
    noise = np.random.default_rng(3).normal(scale=2.0, size=(756, 1008, 3))
    noise = np.tile(noise, (4, 4, 1)).astype(np.float32)
    full = np.clip(full + noise, 0, 255).astype(np.uint8)
    done, data = cv2.imencode(".jpg", full[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 90])
    assert done
    return data.tobytes()


def one_tile() -> bytes:
    rng = np.random.default_rng(5)
    spots = tuple(
        Spot(float(rng.uniform(5, 45)), float(rng.uniform(5, 65)), float(rng.uniform(0.5, 1.6)))
        for _ in range(30)
    )
    return phone_jpeg((DrawnTile(190.0, 75.0, 50.0, 80.0, 4.0, spots=spots),), 0.06, (10.0, 10.0))


def twelve_tiles() -> bytes:
    tiles = tuple(
        DrawnTile(190.0 + 55 * c, 50.0 + 75 * r, 42.0, 62.0, glaze_lab=(30.0 + 15 * r, -20.0 + 12 * c, -15.0))
        for r in range(3)
        for c in range(4)
    )
    return phone_jpeg(tiles, 0.1, (10.0, 60.0))


def four_times(data: bytes) -> bytes:
    """Give a 48 MP photo of the same scene."""
    pixels = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    done, large = cv2.imencode(".jpg", cv2.resize(pixels, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC))
    assert done
    return large.tobytes()


_READ = """
import sys, time
from pathlib import Path
began = time.perf_counter()
import vision.pipeline
imported = time.perf_counter() - began
vision.pipeline.read_file(sys.argv[1])
# getrusage would count what the program that started this one held
held = Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]
print(imported, int(held) / 1024)
"""


def fresh(data: bytes, folder: Path) -> tuple[float, float]:
    """Read a photo in a program of its own; gives seconds of import and the most memory held, MB."""
    photo = folder / "photo.jpg"
    photo.write_bytes(data)
    told = subprocess.run([sys.executable, "-c", _READ, photo], check=True, capture_output=True, text=True)
    imported, held = told.stdout.split()
    return float(imported), float(held)


def timed(monkeypatch: pytest.MonkeyPatch) -> dict[str, float]:
    seconds: dict[str, float] = dict.fromkeys(STAGES, 0.0)

    def wrap(name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        def run(*args: Any, **options: Any) -> Any:
            began = time.perf_counter()
            try:
                return function(*args, **options)
            finally:
                seconds[name] += time.perf_counter() - began

        return run

    for name in STAGES:
        where = pipeline if hasattr(pipeline, name) else piece_surface
        monkeypatch.setattr(where, name, wrap(name, getattr(where, name)))
    return seconds


@pytest.mark.benchmark
@pytest.mark.parametrize("draw", [one_tile, twelve_tiles], ids=["one tile", "twelve tiles"])
def test_seconds_per_stage(draw, monkeypatch, request, tmp_path):
    data = draw()
    buffer = np.frombuffer(data, np.uint8)
    decode = min(_seconds(lambda: cv2.imdecode(buffer, cv2.IMREAD_COLOR)) for _ in range(5))
    stages = timed(monkeypatch)
    best = None
    for _ in range(4):
        stages.update(dict.fromkeys(STAGES, 0.0))
        began, spent = time.perf_counter(), time.process_time()
        photo = decode_photo(data, "drawn.jpg")
        loaded = time.perf_counter()
        read = pipeline.read_photo(photo)
        whole, spent = time.perf_counter() - began, time.process_time() - spent
        if best is None or whole < best["whole_s"]:
            best = {
                "tiles": len(read.reading.tiles),
                "imdecode_s": round(decode, 4),
                "load_s": round(loaded - began, 4),
                "whole_s": round(whole, 4),
                "processor_s": round(spent, 4),
                "ratio_to_imdecode": round(whole / decode, 2),
                "stages_s": {k: round(v, 4) for k, v in stages.items()},
            }
    imported, held = min(fresh(data, tmp_path) for _ in range(3))
    best["import_s"], best["peak_memory_mb"] = round(imported, 2), round(held)
    best["peak_memory_48_mp_mb"] = round(fresh(four_times(data), tmp_path)[1])
    best["programs_waiting"] = round(os.getloadavg()[0], 1)
    print(json.dumps(best, indent=1))
    FIGURES.mkdir(exist_ok=True)
    name = "read_" + request.node.callspec.id.replace(" ", "_")
    (FIGURES / f"{name}.json").write_text(json.dumps(best, indent=1) + "\n", encoding="utf-8")
    assert best["tiles"] >= 1


def _seconds(action: Callable[[], Any]) -> float:
    began = time.perf_counter()
    action()
    return time.perf_counter() - began
