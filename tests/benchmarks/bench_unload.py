"""Unload with sixty photos of 12 megapixels, and the story of one unloading: memory, touches, seconds.

    python -m pytest -m benchmark tests/benchmarks/bench_unload.py -s

Both drive the app in a real browser. The sixty photos are `sample_images` enlarged to 4000 by 3000 pixels
with a camera's noise and saved as a phone saves them. Memory is resident memory of the
server and of the program that reads, looked at twice a second from the first byte uploaded until
``GLOSTBOOK_BENCH_READ`` of them (8) are read. Figures go to tests/benchmarks/figures/unload.json.
"""

import json
import os
import re
import threading
import time
from io import BytesIO
from pathlib import Path

import numpy as np
import psutil
import pytest
from PIL import Image

from catalog.store import Catalog
from tests.browser.driving import go, opened_browser, opened_page, served

SAMPLES = sorted((Path(__file__).parents[2] / "sample_images").glob("[0-9]*.jpg"))
FIGURES = Path(__file__).parent / "figures" / "unload.json"
PHOTOS = 60
MOST_MB = 900
READ = int(os.environ.get("GLOSTBOOK_BENCH_READ", "8"))
PATIENCE_S = 3600


def write_figures(name: str, figures: dict) -> None:
    figures = {**figures, "cores": os.cpu_count(), "load_average": round(os.getloadavg()[1], 1)}
    known = json.loads(FIGURES.read_text(encoding="utf-8")) if FIGURES.is_file() else {}
    FIGURES.write_text(json.dumps({**known, name: figures}, indent=1) + "\n", encoding="utf-8")
    print(json.dumps({name: figures}, indent=1))


def photos_of_12_mp(folder: Path) -> list[Path]:
    """Sixty photo files, no two alike: each sample enlarged, copies told apart by a comment in the file."""
    rng = np.random.default_rng(12)
    large = []
    for sample in SAMPLES:
        with Image.open(sample) as image:
            size = (4000, 3000) if image.width > image.height else (3000, 4000)
            pixels = np.asarray(image.convert("RGB").resize(size, Image.Resampling.BICUBIC), dtype=np.float32)
        noise = rng.normal(0, 5, (size[1] // 2, size[0] // 2)).repeat(2, 0).repeat(2, 1)
        out = BytesIO()
        Image.fromarray(np.clip(pixels + noise[..., None], 0, 255).astype(np.uint8)).save(
            out, "JPEG", quality=93
        )
        large.append(out.getvalue())
    made = []
    for number in range(PHOTOS):
        data, words = large[number % len(large)], b"photo %02d" % number
        comment = b"\xff\xfe" + (len(words) + 2).to_bytes(2, "big") + words
        made.append(folder / f"photo-{number:02d}.jpg")
        made[-1].write_bytes(data[:2] + comment + data[2:])
    return made


class Watch:
    """Looks at the memory of the server and of the reading program twice a second."""

    def __init__(self, home: Path) -> None:
        self.home = str(home)
        self.most = {"server": 0.0, "reader": 0.0, "both": 0.0}
        self.now = dict(self.most)
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._look)

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *_) -> None:
        self._end.set()
        self._thread.join()

    def _look(self) -> None:
        ours: dict[int, str] = {}
        while not self._end.wait(0.5):
            now = {"server": 0.0, "reader": 0.0}
            for process in psutil.process_iter(["pid", "cmdline"]):
                try:
                    role = ours.get(process.pid) or self._role(process)
                    if role:
                        ours[process.pid] = role
                        now[role] += process.memory_info().rss / 1e6
                except psutil.Error:
                    continue
            now["both"] = now["server"] + now["reader"]
            self.now = now
            for name, value in now.items():
                self.most[name] = max(self.most[name], value)

    def _role(self, process: psutil.Process) -> str | None:
        words = process.info["cmdline"] or ()
        role = "reader" if "app.unload_worker" in words else "server" if "streamlit" in words else None
        return role if role and process.environ().get("GLOSTBOOK_HOME") == self.home else None


def rounded(figures: dict[str, float]) -> dict[str, int]:
    return {name: round(value) for name, value in figures.items()}


@pytest.mark.benchmark
def test_memory_with_sixty_photos_of_12_megapixels(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    photos = photos_of_12_mp(tmp_path / "photos")
    home = tmp_path / "home"
    with Catalog.open(home) as catalog:
        catalog.add_load("October")
    with (
        served(home) as address,
        Watch(home) as watch,
        opened_browser() as browser,
        opened_page(browser) as page,
        Catalog.open(home) as catalog,
    ):
        go(page, address, "unload")
        time.sleep(2)
        figures = {
            "photos": PHOTOS,
            "photos_mb": round(sum(photo.stat().st_size for photo in photos) / 1e6),
            "before_mb": rounded(watch.now),
        }
        started = time.monotonic()
        page.locator('input[type="file"]').first.set_input_files([str(photo) for photo in photos])
        page.get_by_text(f"{PHOTOS} photos kept").wait_for(timeout=PATIENCE_S * 1000)
        figures["uploaded_and_kept_s"] = round(time.monotonic() - started, 1)
        figures["most_while_uploading_mb"] = rounded(watch.most)
        time.sleep(5)
        figures["after_upload_mb"] = rounded(watch.now)
        (unloading,) = catalog.unloadings.list()
        while catalog.unloadings.state(unloading.id).counts.get("read", 0) < READ:
            assert time.monotonic() < started + PATIENCE_S
            time.sleep(0.5)
        page.get_by_role("button", name=re.compile(r"^Show \d+ more")).click()
        time.sleep(5)
        figures |= {"photos_read": READ, "most_mb": rounded(watch.most), "at_end_mb": rounded(watch.now)}
        figures["seconds_each"] = round(catalog.unloadings.state(unloading.id).seconds_each or 0, 1)
        page.get_by_role("button", name="Stop after this photo").click()
        page.get_by_text("Stopped.").wait_for()
    write_figures("memory", figures)
    assert watch.most["server"] < MOST_MB
    assert figures["after_upload_mb"]["both"] < MOST_MB


@pytest.mark.benchmark
def test_the_story_of_one_unloading(tmp_path: Path) -> None:
    """All sample photos from the phone's folder to the shelf: what a potter presses, what is waited for."""
    home = tmp_path / "home"
    with Catalog.open(home) as catalog:
        catalog.add_load("Glaze firing 16 November")
    touches: list[str] = []
    with (
        served(home) as address,
        opened_browser() as browser,
        opened_page(browser) as page,
        Catalog.open(home) as catalog,
    ):
        page.add_init_script("window.typed = 0; addEventListener('keydown', () => window.typed++, true)")
        go(page, address, "unload")
        started = time.monotonic()
        touches += ["open the photo field", "choose the folder's photos and confirm"]
        page.locator('input[type="file"]').first.set_input_files([str(photo) for photo in SAMPLES])
        page.get_by_text(f"{len(SAMPLES)} photos kept").wait_for(timeout=PATIENCE_S * 1000)
        kept = time.monotonic()
        (unloading,) = catalog.unloadings.list()
        while catalog.unloadings.state(unloading.id).to_read:
            assert time.monotonic() < started + PATIENCE_S
            time.sleep(0.5)
        read = time.monotonic()
        button = page.get_by_role("button", name=re.compile(r"^File all \d+ pieces$"))
        button.click()
        touches.append("File all pieces")
        page.get_by_text(re.compile(r"^Filed \d+ pieces")).wait_for()
        filed = time.monotonic()
        counts = catalog.unloadings.state(unloading.id).counts
        figures = {
            "photos": len(SAMPLES),
            "pieces_filed": catalog.count_pieces(),
            "photos_filed": counts.get("filed", 0),
            "photos_not_filed": counts.get("read", 0) + counts.get("failed", 0),
            "touches": touches,
            "keys_typed": page.evaluate("window.typed"),
            "seconds": {
                "photos_kept": round(kept - started, 1),
                "all_read": round(read - started, 1),
                "press_to_filed": round(filed - read, 1),
                "a_photo": round(catalog.unloadings.state(unloading.id).seconds_each or 0, 1),
            },
        }
    write_figures("story", figures)
    assert figures["keys_typed"] == 0
    assert catalog_truth() <= figures["pieces_filed"]


def catalog_truth() -> int:
    """Labelled tiles in the sample photos, as the truth files say."""
    codes = set()
    for photo in SAMPLES:
        truth = json.loads(photo.with_suffix(".json").read_text(encoding="utf-8"))
        codes |= {tile["code"] for tile in truth["tiles"] if tile.get("code")}
    return len(codes)
