"""What the bench knows of a piece, as facts for causes."""

from datetime import date, timedelta

import pytest

from catalog.bench.records import GlazingDraft, LayerDraft
from catalog.causes.bench_facts import bench_facts, bench_knowledge
from catalog.causes.explain import why
from catalog.causes.vocabulary import field
from tests.catalog.test_bench import dipped


def test_what_the_bench_knows_becomes_facts(catalog, bench):
    colour = bench.add_bucket("Iron colour", kind="underglaze")
    day = date(2026, 11, 20)
    done = bench.glaze(
        GlazingDraft(
            (LayerDraft(colour.code, "brush", 3), LayerDraft("B-0001", "dip", 1)),
            new=1,
            bisque_wiped=False,
            overlap=True,
            foot_gap_mm=4.0,
            on=day,
        )
    )
    code = done.codes[0]
    known = bench_knowledge(catalog, catalog.piece(code))
    found = bench_facts(known, "crawl", day + timedelta(days=2))
    assert {key: fact.value for key, fact in found.items()} == {
        "application.method_mix": True,
        "application.bisque_wiped": False,
        "application.overlap": True,
        "application.foot_margin_mm": 4.0,
        "application.sg": 1.45,
        "application.colour_coats": 3.0,
        "recipe.batch_new": True,
        "application.dry_hours": 48.0,
    }
    assert all(field(key).label in fact.sentence for key, fact in found.items())
    later = bench.glaze(dipped(new=1))
    again = bench_facts(bench_knowledge(catalog, catalog.piece(later.codes[0])), "crawl")
    assert again["recipe.batch_new"].value is False


@pytest.mark.parametrize(
    ("stage", "word"), [("drying", "in_raw"), ("bisqued", "after_bisque"), ("out", "at_unload")]
)
def test_when_a_crack_first_showed_is_a_fact_of_cracks_only(catalog, bench, stage, word):
    (code,) = bench.make_pieces(1)
    bench.crack_seen([code], stage)
    known = bench_knowledge(catalog, catalog.piece(code))
    assert bench_facts(known, "crack_making")["history.appears"].value == word
    assert "history.appears" not in bench_facts(known, "pinhole")
    assert bench.undo("crack") == (code,)
    assert bench_knowledge(catalog, catalog.piece(code)).crack is None


def test_a_crack_seen_in_drying_speaks_for_drying_and_against_cooling(catalog, bench):
    (code,) = bench.make_pieces(1)
    catalog.add_judgement(code, "fault", "crack_making", "present")
    before = {c.cause_id: c.probability for c in why(catalog, code, "crack_making").causes}
    bench.crack_seen([code], "drying")
    after = {c.cause_id: c.probability for c in why(catalog, code, "crack_making").causes}
    drying = next(key for key in after if key.endswith("M01_drying_joint"))
    heating = next(key for key in after if key.endswith("M02_heating_or_friction"))
    assert after[drying] > before[drying]
    assert after[heating] < before[heating]
