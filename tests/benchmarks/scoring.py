"""Compare readings with the truth of renders: outlines, scale, colour, gloss, marks, crazing, crawling."""

from __future__ import annotations

import json
from collections import defaultdict
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from skimage.color import deltaE_ciede2000

from tests.synthetic import polygon_iou
from vision.card import find_card
from vision.faults import FAULT_OF_MARK
from vision.outline import polygon_mask
from vision.photo import load_photo
from vision.pipeline import PhotoRead, read_photo
from vision.reading import CalibrationKind, Flag, MarkKind, Subject
from vision.settings import Settings

LEAST_MARK_PX = 6.0
"""Marks from this diameter in the photo count (issue: marks from 6 px)."""
SMALL_MARK_PX = 4.0
"""Marks under this are too small to make a fault that a photo could show."""
MATCH_SHARE = 0.6
"""A found mark within this share of the true diameter (at least 4 px) of the true centre is that mark."""


class Tally:
    """Numbers collected over photos, by name."""

    def __init__(self) -> None:
        self.values: dict[str, list[float]] = defaultdict(list)
        self.notes: dict[str, list[str]] = defaultdict(list)

    def add(self, name: str, value: float) -> None:
        self.values[name].append(float(value))

    def note(self, name: str, text: str) -> None:
        self.notes[name].append(text)

    def share(self, name: str) -> float | None:
        v = self.values.get(name)
        return round(float(np.mean(v)), 4) if v else None

    def percentiles(self, name: str) -> dict[str, float] | None:
        v = self.values.get(name)
        if not v:
            return None
        return {
            "count": len(v),
            "median": round(float(np.median(v)), 4),
            "p95": round(float(np.percentile(v, 95)), 4),
        }


LIP_SHARE = 0.06
"""A band narrower than this share of a pot's size (root of its area) is its lip."""


def _without_lip(wall: np.ndarray) -> np.ndarray:
    """Give the largest part of a pot's visible wall that is no thin band."""
    across = max(3, round(LIP_SHARE * float(np.sqrt(wall.sum()))))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (across, across))
    opened = cv2.morphologyEx(wall.astype(np.uint8), cv2.MORPH_OPEN, kernel)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(opened)
    return labels == 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))


def _overlap_with(folder: Path, truth: dict[str, Any], tile: dict, found: np.ndarray) -> float:
    """Give the IoU of a found outline with a true piece.

    A pot's is that of its outer wall as the photo shows it, without the thin band of the lip beyond the
    inside, which no one polygon could follow: its traced outline encloses the inside, too, where the lip
    shows all the way round, and does not where something hides a bit of it.
    """
    shape = (truth["height_px"], truth["width_px"])
    if truth["subject"] != "ware":
        return polygon_iou(found, np.array(tile["outline_px"], dtype=np.float64), shape)
    true = _without_lip(cv2.imread(str(folder / tile["masks"]["piece"]), cv2.IMREAD_GRAYSCALE) > 127)
    mine = polygon_mask(found, shape)
    return float((true & mine).sum()) / float((true | mine).sum())


def _outlines(
    folder: Path, truth: dict[str, Any], read: PhotoRead, name: str, tally: Tally
) -> list[tuple[dict, int]]:
    """Match found tiles to true ones by outline; gives (true tile, index of the reading)."""
    found = [np.array(t.outline_px) for t in read.reading.tiles]
    taken: set[int] = set()
    pairs = []
    for k, tile in enumerate(truth["tiles"]):
        ious = [_overlap_with(folder, truth, tile, f) if i not in taken else 0.0 for i, f in enumerate(found)]
        best = int(np.argmax(ious)) if ious else -1
        iou = ious[best] if ious else 0.0
        tally.add("iou", iou)
        tally.add("iou_093", iou >= 0.93)
        tally.add("iou_095", iou >= 0.95)
        if iou < 0.93:
            tally.note("poor_outlines", f"{name} tile {k} IoU {iou:.3f}")
        if iou >= 0.5:
            taken.add(best)
            pairs.append((tile, best))
    tally.add("pieces_too_many", len(found) - len(taken))
    if len(found) > len(taken):
        tally.note("strays", f"{name} {len(found) - len(taken)}")
    return pairs


def _marks(tile: dict, read: PhotoRead, index: int, name: str, tally: Tally) -> None:
    view = read.views[index]
    reading = read.reading.tiles[index]
    true = [m for m in tile["marks"] if m["diameter_px"] >= LEAST_MARK_PX]
    small = [m for m in tile["marks"] if m["diameter_px"] < LEAST_MARK_PX]
    per_px = _px_of_view(view)
    found = []
    for m in reading.marks:
        at = cv2.perspectiveTransform(np.array([[[m.x_px, m.y_px]]], dtype=np.float64), view.to_photo)[0, 0]
        found.append((m, at, m.diameter_px * per_px))
    used: set[int] = set()
    for mark in sorted(true, key=lambda m: -m["diameter_px"]):
        kind = mark["kind"]
        if kind not in tuple(MarkKind):
            continue
        reach = max(4.0, MATCH_SHARE * mark["diameter_px"])
        near = [
            (float(np.hypot(at[0] - mark["x_px"], at[1] - mark["y_px"])), i)
            for i, (_, at, _) in enumerate(found)
            if i not in used
        ]
        near = [(d, i) for d, i in near if d <= reach]
        hit = None
        if near:
            same = [(d, i) for d, i in near if found[i][0].kind == kind]
            _, hit = min(same or near)
            used.add(hit)
        right = hit is not None and found[hit][0].kind == kind
        tally.add(f"found_{kind}", right)
        tally.add(f"place_{kind}", hit is not None)
        if right:
            tally.add("diameter_error", abs(found[hit][2] / mark["diameter_px"] - 1))
    for i, (m, at, diameter) in enumerate(found):
        if diameter < LEAST_MARK_PX:
            continue
        if i in used:
            mark = min(true, key=lambda t: np.hypot(at[0] - t["x_px"], at[1] - t["y_px"]))
            tally.add(f"right_{m.kind}", mark["kind"] == m.kind)
            continue
        border = [
            t for t in small if np.hypot(at[0] - t["x_px"], at[1] - t["y_px"]) <= max(4.0, t["diameter_px"])
        ]
        if border and border[0]["kind"] == m.kind:
            continue  # a true mark just under the size that counts, measured a little large
        tally.add(f"right_{m.kind}", False)


def _px_of_view(view: Any) -> float:
    """Photo pixels per view pixel at the view's middle."""
    rows, cols = view.image.shape[:2]
    at = np.array(
        [[[cols / 2, rows / 2], [cols / 2 + 1, rows / 2], [cols / 2, rows / 2 + 1]]], dtype=np.float64
    )
    p = cv2.perspectiveTransform(at, view.to_photo)[0]
    a, b = p[1] - p[0], p[2] - p[0]
    return float(np.sqrt(abs(a[0] * b[1] - a[1] * b[0])))


def _glazed_iou(folder: Path, tile: dict, read: PhotoRead, index: int, truth: dict, tally: Tally) -> None:
    file = tile.get("masks", {}).get("glazed")
    if not file or not (folder / file).is_file():
        return
    true = cv2.imread(str(folder / file), cv2.IMREAD_GRAYSCALE) > 127
    view = read.views[index]
    size = (truth["width_px"], truth["height_px"])
    mine = cv2.warpPerspective(view.glazed.astype(np.uint8), view.to_photo, size, flags=cv2.INTER_NEAREST) > 0
    union = int((true | mine).sum())
    if union:
        iou = int((true & mine).sum()) / union
        tally.add("glazed_iou", iou)
        tally.add("glazed_iou_090", iou >= 0.90)
        tally.add("glazed_iou_095", iou >= 0.95)


def _faults(tile: dict, read: PhotoRead, index: int, name: str, tally: Tally) -> None:
    """Compare the faults named with those there; marks between 4 px and what counts are neither."""
    named = {call.fault for call in read.reading.tiles[index].faults}
    there: dict[str, bool | None] = {
        "crazed": bool(tile["crazing"]["present"]),
        "crawled": bool(tile["crawling"]["present"]),
    }
    for kind, fault in FAULT_OF_MARK.items():
        largest = max((m["diameter_px"] for m in tile["marks"] if m["kind"] == kind), default=0.0)
        there[fault] = True if largest >= LEAST_MARK_PX else False if largest < SMALL_MARK_PX else None
    for fault, true in there.items():
        if true is None:
            continue
        group = "of_marks" if fault in FAULT_OF_MARK.values() else fault
        if fault in named:
            tally.add(f"fault_named_rightly_{group}", true)
        if true:
            tally.add(f"fault_found_{group}", fault in named)
        if (fault in named) != true:
            tally.note("faults_wrong", f"{name}: {fault} {'named' if fault in named else 'missed'}")


def _score_tile(
    folder: Path, name: str, truth: dict, tile: dict, read: PhotoRead, index: int, tally: Tally
) -> None:
    reading = read.reading.tiles[index]
    kind = read.reading.calibration.kind
    if reading.view_mm_per_px is not None and tile.get("mm_per_px"):
        corners = tile.get("corners_px")
        if corners:
            across = np.hypot(*(np.roll(np.array(corners), -1, axis=0) - np.array(corners)).T)
            area = across[0] * across[1] * tile["mm_per_px"] ** 2
            if reading.width_mm and area:
                mine = reading.width_mm * reading.height_mm
                tally.add("scale_error", abs(np.sqrt(mine / area) - 1))
                tally.add("scale_error_signed", np.sqrt(mine / area) - 1)
    if reading.glaze is not None and tile.get("glaze_lab"):
        de = float(deltaE_ciede2000(np.array(reading.glaze.lab.as_tuple()), np.array(tile["glaze_lab"])))
        tally.add(f"glaze_de_{kind}", de)
        off = np.abs(np.array(reading.glaze.lab.as_tuple()) - np.array(tile["glaze_lab"]))
        for miss, sd in zip(off, reading.glaze.lab_sd, strict=True):
            tally.add(f"lab_within_2sd_{kind}", miss <= 1.96 * sd)
    else:
        tally.add("no_colour", 1.0)
    if tile.get("body_lab") and tile.get("bare_end") not in (None, "none"):
        tally.add("body_found", reading.body is not None)
        if reading.body is not None:
            de = float(deltaE_ciede2000(np.array(reading.body.lab.as_tuple()), np.array(tile["body_lab"])))
            tally.add(f"body_de_{kind}", de)
    elif tile.get("bare_end") == "none":
        tally.add("body_invented", reading.body is not None)
    if tile.get("finish"):
        seen = bool(tile.get("reflection_in_view"))
        if seen:
            tally.add("finish_told", reading.gloss.finish is not None)
            if reading.gloss.finish is not None:
                tally.add("finish_right", str(reading.gloss.finish) == tile["finish"])
                tally.add("rough_true", tile["roughness"])
                tally.add("proxy", reading.gloss.proxy or 0.0)
        else:
            tally.add("finish_refused_without_reflection", reading.gloss.finish is None)
    if reading.crazing.present is not None:
        tally.add("crazing_right", reading.crazing.present == tile["crazing"]["present"])
        if reading.crazing.present != tile["crazing"]["present"]:
            tally.note("crazing_wrong", f"{name}: said {reading.crazing.present}")
    else:
        tally.add("crazing_refused", 1.0)
    tally.add("crawling_right", reading.crawling.present == tile["crawling"]["present"])
    tally.add("crawl_area_error", abs(reading.crawling.area_fraction - tile["crawling"]["area_fraction"]))
    if tile.get("code"):
        tally.add("label_right", reading.label == tile["code"])
    _glazed_iou(folder, tile, read, index, truth, tally)
    _marks(tile, read, index, name, tally)
    _faults(tile, read, index, name, tally)


def score_photo(folder: Path, truth_file: Path, tally: Tally, settings: Settings) -> None:
    """Read one photo and add its scores."""
    truth = json.loads(truth_file.read_text(encoding="utf-8"))
    name = truth_file.stem
    photo = load_photo(folder / truth["photo"])
    read = read_photo(photo, settings=settings)
    reading = read.reading
    subject = truth["subject"]
    if truth["card"]:
        tally.add("card_found", reading.calibration.mm_per_px is not None)
        if reading.calibration.mm_per_px is not None and truth.get("mm_per_px"):
            tally.add("card_scale_error", abs(reading.calibration.mm_per_px / truth["mm_per_px"] - 1))
        if reading.calibration.mm_per_px is None:
            tally.note("card_missed", name)
    else:
        tally.add("card_invented", find_card(photo.pixels, settings) is not None)
    if truth["chart"]:
        tally.add("chart_found", reading.calibration.kind is CalibrationKind.CHART)
    tally.add("subject_right", bool(reading.tiles) and all(str(t.subject) == subject for t in reading.tiles))
    if not reading.tiles or any(str(t.subject) != subject for t in reading.tiles):
        tally.note("subject_wrong", f"{name}: {subject} as {[str(t.subject) for t in reading.tiles]}")
    if subject != "tile" and any(str(t.subject) != subject for t in reading.tiles[:1]):
        read = read_photo(photo, subject=Subject(subject), settings=settings)
    if Flag.NOTHING_FOUND in reading.flags:
        tally.note("nothing_found", name)
    for tile, index in _outlines(folder, truth, read, name, tally):
        _score_tile(folder, name, truth, tile, read, index, tally)


def score_folder(folder: Path, settings: Settings | None = None) -> dict[str, Any]:
    """Read every photo of a folder of renders and give all figures."""
    settings = settings or Settings()
    tally = Tally()
    crashed = []
    files = sorted(folder.glob("*.json"))
    for file in files:
        try:
            score_photo(folder, file, tally, settings)
        except Exception as error:  # a crash is a figure too: name it and go on
            crashed.append(f"{file.stem}: {error!r}")
    figures: dict[str, Any] = {"folder": folder.name, "photos": len(files), "crashed": crashed}
    for name in sorted(tally.values):
        if name.startswith(("found_", "right_", "place_", "rough_", "proxy")):
            continue
        values = tally.values[name]
        if set(values) <= {0.0, 1.0}:
            figures[name] = {"share": tally.share(name), "count": len(values)}
        else:
            figures[name] = tally.percentiles(name)
    for kind in MarkKind:
        figures[f"marks_{kind}"] = {
            "recall": tally.share(f"found_{kind}"),
            "place_found": tally.share(f"place_{kind}"),
            "true": len(tally.values.get(f"found_{kind}", [])),
            "precision": tally.share(f"right_{kind}"),
            "called": len(tally.values.get(f"right_{kind}", [])),
        }
    every_found = [v for kind in MarkKind for v in tally.values.get(f"found_{kind}", [])]
    every_right = [v for kind in MarkKind for v in tally.values.get(f"right_{kind}", [])]
    figures["marks_all"] = {
        "recall": round(float(np.mean(every_found)), 4) if every_found else None,
        "precision": round(float(np.mean(every_right)), 4) if every_right else None,
    }
    rough, proxy = tally.values.get("rough_true", []), tally.values.get("proxy", [])
    if len(rough) > 4:
        from scipy.stats import spearmanr

        figures["gloss_rank_correlation"] = round(-float(spearmanr(rough, proxy).statistic), 4)
    figures["notes"] = dict(tally.notes)
    return figures
