"""Colour by the card alone, taught and not, on rendered photos of a few printed cards with a chart beside.

    python sample_images/render_taught.py --cards 4 --photos 5
    python -m pytest -m accuracy tests/benchmarks/test_taught.py -s

Each photo of a card teaches; the other photos of the same card are then read by the card alone, as if the
chart were a piece: its 24 patches have known colours (`vision/chart_values.csv` says whose). *Level* leaves
its common lightness out: what is then left is hue, chroma and steps. Figures go to figures/taught.json.
"""

from __future__ import annotations

import json
import os
from collections import defaultdict
from datetime import date
from itertools import permutations
from pathlib import Path

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from vision.balance import correct_linear, fit_correction, shading_gain
from vision.card import find_card
from vision.chart import find_chart
from vision.colour import linear_to_lab
from vision.errors import CardNotTaughtError
from vision.photo import load_photo
from vision.settings import Settings
from vision.surround import measure_surround, surround_gain
from vision.taught import teach_card

HERE = Path(__file__).resolve().parent
FOLDER = Path(os.environ.get("GLOSTBOOK_TAUGHT", HERE.parents[1] / ".renders" / "taught"))
SETTINGS = Settings()


def patches_off(photo, card, chart, taught):
    """Give CIEDE2000 of the chart's patches that are not burnt out, as they come and at one lightness."""
    correction = fit_correction(card, None, SETTINGS, taught)
    middle = chart.corners_px.mean(axis=0)
    board = middle + SETTINGS.tiles.chart_board_share * (chart.corners_px - middle)
    here, there = measure_surround(photo.pixels, [board, card.corners_px], [], SETTINGS.balance)
    by_table, weight = surround_gain(here, there, SETTINGS.balance)
    by_slope = np.log(shading_gain(correction, *middle))
    gain = np.exp(weight * by_table + (1 - weight) * by_slope)
    kept = [p for p in chart.patches if not p.clipped]
    seen = correct_linear(correction, np.array([p.linear_rgb for p in kept]), gain)
    true = np.array([p.lab for p in kept])
    read = linear_to_lab(np.clip(seen, 0, 1))
    luminance = np.array([0.2126, 0.7152, 0.0722])
    wanted = ((true[:, 0] + 16) / 116) ** 3
    level = float(np.median(wanted / np.maximum(seen @ luminance, 1e-3)))
    levelled = linear_to_lab(np.clip(seen * level, 0, 1))
    return deltaE_ciede2000(read, true), deltaE_ciede2000(levelled, true)


@pytest.mark.accuracy
def test_a_taught_card_alone_against_one_that_was_not():
    files = sorted(FOLDER.glob("card*.jpg"))
    if not files:
        pytest.skip(f"no renders in {FOLDER.name}: run sample_images/render_taught.py")
    photos = {file: load_photo(file) for file in files}
    cards = {file: find_card(photo.pixels) for file, photo in photos.items()}
    charts = {file: find_chart(photos[file].pixels, SETTINGS, cards[file]) for file in files}
    known, refused = {}, []
    for file in files:
        try:
            known[file] = teach_card(photos[file], date(2026, 1, 1))
        except CardNotTaughtError as error:
            refused.append(f"{file.stem}: {error}")
    off = defaultdict(list)
    pairs = 0
    for one, other in permutations(files, 2):
        if one.stem.split("_")[0] != other.stem.split("_")[0] or one not in known:
            continue
        if cards[other] is None or charts[other] is None:
            continue
        pairs += 1
        for name, taught in (("taught", [known[one]]), ("untaught", [])):
            plain, levelled = patches_off(photos[other], cards[other], charts[other], taught)
            off[name] += plain.tolist()
            off[f"{name}, level"] += levelled.tolist()
    figures = {
        "photos": len(files),
        "photos_that_taught": len(known),
        "refused": refused,
        "pairs": pairs,
        "paper_lightness": [round(card.paper[0], 1) for card in known.values()],
        **{
            name: {"median": round(float(np.median(v)), 2), "p95": round(float(np.percentile(v, 95)), 2)}
            for name, v in off.items()
        },
    }
    print(json.dumps(figures, indent=1))
    (HERE / "figures" / "taught.json").write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    assert pairs > 0
    assert figures["taught, level"]["median"] < figures["untaught, level"]["median"]
