"""How long a palette takes to find among 25 000 pieces, and that it is what a loop over all of them finds.

``python -m pytest -m benchmark -s tests/benchmarks/bench_palette.py``; figures go to
``tests/benchmarks/figures/palette.json``. Times are medians of seven searches, warm. The loop is SciPy's
linear programming (HiGHS), piece by piece.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from catalog.colour_table import colour_table
from catalog.palette_match import match_palette
from catalog.store import Catalog
from tests.benchmarks.test_search_speed import COLOURS, fill, median_ms
from tests.catalog.test_transport import by_programming
from vision.colour import delta_e_00
from vision.reading import Lab, PaletteEntry

PIECES = 25_000
LOOPED = 2_500
"""Every tenth piece goes through the plain loop too: all of them would take a minute for each palette."""


def palettes():
    rng = np.random.default_rng(8)
    for count in (1, 2, 3, 5):
        labs = rng.uniform([10, -50, -50], [90, 50, 60], size=(count, 3))
        shares = rng.dirichlet(np.full(count, 2.0))
        yield tuple(PaletteEntry(Lab(*lab), share) for lab, share in zip(labs, shares, strict=True))


@pytest.mark.benchmark
def test_palettes_among_25_000_pieces(tmp_path):
    figures = {"pieces": PIECES, "colours_each": COLOURS}
    with Catalog.open(tmp_path) as catalog:
        flat = fill(catalog, PIECES)[2]
        colour_table(catalog)
        for palette in palettes():
            took = median_ms(lambda p=palette: match_palette(catalog, p), 7)
            figures[f"{len(palette)}_colours_ms"] = round(took, 1)
            wanted = np.array([entry.lab.as_tuple() for entry in palette])
            share = np.array([entry.fraction for entry in palette])
            theirs = np.full(COLOURS, 1 / COLOURS)
            found = match_palette(catalog, palette, limit=PIECES // 10)
            looked = {m.piece.code: m.distance for m in found}
            far = delta_e_00(wanted[:, None, None], flat.reshape(1, PIECES, COLOURS, 3))
            worst = found[-1].distance
            for piece in range(0, PIECES, PIECES // LOOPED):
                plain = by_programming(far[:, piece], share, theirs)
                code = f"T-{piece + 1:05d}"
                if code in looked:
                    assert looked[code] == pytest.approx(plain, abs=1e-6)
                else:
                    assert plain >= worst - 1e-6
    print(json.dumps(figures, indent=1))
    out = Path(__file__).parent / "figures" / "palette.json"
    out.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    assert len(found) == PIECES // 10
