"""How long a match takes from 10 000 colours to a million, beside scikit-image's CIEDE2000 in the same run.

``pytest -m benchmark -s tests/benchmarks/test_search_speed.py``; figures and their plot go to
``tests/benchmarks/figures/search.json`` and ``search.svg``. Times are medians of nine, of the worst target.
"""

import json
import math
import statistics
import time
from pathlib import Path

import numpy as np
import pytest
from reportlab.graphics import renderSVG
from reportlab.graphics.charts.lineplots import LinePlot
from reportlab.graphics.shapes import Drawing, String
from reportlab.lib import colors
from skimage.color import deltaE_ciede2000
from sqlalchemy import insert

from catalog.columns import now
from catalog.search import colour_table, match_colour
from catalog.store import Catalog
from catalog.tables import CounterRow, LayerRow, PaletteRow, PhotoRow, PieceRow, ReadingRow
from vision.reading import Lab

FIGURES = Path(__file__).parent / "figures"
TILES = 10_000
COLOURS = 4

TILE_JSON = {
    "subject": "tile",
    "outline_px": [[0, 0], [80, 0], [80, 150], [0, 150]],
    "label": None,
    "width_mm": 50.0,
    "height_mm": 98.0,
    "view_mm_per_px": 0.07,
    "smallest_mark_mm": 0.3,
    "glaze": None,
    "body": None,
    "gloss": {"proxy": 0.5, "finish": "gloss", "probability": 0.8},
    "marks": [
        {
            "kind": "pinhole",
            "x_mm": 1.0,
            "y_mm": 2.0,
            "diameter_mm": 0.6,
            "x_px": 14.0,
            "y_px": 28.0,
            "diameter_px": 8.0,
            "probability": 0.9,
        }
    ]
    * 10,
    "density_per_cm2": {"pinhole": 0.2},
    "crazing": {"present": False, "probability": 0.1, "length_mm_per_cm2": 0.0, "cell_mm": None},
    "crawling": {"present": False, "probability": 0.1, "area_fraction": 0.0, "spots": 0},
    "faults": [],
    "flags": [],
}


def median_ms(work, times=9):
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(1000 * (time.perf_counter() - start))
    return statistics.median(taken)


def fill(catalog, tiles):
    """Write rows straight into the tables; filing photos one by one would take hours. Gives the colours."""
    labs = np.random.default_rng(1).uniform([5, -60, -70], [95, 60, 80], size=(tiles, COLOURS, 3))
    moment = now()
    bodies = [catalog.add_body(name).id for name in ("White", "Dark")]
    loads = [catalog.add_load(name).id for name in ("October", "Trials")]
    numbers = range(1, tiles + 1)
    with catalog.database.writing() as session:
        rows = session.connection()  # past the log of changes
        rows.execute(
            insert(PhotoRow), [{"sha256": "0" * 64, "name": "p.jpg", "size_bytes": 1, "kept_at": moment}]
        )
        rows.execute(
            insert(PieceRow),
            [
                {
                    "id": n,
                    "code": f"T-{n:05d}",
                    "code_key": f"t-{n:05d}",
                    "kind": "tile",
                    "body_id": bodies[n % 2],
                    "load_id": loads[n % 1000 == 0],
                    "facts": {},
                    "notes": "",
                    "filed_at": moment,
                }
                for n in numbers
            ],
        )
        rows.execute(insert(LayerRow), [{"piece_id": n, "position": 0, "name": "Moss"} for n in numbers])
        rows.execute(
            insert(ReadingRow),
            [
                {
                    "id": n,
                    "piece_id": n,
                    "photo_sha256": "0" * 64,
                    "tile_index": 0,
                    "calibration_kind": "card",
                    "photo_flags": [],
                    "method": {"colour": 1},
                    "colour_method": 1,
                    "finish": "gloss" if n % 3 else "matt",
                    "tile": TILE_JSON,
                    "read_at": moment,
                }
                for n in numbers
            ],
        )
        rows.execute(
            insert(PaletteRow),
            [
                {
                    "reading_id": n + 1,
                    "position": c,
                    "lightness": float(labs[n, c, 0]),
                    "a_star": float(labs[n, c, 1]),
                    "b_star": float(labs[n, c, 2]),
                    "fraction": 0.25,
                }
                for n in range(tiles)
                for c in range(COLOURS)
            ],
        )
        rows.execute(insert(CounterRow), [{"name": "colours", "value": 1}])
    return bodies, loads, labs.reshape(-1, 3)


TARGETS = [
    (40.0, -2.0, -20.0),
    (50.0, 0.0, 0.0),
    (30.0, 20.0, -60.0),
    (80.0, 50.0, 60.0),
    (99.0, -90.0, -100.0),
]


def growth_at(home, tiles):
    """Time a match, warm, over a catalogue of so many tiles; the worst target counts."""
    with Catalog.open(home) as catalog:
        (body, _), (_, rare), flat = fill(catalog, tiles)
        start = time.perf_counter()
        table = colour_table(catalog)
        first_ms = 1000 * (time.perf_counter() - start)
        figures = {"colours": len(table.lab), "memory_mb": round(table.size_bytes / 1e6, 1)}
        worst = {"match_ms": 0.0, "filtered_ms": 0.0, "rare_load_ms": 0.0}
        plain = []
        for target in TARGETS:
            plain.append(median_ms(lambda t=target: deltaE_ciede2000(flat, np.array([t])), 1))
            wanted = np.sort(deltaE_ciede2000(flat, np.array([target])).reshape(tiles, COLOURS).min(axis=1))[
                :12
            ]
            found = match_colour(catalog, Lab(*target))
            assert [m.delta_e_00 for m in found] == pytest.approx(wanted, abs=1e-6)
            for name, filters in (
                ("match_ms", {}),
                ("filtered_ms", {"body_id": body, "finish": "gloss"}),
                ("rare_load_ms", {"load_id": rare}),
            ):
                took = median_ms(lambda t=target, f=filters: match_colour(catalog, Lab(*t), **f))
                worst[name] = max(worst[name], took)
        with Catalog.open(home) as other:
            other.delete_piece("T-00001")
        fresh_ms = median_ms(lambda: match_colour(catalog, Lab(*TARGETS[0])), 1)
    figures |= {name: round(value, 1) for name, value in worst.items()}
    figures |= {"scikit_image_ms": round(statistics.median(plain), 1), "first_read_ms": round(first_ms)}
    figures["after_another_program_ms"] = round(fresh_ms)
    figures["ratio"] = round(figures["match_ms"] / figures["scikit_image_ms"], 4)
    return figures


@pytest.mark.benchmark
def test_match_from_ten_thousand_colours_to_a_million(tmp_path):
    rows = [growth_at(tmp_path / str(tiles), tiles) for tiles in (2_500, 25_000, 250_000)]
    print(f"\n{json.dumps(rows, indent=1)}")
    (FIGURES / "search.json").write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")
    (FIGURES / "search.svg").write_text(growth_plot(rows), encoding="utf-8")
    assert rows[-1]["colours"] == 1_000_000


def growth_plot(rows):
    """Draw milliseconds over colours, both by powers of ten, as SVG."""
    drawing = Drawing(460, 300)
    plot = LinePlot()
    plot.x, plot.y, plot.width, plot.height = 60, 50, 360, 200
    names = ("scikit_image_ms", "rare_load_ms", "filtered_ms", "match_ms")
    inks = (colors.grey, colors.darkorange, colors.steelblue, colors.black)
    plot.data = [[(math.log10(r["colours"]), math.log10(max(r[name], 0.1))) for r in rows] for name in names]
    plot.xValueAxis.valueSteps, plot.yValueAxis.valueSteps = [4, 5, 6], [0, 1, 2, 3]
    plot.xValueAxis.valueMin, plot.xValueAxis.valueMax = 4, 6
    plot.yValueAxis.valueMin, plot.yValueAxis.valueMax = 0, 3
    plot.xValueAxis.labelTextFormat = plot.yValueAxis.labelTextFormat = lambda v: f"{10**v:,.0f}"
    for k, (name, ink) in enumerate(zip(names, inks, strict=True)):
        plot.lines[k].strokeColor = ink
        drawing.add(
            String(64 + 95 * k, 272, name.removesuffix("_ms").replace("_", " "), fontSize=9, fillColor=ink)
        )
    drawing.add(plot)
    drawing.add(String(200, 16, "colours kept", fontSize=9))
    drawing.add(String(8, 256, "ms", fontSize=9))
    return renderSVG.drawToString(drawing)


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    with Catalog.open(tmp_path_factory.mktemp("large")) as catalog:
        fill(catalog, TILES)
        yield catalog


@pytest.mark.benchmark
def test_a_page_of_ten_thousand_pieces(large):
    catalog = large
    page_ms = median_ms(lambda: catalog.pieces(limit=48))
    deep_ms = median_ms(lambda: catalog.pieces(limit=48, offset=9_900))
    text_ms = median_ms(lambda: catalog.pieces(limit=48, text="moss t-0999"))
    count_ms = median_ms(lambda: catalog.count_pieces(kind="tile", text="moss"))
    one_ms = median_ms(lambda: catalog.piece("T-05000"))
    print(
        f"\npage of 48: first {page_ms:.0f} ms, last {deep_ms:.0f} ms, by words {text_ms:.0f} ms, "
        f"count by words {count_ms:.0f} ms, one piece {one_ms:.1f} ms"
    )
    assert max(page_ms, deep_ms, text_ms) < 1000
