"""Photos of sound stoneware, and photos that show no pottery: what the reader claims of each.

Nothing is labelled. The stoneware was looked at, each photo and every mark at four times its size, and what a
potter would say of it written down in `STONEWARE`; a named fault that is not in it is wrong.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.benchmarks.opened.photos import DATA, SETTINGS, image_files
from vision.errors import VisionError
from vision.pipeline import read_file
from vision.reading import Flag, PhotoReading

STONEWARE_FOLDER = "stoneware-photos"


@dataclass(frozen=True)
class Seen:
    """What a person sees in one photo: in words, and the faults that may be named of it."""

    words: str
    faults: tuple[str, ...] = field(default=())


STONEWARE = {
    "05": Seen("buff bowl, iron specks all over its outside, nothing else", ("specked",)),
    "06": Seen("the same from inside: a brown fleck on the wall, flecks at the rim", ("specked",)),
    "13": Seen("ash glaze with brown stains and faint brown freckles; no hole, no bubble"),
    "14": Seen("glassy pool with brown crystals; no fault"),
    "15": Seen("sound glossy mug"),
    "16": Seen("the same lying; two dark pinpricks on the shoulder"),
    "25": Seen("tenmoku breaking to rust, fine mottle; bare foot by intention"),
    "26": Seen("the same from inside; sound"),
    "44": Seen("fine rust mottle, broad window reflections; sound"),
    "45": Seen("the same from above; sound"),
    "62": Seen("blue casserole, two glazes overlapping, a pale patch poured thin; sound"),
    "63": Seen("the same with its lid off; bare rim by intention"),
    "74": Seen("blue-green mottle over dimples; one rusty iron burst and a few rusty dots", ("specked",)),
    "75": Seen("the same from inside; sound"),
    "80": Seen("black double dish, strong reflections; sound"),
    "81": Seen("the same upside down, bare feet by intention; sound"),
}
NO_POTTERY = {
    "phone-camera-samples": ("iphone_hdr_NO.jpg", "jolla.jpg", "iphone_13_pro_max.HEIC"),
    "exif-orientation": ("Landscape_1.jpg",),
    "gas-bubbles-with-ruler": (),
    "colour-chart-phone-photos": (),
    "uav75-thin-crack-masks/images": (),
    "masonry-crack-masks/images": (),
    "kolektor-sdd-crack-masks/images": (),
    "bsdata-pitting-masks/images": (),
    "craquelure-masks/images": (),
}
"""Set -> the photos taken of it, all where none is named. The kitchen has glazed wall tiles at its back, but
nothing in it is a piece to be read."""
MOST_OF_A_SET = 6
"""Evenly over the names, so that no set rules the figure."""


def _claim(reading: PhotoReading) -> dict[str, Any]:
    trusted = [t for t in reading.tiles if Flag.SUBJECT_DOUBTED not in t.flags]
    return {
        "read_as": [str(t.subject) for t in reading.tiles],
        "trusted": len(trusted),
        "marks": dict(Counter(str(m.kind) for t in reading.tiles for m in t.marks)),
        "faults": {c.fault: round(c.probability, 2) for t in reading.tiles for c in t.faults},
        "crazed": any(bool(t.crazing.present) for t in reading.tiles),
        "crawled": any(t.crawling.present for t in reading.tiles),
        "lone_lines": any(Flag.FINE_LINES in t.flags for t in reading.tiles),
    }


def score_stoneware(folder: Path) -> dict[str, Any]:
    """Read each pot and set what is claimed beside what is there."""
    photos: dict[str, Any] = {}
    right = wrong = doubted = crazed = crawled = lined = 0
    for file in image_files(folder):
        claim = _claim(read_file(file, settings=SETTINGS).reading)
        seen = STONEWARE[file.stem]
        false = [fault for fault in claim["faults"] if fault not in seen.faults]
        wrong += len(false)
        right += len(claim["faults"]) - len(false)
        doubted += claim["trusted"] == 0
        crazed += claim["crazed"]
        crawled += claim["crawled"]
        lined += claim["lone_lines"]
        photos[file.stem] = {"by_eye": seen.words, **claim, "wrongly_named": false}
    return {
        "photos": len(photos),
        "not_trusted_to_be_pottery": int(doubted),
        "faults_named": right + wrong,
        "faults_named_rightly": right,
        "called_crazed": int(crazed),
        "called_crawled": int(crawled),
        "said_to_show_lone_lines": int(lined),
        "each": photos,
    }


def score_no_pottery() -> dict[str, Any]:
    """Read photos of other things: of how many is a piece trusted, of how many a fault named?"""
    sets: dict[str, Any] = {}
    total: Counter[str] = Counter()
    for name, chosen in NO_POTTERY.items():
        files = [DATA / name / one for one in chosen] or image_files(DATA / name)
        step = max(1, -(-len(files) // MOST_OF_A_SET))
        tally: Counter[str] = Counter(photos=0, trusted=0, fault_named=0, refused=0)
        for file in files[::step]:
            try:
                claim = _claim(read_file(file, settings=SETTINGS).reading)
            except VisionError:
                continue
            tally["photos"] += 1
            tally["trusted"] += claim["trusted"] > 0
            tally["fault_named"] += bool(claim["faults"])
            tally["refused"] += not claim["read_as"]
        sets[name.split("/")[0]] = dict(tally)
        total += tally
    return {
        "photos": total["photos"],
        **{k: total[k] for k in ("trusted", "fault_named", "refused")},
        "sets": sets,
    }
