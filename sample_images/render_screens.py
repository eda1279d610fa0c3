"""Take the README's pictures of the real screens, on the sample studio really read.

    python sample_images/render_screens.py            # about three minutes; needs chromium and the test extra

Fills a fresh sample studio in a temporary folder (``--studio DIR`` takes a copy of one filled already),
serves the app on this computer and writes ``sample_images/screens/*.webp``.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
from io import BytesIO
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
SCREENS = Path(__file__).with_name("screens")
WIDE, PHONE = (1280, 860), (390, 844)

SHOTS = {
    "bench": ("bench", WIDE, "light"),
    "unload": ("unload", WIDE, "light"),
    "shelf": ("shelf", WIDE, "light"),
    "piece": ("shelf?piece=T-0005", WIDE, "light"),
    "match": ("match", WIDE, "light"),
    "why": ("why", WIDE, "light"),
    "firings": ("firings", WIDE, "light"),
    "ware": ("ware?ware=M-0001", WIDE, "light"),
    "print": ("print?sheet=Labels", WIDE, "dark"),
    "phone": ("ware?ware=M-0001", PHONE, "dark"),
    "studio": ("studio", WIDE, "light"),
}
"""File name: address of the view, size of the window, theme."""

FROM = {"unload": "What was found"}
"""Heading that a picture begins at, where it is not the top of the page."""


def main() -> None:
    """Take every picture."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", nargs="+", choices=list(SHOTS), help="take these pictures alone")
    parser.add_argument("--studio", type=Path, help="a folder that `glostbook demo` filled; a copy is used")
    args = parser.parse_args()
    from tests.browser.driving import go, opened_browser, opened_page, served

    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home"
        if args.studio is not None:
            shutil.copytree(args.studio, home)
        else:
            _fill(home)
        _glaze_a_batch(home)
        _unload_a_photo(home)
        SCREENS.mkdir(exist_ok=True)
        with served(home) as address, opened_browser() as browser:
            for name, (path, size, theme) in SHOTS.items():
                if args.only and name not in args.only:
                    continue
                with opened_page(browser, size, theme) as page:
                    go(page, address, path)
                    if name in FROM:
                        page.get_by_role("heading", name=FROM[name]).evaluate("e => e.scrollIntoView()")
                    page.wait_for_timeout(1500)
                    place = SCREENS / f"{name}.webp"
                    place.write_bytes(_small(page.screenshot()))
                    print(f"{place.relative_to(ROOT)}: {place.stat().st_size // 1024} kB")


def _fill(home: Path) -> None:
    from app.services.demo import fill_sample_studio
    from catalog.store import Catalog

    with Catalog.open(home) as catalog:
        fill_sample_studio(
            catalog, Path(__file__).parent, lambda done, of, name: print(f"{done + 1}/{of} {name}")
        )


def _glaze_a_batch(home: Path) -> None:
    """Put two buckets and a batch of mugs on the Bench: the sample photos show only what is fired."""
    from catalog.bench.records import GlazingDraft, LayerDraft
    from catalog.store import Catalog

    with Catalog.open(home) as catalog:
        bench = catalog.bench
        bench.add_bucket("Iron wash", kind="underglaze", code="U-1")
        bucket = bench.add_bucket("Slate blue", gravity=1.45)
        layers = (LayerDraft("U-1", "brush", 3), LayerDraft(bucket.code, "dip", 1, 3.0))
        clay = catalog.bodies()[-1].id
        bench.glaze(GlazingDraft(layers, new=20, kind="ware", body_id=clay, foot_wiped=True, catch=True))


def _unload_a_photo(home: Path) -> None:
    """Put one labelled photo into Unload, read and not filed."""
    from app.services.unload_reading import read_line
    from catalog.store import Catalog

    with Catalog.open(home) as catalog:
        unloading = catalog.unloadings.begin()
        photo = Path(__file__).with_name("05-oat-both-clays.jpg")
        catalog.unloadings.take(unloading.id, photo.read_bytes(), photo.name)
        read_line(catalog, unloading.id)


def _small(png: bytes) -> bytes:
    from PIL import Image

    out = BytesIO()
    with Image.open(BytesIO(png)) as opened:
        opened.convert("RGB").save(out, format="WEBP", quality=82, method=6)
    return out.getvalue()


if __name__ == "__main__":
    main()
