"""How long a match over 10 000 tiles takes, beside scikit-image's CIEDE2000 over them in the same run.

``pytest -m benchmark -s tests/benchmarks/test_search_speed.py``
"""

import statistics
import time

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000
from sqlalchemy import insert

from catalog.columns import now
from catalog.search import colour_table, match_colour
from catalog.store import Catalog
from catalog.tables import CounterRow, LayerRow, PaletteRow, PhotoRow, PieceRow, ReadingRow
from vision.reading import Lab

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


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    """Rows written straight into the tables; filing 10 000 photos one by one would take minutes."""
    rng = np.random.default_rng(1)
    labs = rng.uniform([5, -60, -70], [95, 60, 80], size=(TILES, COLOURS, 3))
    moment = now()
    with Catalog.open(tmp_path_factory.mktemp("large")) as catalog:
        body = catalog.add_body("White")
        load = catalog.add_load("October")
        with catalog.database.writing() as session:
            session.execute(
                insert(PhotoRow), [{"sha256": "0" * 64, "name": "p.jpg", "size_bytes": 1, "kept_at": moment}]
            )
            session.execute(
                insert(PieceRow),
                [
                    {
                        "id": n,
                        "code": f"T-{n:05d}",
                        "code_key": f"t-{n:05d}",
                        "kind": "tile",
                        "body_id": body.id,
                        "load_id": load.id,
                        "facts": {},
                        "notes": "",
                        "filed_at": moment,
                    }
                    for n in range(1, TILES + 1)
                ],
            )
            session.execute(
                insert(LayerRow),
                [{"piece_id": n, "position": 0, "name": "Moss"} for n in range(1, TILES + 1)],
            )
            session.execute(
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
                        "finish": "gloss",
                        "tile": TILE_JSON,
                        "read_at": moment,
                    }
                    for n in range(1, TILES + 1)
                ],
            )
            session.execute(
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
                    for n in range(TILES)
                    for c in range(COLOURS)
                ],
            )
            session.execute(insert(CounterRow), [{"name": "colours", "value": 1}])
        yield catalog, labs


@pytest.mark.benchmark
def test_match_over_ten_thousand_tiles(large):
    catalog, labs = large
    target = Lab(40.0, -2.0, -20.0)
    start = time.perf_counter()
    table = colour_table(catalog)
    first_ms = 1000 * (time.perf_counter() - start)
    assert len(table.lab) == TILES * COLOURS
    flat = labs.reshape(-1, 3)
    point = np.array([target.as_tuple()])
    plain_ms = median_ms(lambda: deltaE_ciede2000(flat, point))
    match_ms = median_ms(lambda: match_colour(catalog, target))
    filtered_ms = median_ms(lambda: match_colour(catalog, target, body_id=1, finish="gloss"))
    best = np.sort(deltaE_ciede2000(flat, point).reshape(TILES, COLOURS).min(axis=1))[:12]
    assert [m.delta_e_00 for m in match_colour(catalog, target)] == pytest.approx(best)
    print(
        f"\n{TILES} tiles x {COLOURS} colours: plain pass {plain_ms:.1f} ms, match {match_ms:.1f} ms "
        f"(ratio {match_ms / plain_ms:.2f}), with filters {filtered_ms:.1f} ms, first read {first_ms:.0f} ms"
    )
    assert match_ms < 5 * plain_ms


@pytest.mark.benchmark
def test_a_page_of_ten_thousand_pieces(large):
    catalog, _ = large
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
