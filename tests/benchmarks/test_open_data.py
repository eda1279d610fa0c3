"""The reader, default settings, on open photographs that nothing was fitted to or tuned on.

    python -m pytest -m accuracy tests/benchmarks/test_open_data.py -s

reads the sets in ../shared/data beside the checkout (each with its source and licence in a README there)
and keeps its figures in tests/benchmarks/figures/open_data.json, one section a set; `-k charts` measures
one anew. A set that is not there is skipped. None of these is a photo of a faulty glaze: stone, paint,
plastic and steel stand in for it, and the figures say how far what was learnt on renders reaches.
"""

from __future__ import annotations

import json
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.opened.photos import DATA

FIGURES = Path(__file__).resolve().parent / "figures" / "open_data.json"


def _keep(section: str, figures: dict[str, Any]) -> None:
    kept = json.loads(FIGURES.read_text(encoding="utf-8")) if FIGURES.is_file() else {}
    kept[section] = figures
    FIGURES.write_text(json.dumps(kept, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    print(section, json.dumps(figures, indent=1))


def _measure(section: str, folder: str, score: Callable[[Path], dict[str, Any]]) -> dict[str, Any]:
    if not (DATA / folder).is_dir():
        pytest.skip(f"the open photos {folder} are not beside the checkout, in ../shared/data")
    figures = score(DATA / folder)
    _keep(section, figures)
    return figures


@pytest.mark.accuracy
@pytest.mark.parametrize("name", ["uav75", "masonry", "kolektor-sdd", "craquelure"])
def test_thin_cracks(name):
    from tests.benchmarks.opened.lines import SETS, score_set

    figures = _measure(f"lines {name}", SETS[name], score_set)
    assert figures["photos"] > 0
    assert figures["called_crazed_without"] == 0  # single cracks and grain are no craze net


@pytest.mark.accuracy
@pytest.mark.parametrize("name", ["uav75", "masonry", "kolektor-sdd", "craquelure"])
def test_drawn_lines(name):
    from tests.benchmarks.opened.lines import SETS, score_drawn

    assert _measure(f"drawn lines {name}", SETS[name], score_drawn)["photos"] > 0


@pytest.mark.accuracy
def test_pits():
    from tests.benchmarks.opened.pits import FOLDER, score_pits

    assert _measure("pits", FOLDER, score_pits)["squares"] > 0


@pytest.mark.accuracy
def test_bubble_sizes():
    from tests.benchmarks.opened.bubbles import FOLDER, score_bubbles

    figures = _measure("bubbles", FOLDER, score_bubbles)
    assert figures["bubbles"] > 50
    # by hand from ruler.JPG: the ticks 1 and 2 cm lie 1822 px apart
    assert figures["px_per_mm"] == pytest.approx(182, rel=0.02)


@pytest.mark.accuracy
def test_charts():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # colour-science says which optional plotting library is missing
        from tests.benchmarks.opened.charts import FOLDER, score_charts

        figures = _measure("charts", FOLDER, score_charts)
    assert figures["found"] >= figures["opencv_mcc_found"]
    assert figures["found_where_there_is_none"]["glostbook"] == []


@pytest.mark.accuracy
def test_stoneware():
    from tests.benchmarks.opened.scenes import STONEWARE_FOLDER, score_stoneware

    assert _measure("stoneware", STONEWARE_FOLDER, score_stoneware)["photos"] == 16


@pytest.mark.accuracy
def test_no_pottery():
    from tests.benchmarks.opened.scenes import NO_POTTERY, score_no_pottery

    missing = [name for name in NO_POTTERY if not (DATA / name).is_dir()]
    if missing:
        pytest.skip(f"the open photos {', '.join(missing)} are not beside the checkout, in ../shared/data")
    figures = score_no_pottery()
    _keep("no pottery", figures)
    assert figures["photos"] > 0
