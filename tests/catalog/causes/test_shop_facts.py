"""Facts from logs, bisque loads, own materials and clays reach the facts of a filed piece."""

from datetime import date
from itertools import pairwise

import pytest

from catalog.causes.derive import derive_facts
from catalog.causes.explain import why
from catalog.causes.fact import Origin
from catalog.causes.shop_facts import ShopKnowledge, shop_knowledge
from catalog.glaze.analysis_sheet import AnalysisSheet
from catalog.records import ConeResult, Layer, PieceDraft, RecipeLine, Segment


def log_bytes(peak_c, hours, cool_to_c=400.0):
    """A straight climb, fifteen minutes at the top, a straight fall at 100 °C an hour."""
    turns = [(0.0, 20.0), (hours * 60, peak_c), (hours * 60 + 15, peak_c)]
    turns.append((turns[-1][0] + (peak_c - cool_to_c) / 100.0 * 60, cool_to_c))
    rows = ["elapsed min,kiln temp C"]
    for (m0, t0), (m1, t1) in pairwise(turns):
        steps = max(1, int((m1 - m0) // 5))
        rows += [f"{m0 + (m1 - m0) * i / steps:.2f},{t0 + (t1 - t0) * i / steps:.2f}" for i in range(steps)]
    rows.append(f"{turns[-1][0]:.2f},{turns[-1][1]:.2f}")
    return "\n".join(rows).encode()


@pytest.fixture
def studio(catalog, photo, tile):
    body = catalog.add_body("White", "stoneware", rated_cone="6", absorption_pct=1.0)
    recipe = catalog.add_recipe(
        "Clear",
        [
            RecipeLine("potash feldspar", 40),
            RecipeLine("our clay", 10),
            RecipeLine("whiting", 20),
            RecipeLine("quartz", 30),
        ],
        cone_low="5",
        cone_high="6",
    )
    loads = [
        catalog.add_load(
            f"Load {day}",
            kiln="Small electric",
            fired_on=date(2026, 9, day),
            cone_aimed="6",
            schedule=[Segment(150, 1100), Segment(60, 1222)],
        )
        for day in (1, 2, 3, 4)
    ]
    catalog.file_photo(
        b"photo",
        photo(tile(0, faults={"blistered": 0.95})),
        [PieceDraft(0, code="T-0001", body_id=body.id, layers=(Layer(recipe.id, "Clear", 2, "dip"),))],
        loads[-1].id,
    )
    return catalog, body, recipe, loads


def facts_of(catalog):
    piece = catalog.piece("T-0001")
    recipes = {recipe.id: recipe for recipe in catalog.recipes()}
    shop = shop_knowledge(catalog, piece)
    return derive_facts(piece, "blister", recipes=recipes, shop=shop)


def test_a_log_outranks_the_plan_and_a_witness_cone_outranks_both(studio):
    catalog, _, _, loads = studio
    assert facts_of(catalog).facts["firing.final_ramp_C_h"].value == pytest.approx(60.0)
    catalog.workshop.keep_log(loads[-1].id, log_bytes(1290.0, 8.0), "log.csv")
    facts = facts_of(catalog).facts
    assert facts["firing.final_ramp_C_h"].value == pytest.approx((1290 - 20) / 8.0, rel=0.02)
    assert "by the log" in facts["firing.final_ramp_C_h"].sentence
    assert facts["firing.cool_C_h_650_500"].value == pytest.approx(100.0, rel=0.02)
    over = facts["firing.cone_over_target"]
    assert over.value >= 3.0
    assert over.origin is Origin.COMPUTED
    assert over.sentence.startswith("The log computes to cone")
    catalog.update_load(loads[-1].id, cones=[ConeResult("middle", "6")])
    over = facts_of(catalog).facts["firing.cone_over_target"]
    assert (over.value, over.origin) == (0.0, Origin.RECORDED)


def test_slower_than_usual_needs_three_earlier_logs_of_the_kiln(studio):
    catalog, _, _, loads = studio
    for load, hours in zip(loads, (8.0, 8.0, 8.0, 10.0), strict=True):
        assert "firing.slow_vs_usual_pct" not in facts_of(catalog).facts
        catalog.workshop.keep_log(load.id, log_bytes(1222.0, hours), "log.csv")
    assert facts_of(catalog).facts["firing.slow_vs_usual_pct"].value == pytest.approx(25.0, abs=0.5)


def test_the_bisque_load_answers_for_the_body(studio):
    catalog, _, _, loads = studio
    bisque = catalog.add_load(
        "Bisque",
        "bisque",
        kiln="Small electric",
        cones=[ConeResult("middle", "04")],
        schedule=[Segment(100, 700), Segment(50, 950), Segment(100, 1060)],
    )
    catalog.workshop.set_bisque(loads[-1].id, bisque.id)
    facts = facts_of(catalog).facts
    assert facts["body.bisque_cone"].value == "04"
    assert facts["body.bisque_hold_700_950_h"].value == pytest.approx(5.0)
    assert facts["body.bisque_hours"].value == pytest.approx(6.8 + 5.0 + 1.1)


def test_own_materials_let_a_recipe_be_worked_out(studio):
    catalog, *_ = studio
    before = facts_of(catalog)
    assert "recipe.si_al" not in before.facts
    assert any("our clay" in note for note in before.notes)
    catalog.workshop.add_material(AnalysisSheet("our clay", {"SiO2": 47.0, "Al2O3": 38.5, "K2O": 1.5}, 12.5))
    after = facts_of(catalog)
    assert 8.0 < after.facts["recipe.si_al"].value < 10.0
    assert after.notes == ()


def test_melt_and_fit_facts_join(studio):
    catalog, body, *_ = studio
    catalog.workshop.add_material(AnalysisSheet("our clay", {"SiO2": 47.0, "Al2O3": 38.5, "K2O": 1.5}, 12.5))
    facts = facts_of(catalog).facts
    assert 750.0 < facts["recipe.early_melt_C"].value < 1000.0
    assert facts["recipe.early_melt_C"].certainty < 1.0
    assert "recipe.cte_minus_body" not in facts
    catalog.workshop.add_body_measure(body.id, "expansion", {"per_k_1e6": 3.0, "plus_minus_1e6": 0.1})
    assert facts_of(catalog).facts["recipe.cte_minus_body"].value > 1.0


def test_measured_absorption_comes_before_the_typed(studio):
    catalog, body, *_ = studio
    assert facts_of(catalog).facts["body.absorption_pct"].value == 1.0
    catalog.workshop.add_body_measure(body.id, "absorption", {"weighings": [[50.0, 51.5, None]]})
    assert facts_of(catalog).facts["body.absorption_pct"].value == pytest.approx(3.0)
    assert why(catalog, "T-0001").facts["body.absorption_pct"].value == pytest.approx(3.0)


def test_without_a_catalogue_nothing_is_known_of_the_workshop(studio):
    catalog, *_ = studio
    assert shop_knowledge(object(), catalog.piece("T-0001")) is None
    assert shop_knowledge(catalog, catalog.piece("T-0001")) != ShopKnowledge()
