"""The workshop of a catalogue: materials by sheet, logs with their file, cones as found, clays measured."""

import pytest

from catalog.body.errors import MeasurementError
from catalog.checkup import find_problems
from catalog.errors import BodyNotFoundError, InvalidRecordError, LoadNotFoundError
from catalog.firing.bend import WitnessReading
from catalog.firing.errors import MeasureError, ScheduleError
from catalog.glaze.analysis_sheet import AnalysisSheet
from catalog.glaze.errors import AnalysisSheetError
from catalog.glaze.formula import formula_of
from catalog.records import ConeResult, Segment
from catalog.store import Catalog

LOG = b"elapsed min,kiln temp F\n" + b"".join(
    b"%d,%.1f\n" % (m, 68 + (2232 - 68) * m / 600) for m in range(0, 601, 5)
)
CLAY = AnalysisSheet(
    "North clay", {"SiO2": 48.0, "Al2O3": "36,5", "Fe2O3": 0.8, "K2O": 1.9}, 12.4, moisture_pct=8.0, lot="B7"
)


@pytest.fixture
def load(catalog):
    return catalog.add_load("October", kiln="Small", schedule=[Segment(60.0, 1222.0)])


def test_a_sheet_becomes_a_material_with_revisions(catalog, home):
    first = catalog.workshop.add_material(CLAY)
    assert (first.own.revision, first.own.material.oxides_wt_pct["Al2O3"]) == (1, 36.5)
    assert catalog.workshop.add_material(CLAY) == first
    later = catalog.workshop.add_material(
        AnalysisSheet("north CLAY", {"SiO2": 47.0, "Al2O3": 37.5, "K2O": 2.0}, 12.9, lot="B8")
    )
    assert (later.own.name, later.own.revision, later.own.lot) == ("North clay", 2, "B8")
    with Catalog.open(home) as again:
        kept = again.workshop.materials(latest_only=False)
        assert [(each.own.name, each.own.revision) for each in kept] == [("North clay", 2), ("North clay", 1)]
        assert kept[1].sheet == CLAY
        assert again.workshop.moisture_pct() == {}
        own = again.workshop.own()
        assert formula_of([("north clay", 50), ("whiting", 50)], own).shares[0].material.oxides_wt_pct[
            "Al2O3"
        ] == pytest.approx(37.5)


def test_a_sheet_that_cannot_be_is_not_kept(catalog):
    with pytest.raises(AnalysisSheetError, match="add to"):
        catalog.workshop.add_material(AnalysisSheet("Odd", {"SiO2": 70.0}, 5.0))
    assert catalog.workshop.materials() == ()


def test_a_log_is_kept_byte_for_byte_and_read_again(catalog, home, load):
    kept = catalog.workshop.keep_log(load.id, LOG, "kiln.csv")
    with Catalog.open(home) as again:
        assert again.workshop.log(load.id) == kept
        assert again.workshop.log_bytes(kept) == LOG
        read = again.workshop.read_log(kept)
        assert read.path.peak_c == pytest.approx(1222.2, abs=0.1)
        assert read.columns.unit == "F"
        assert again.workshop.courses()[load.id].peak_c == read.path.peak_c
        assert find_problems(again) == ()
    catalog.workshop.remove_log(load.id)
    assert catalog.workshop.log(load.id) is None
    assert [(p.kind, p.what) for p in find_problems(catalog)] == [("unknown log", kept.sha256)]


def test_a_choice_of_columns_is_kept_with_the_log(catalog, load):
    data = b"time,a temp,b temp\n" + b"".join(b"%d,%d,%d\n" % (m, 20 + m, 30 + m) for m in range(0, 900, 5))
    first = catalog.workshop.keep_log(load.id, data, "two.csv", {"time_kind": "minutes"})
    assert catalog.workshop.read_log(first).columns.temperature == "a temp"
    chosen = {"time_kind": "minutes", "temperature": "b temp"}
    second = catalog.workshop.keep_log(load.id, data, "two.csv", chosen)
    assert catalog.workshop.read_log(second).path.peak_c == 925.0
    assert catalog.workshop.log(load.id).choice == chosen


def test_what_is_no_log_is_refused_by_its_own_name_and_nothing_is_kept(catalog, load):
    with pytest.raises(ScheduleError, match=r"shopping\.csv"):
        catalog.workshop.keep_log(load.id, b"eggs,flour\nsix,much\n", "shopping.csv")
    assert catalog.workshop.log(load.id) is None
    assert list(catalog.workshop.logs.digests()) == []
    with pytest.raises(LoadNotFoundError):
        catalog.workshop.keep_log(99, LOG, "kiln.csv")


def test_cones_as_found_say_what_the_shelf_came_to_and_a_typed_cone_stays(catalog, load):
    catalog.update_load(load.id, cones=[ConeResult("top", "7", "seen by Ana")])
    found = [
        WitnessReading("middle", "5", 90.0),
        WitnessReading("middle", "6", 50.0),
        WitnessReading("middle", "7", 8.0),
    ]
    changed = catalog.workshop.set_witnesses(load.id, found)
    assert changed.cones == (
        ConeResult("top", "7", "seen by Ana"),
        ConeResult("middle", "5.5", "by its lean"),
    )
    assert catalog.workshop.witnesses(load.id) == tuple(found)
    (top, middle) = sorted(catalog.workshop.offsets(catalog.loads()), key=lambda each: -each.median_c)
    assert (top.shelf, middle.shelf) == ("top", "middle")
    assert middle.median_c < 0.0 < top.median_c
    assert catalog.workshop.set_witnesses(load.id, []).cones == (ConeResult("top", "7", "seen by Ana"),)
    with pytest.raises(MeasureError):
        catalog.workshop.set_witnesses(load.id, [WitnessReading("top", "6", 200.0)])


def test_the_bisque_of_a_load(catalog, load):
    bisque = catalog.add_load("Bisque", "bisque", kiln="Small")
    assert catalog.workshop.bisque_of(load.id) is None
    catalog.workshop.set_bisque(load.id, bisque.id)
    assert catalog.workshop.bisque_of(load.id) == bisque
    catalog.workshop.set_bisque(load.id, None)
    assert catalog.workshop.bisque_of(load.id) is None
    with pytest.raises(InvalidRecordError):
        catalog.workshop.set_bisque(bisque.id, load.id)


def test_a_load_takes_its_log_cones_and_bisque_along(catalog, load):
    bisque = catalog.add_load("Bisque", "bisque")
    catalog.workshop.keep_log(load.id, LOG, "kiln.csv")
    catalog.workshop.set_witnesses(load.id, [WitnessReading("top", "6", 90.0)])
    catalog.workshop.set_bisque(load.id, bisque.id)
    catalog.delete_load(load.id)
    assert catalog.workshop.log(load.id) is None
    assert catalog.workshop.witnesses(load.id) == ()


def test_clays_measured_the_newest_of_a_kind_counts(catalog):
    body = catalog.add_body("White", "stoneware")
    shop = catalog.workshop
    shop.add_body_measure(body.id, "shrinkage", {"bars": [[100, 95, 89]]}, cone="6")
    shop.add_body_measure(body.id, "shrinkage", {"bars": [[100, 94, 88], [100, 94, 88]]}, cone="6")
    shop.add_body_measure(body.id, "absorption", {"weighings": [[50, 51, None]]})
    shop.add_body_measure(body.id, "expansion", {"per_k_1e6": 6.1, "temperature_range": "20-600 C"})
    shop.add_body_measure(body.id, "ranges", {"bisque_low": "06", "bisque_high": "04", "glaze_high": "6"})
    known = shop.body_knowledge(body.id)
    assert known.shrinkage.total.pct == pytest.approx(12.0)
    assert known.absorption.pct == pytest.approx(2.0)
    assert known.expansion.per_k == pytest.approx(6.1e-6)
    assert known.ranges == {"bisque_low": "06", "bisque_high": "04", "glaze_high": "6"}
    measures = shop.body_measures(body.id)
    assert [m.kind for m in measures] == ["ranges", "expansion", "absorption", "shrinkage", "shrinkage"]
    shop.remove_body_measure(measures[3].id)
    assert shop.body_knowledge(body.id).shrinkage.total.pct == pytest.approx(11.0)


@pytest.mark.parametrize(
    ("kind", "figures"),
    [
        ("shrinkage", {"bars": [[100, None, None]]}),
        ("shrinkage", {"bars": [[100, -5, None]]}),
        ("absorption", {"weighings": [[50, None, None]]}),
        ("absorption", {"pct": 140.0}),
        ("expansion", {"per_k_1e6": 61.0}),
        ("expansion", {}),
        ("ranges", {"glaze_low": "6", "glaze_high": "06"}),
        ("ranges", {}),
        ("weight", {"g": 1}),
    ],
)
def test_measures_that_cannot_be_are_refused(catalog, kind, figures):
    body = catalog.add_body("White", "stoneware")
    with pytest.raises(MeasurementError):
        catalog.workshop.add_body_measure(body.id, kind, figures)
    assert catalog.workshop.body_measures(body.id) == ()
    with pytest.raises(BodyNotFoundError):
        catalog.workshop.add_body_measure(99, "expansion", {"per_k_1e6": 6.0})
