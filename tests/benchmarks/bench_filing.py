"""What the log of changes and the asking for rights add to the filing of a photo, on SQLite and PostgreSQL.

    python -m pytest -m benchmark -s tests/benchmarks/bench_filing.py

The same reading is filed again and again, in turn without the log, with it and nobody asked, and with it in
the hands of a keeper and a member. Written to `figures/filing.json`: medians of each way and of the ratios
taken turn by turn, by the clock and by the processor of this program alone.
"""

import json
import os
import statistics
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import event

from catalog.database import WritingSession
from catalog.people import watching
from catalog.records import Layer, PieceDraft
from catalog.store import Catalog
from tests.catalog.conftest import make_photo, make_tile
from tests.catalog.postgresql import running

pytestmark = pytest.mark.benchmark

FIGURES = Path(__file__).parent / "figures" / "filing.json"
TURNS, WARM = int(os.environ.get("GLOSTBOOK_TURNS", "150")), 10
TILES = 2
PHRASE = "old clay under the stairs"
WANTED = 1.10

WATCHES = (
    ("before_flush", watching._look_before),
    ("after_flush", watching._look_after),
    ("before_commit", watching._write_down),
)


@contextmanager
def unwatched() -> Iterator[None]:
    """Nothing is asked and nothing noted."""
    for name, watch in WATCHES:
        event.remove(WritingSession, name, watch)
    by_statement, WritingSession.watch = WritingSession.watch, None
    try:
        yield
    finally:
        WritingSession.watch = by_statement
        for name, watch in WATCHES:
            event.listen(WritingSession, name, watch)


def file_once(catalog: Catalog) -> tuple[float, float]:
    """File a photo of two tiles as it comes from the reader; gives seconds by clock and by processor."""
    reading = make_photo(*(make_tile(i) for i in range(TILES)))
    drafts = [PieceDraft(i, layers=(Layer(None, "Moss", 2, "dip"),)) for i in range(TILES)]
    data = os.urandom(20_000)
    clock, processor = time.perf_counter(), time.process_time()
    catalog.file_photo(data, reading, drafts)
    return time.perf_counter() - clock, time.process_time() - processor


def measured(home: Path) -> dict[str, object]:
    with Catalog.open(home) as catalog:
        keeper = catalog.people.add("Ana", "keeper", passphrase=PHRASE)
        member = catalog.people.add("Ben", "member", passphrase=PHRASE)
        hands = {
            "without": catalog,
            "nobody": catalog,
            "keeper": catalog.acting_as(keeper),
            "member": catalog.acting_as(member),
        }
        spent: dict[str, list[tuple[float, float]]] = {way: [] for way in hands}
        for turn in range(TURNS + WARM):
            ways = list(hands.items())
            for way, hand in (*ways[turn % 4 :], *ways[: turn % 4]):
                if way == "without":
                    with unwatched():
                        took = file_once(hand)
                else:
                    took = file_once(hand)
                if turn >= WARM:
                    spent[way].append(took)
        noted = len(catalog.changes.list(limit=10_000))
        assert noted == 3 * (TURNS + WARM) + 2
    found: dict[str, object] = {}
    for way, times in spent.items():
        found[way] = {
            "median_ms": round(1000 * statistics.median(wall for wall, _ in times), 2),
            "median_processor_ms": round(1000 * statistics.median(cpu for _, cpu in times), 2),
        }
        if way != "without":
            pairs = list(zip(times, spent["without"], strict=True))
            found[way] |= {
                "ratio": round(statistics.median(a[0] / b[0] for a, b in pairs), 3),
                "ratio_processor": round(statistics.median(a[1] / b[1] for a, b in pairs), 3),
            }
    return found


def test_the_log_costs_little(tmp_path, monkeypatch):
    figures: dict[str, object] = {"turns": TURNS, "tiles_a_photo": TILES, "wanted_ratio": WANTED}
    figures["sqlite"] = measured(tmp_path / "sqlite")
    with running(fsync="on") as server:
        monkeypatch.setattr("catalog.store.find_home", server.home)
        figures["postgresql"] = measured(tmp_path / "postgresql")
    text = json.dumps(figures, indent=1)
    print(text)
    FIGURES.write_text(text + "\n", encoding="utf-8")
    for name in ("sqlite", "postgresql"):
        for way in ("nobody", "keeper", "member"):
            assert figures[name][way]["ratio"] <= WANTED
