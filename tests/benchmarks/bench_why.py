"""How long `glostbook why` thinks about one piece of a catalogue of 10 000, pattern tests included.

    python -m pytest -m benchmark -s tests/benchmarks/bench_why.py

The catalogue is built once: 100 loads of 100 pieces, a third of them blistered, with buckets, lots of clay,
layers, and people's words on 200 causes. What is recorded is the processor time of one case, which another
program on the same cores stretches least, and its ratio to a fixed piece of work (a million additions), so
that figures of different machines can be compared. Written to `figures/why.json`.
"""

import hashlib
import json
import random
import statistics
import time
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import insert

from catalog.casebook.case import case_of
from catalog.casebook.tables import PieceBatchRow
from catalog.columns import new_uid, now
from catalog.records import ConeResult, RecipeLine, Segment
from catalog.store import Catalog
from catalog.tables import LayerRow, PhotoRow, PieceFaultRow, PieceRow, ReadingRow
from vision.reading import (
    Crawling,
    Crazing,
    FaultCall,
    Finish,
    GlazeColour,
    Gloss,
    Lab,
    Mark,
    MarkKind,
    PaletteEntry,
    Subject,
    TileReading,
)
from vision.reading_json import tile_to_dict

pytestmark = pytest.mark.benchmark

LOADS, IN_A_LOAD, BUCKETS, LOTS, OUTCOMES = 100, 100, 60, 12, 200
FIGURES = Path(__file__).parent / "figures" / "why.json"
BUDGET_S = 0.2


def tile(faulty: bool, rng: random.Random) -> dict:
    lab = Lab(27.0, 13.0, 15.0)
    marks = tuple(
        Mark(
            kind=MarkKind.BLISTER,
            x_px=rng.uniform(10, 290),
            y_px=rng.uniform(10, 500),
            diameter_px=12.0,
            probability=0.9,
            x_mm=rng.uniform(2, 48),
            y_mm=rng.uniform(2, 90),
            diameter_mm=2.0,
        )
        for _ in range(20 if faulty else 1)
    )
    return tile_to_dict(
        TileReading(
            subject=Subject.TILE,
            outline_px=((0, 0), (300, 0), (300, 540), (0, 540)),
            glaze=GlazeColour(lab, (1.0, 1.0, 1.0), (PaletteEntry(lab, 1.0),), 39.0),
            body=None,
            gloss=Gloss(0.6, Finish.GLOSS, 0.8),
            marks=marks,
            density_per_cm2={"pinhole": 0.0, "blister": len(marks) / 39.0, "crater": 0.0, "speck": 0.0},
            crazing=Crazing(False, 0.1, 0.0, None),
            crawling=Crawling(False, 0.1, 0.0, 0),
            faults=(FaultCall("blistered", 0.9),) if faulty else (),
        )
    )


def build(home: Path) -> None:
    rng = random.Random(3)
    with Catalog.open(home) as catalog:
        bodies = [catalog.add_body(f"Clay {n}", "stoneware", rated_cone="6").id for n in range(4)]
        lines = [RecipeLine("potash feldspar", 44), RecipeLine("whiting", 23), RecipeLine("quartz", 33)]
        glazes = [catalog.add_recipe(f"Glaze {n}", lines, cone_low="5", cone_high="6") for n in range(20)]
        cones = [ConeResult("top", "8"), ConeResult("middle", "6"), ConeResult("bottom", "6")]
        plan = (Segment(80, 120, 30), Segment(150, 1215, 10))
        loads = [
            catalog.add_load(
                f"Load {n}",
                kiln="Small",
                fired_on=date(2024, 1, 1) + timedelta(days=7 * n),
                cone_aimed="6",
                cones=cones,
                schedule=plan,
            ).id
            for n in range(LOADS)
        ]
        rows = {
            table: [] for table in (PieceRow, LayerRow, PhotoRow, ReadingRow, PieceFaultRow, PieceBatchRow)
        }
        number = 0
        for load in loads:
            for _ in range(IN_A_LOAD):
                number += 1
                shelf = rng.choice(("top", "middle", "bottom"))
                faulty = rng.random() < (0.6 if shelf == "top" else 0.15)
                code = f"T-{number:05d}"
                digest = hashlib.sha256(code.encode()).hexdigest()
                rows[PieceRow].append(
                    {
                        "id": number,
                        "uid": new_uid(),
                        "code": code,
                        "code_key": code.casefold(),
                        "kind": "tile",
                        "body_id": rng.choice(bodies),
                        "load_id": load,
                        "shelf": shelf,
                        "facts": {},
                        "notes": "",
                        "filed_at": now(),
                        "deleted_at": None,
                    }
                )
                for position, glaze in enumerate(rng.sample(glazes, rng.choice((1, 1, 2)))):
                    rows[LayerRow].append(
                        {
                            "piece_id": number,
                            "position": position,
                            "recipe_id": glaze.id,
                            "name": glaze.name,
                            "coats": 2,
                            "method": "dip",
                            "raw_thickness_mm": rng.choice((0.5, 0.8, 1.2)),
                        }
                    )
                rows[PhotoRow].append({"sha256": digest, "name": "p.jpg", "size_bytes": 9, "kept_at": now()})
                rows[ReadingRow].append(
                    {
                        "uid": new_uid(),
                        "piece_id": number,
                        "photo_sha256": digest,
                        "tile_index": 0,
                        "calibration_kind": "card",
                        "mm_per_px": 0.17,
                        "residual_delta_e_00": 1.0,
                        "photo_flags": [],
                        "method": {"colour": 1, "marks": 1},
                        "colour_method": 1,
                        "finish": "gloss",
                        "tile": tile(faulty, rng),
                        "view_sha256": None,
                        "read_at": now(),
                        "superseded_by_id": None,
                    }
                )
                if faulty:
                    rows[PieceFaultRow].append({"piece_id": number, "fault": "blistered", "probability": 0.9})
                for kind, count in (("bucket", BUCKETS), ("clay_lot", LOTS)):
                    name = f"{kind} {rng.randrange(count)}"
                    rows[PieceBatchRow].append(
                        {"piece_id": number, "kind": kind, "name": name, "name_key": name}
                    )
        with catalog.database.writing() as session:
            for table, values in rows.items():
                session.execute(insert(table), values)
        faulty = [row["piece_id"] for row in rows[PieceFaultRow]][:OUTCOMES]
        causes = ("blister/B01_overfire", "blister/B02_coat_too_thick")
        facts = {"application.coats": 2.0, "firing.cone_over_range": 1.0}
        for piece in faulty:
            catalog.casebook.keep_word(f"T-{piece:05d}", "blister", rng.choice(causes), "confirmed", facts)


def yardstick() -> float:
    """Processor time of a million additions, the fastest of five."""

    def once() -> float:
        start = time.process_time()
        total = 0
        for number in range(1_000_000):
            total += number
        assert total
        return time.process_time() - start

    return min(once() for _ in range(5))


def test_why_on_ten_thousand_pieces(tmp_path):
    build(tmp_path / "home")
    with Catalog.open(tmp_path / "home") as catalog:
        assert catalog.count_pieces() == LOADS * IN_A_LOAD
        codes = [piece.code for piece in catalog.pieces(fault="blister", limit=12)]
        case = case_of(catalog, codes[0])
        assert {tally.trait for tally in case.tallies} >= {"bucket", "clay lot", "shelf"}
        assert case.load is not None
        assert case.load.seen == IN_A_LOAD
        spent, waited = [], []
        for code in codes:
            start, wall = time.process_time(), time.perf_counter()
            case_of(catalog, code)
            spent.append(time.process_time() - start)
            waited.append(time.perf_counter() - wall)
    unit = yardstick()
    figures = {
        "pieces": LOADS * IN_A_LOAD,
        "outcomes": OUTCOMES,
        "median_processor_ms": round(1000 * statistics.median(spent), 1),
        "worst_processor_ms": round(1000 * max(spent), 1),
        "median_wall_ms": round(1000 * statistics.median(waited), 1),
        "million_additions_ms": round(1000 * unit, 1),
        "ratio_to_million_additions": round(statistics.median(spent) / unit, 2),
        "budget_ms": 1000 * BUDGET_S,
    }
    print(f"\n{json.dumps(figures, indent=1)}")
    FIGURES.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    assert all(spent_s > 0 for spent_s in spent)
