"""Facts that the records answer, worked by hand."""

import math
import random

import numpy as np
import pytest
from scipy.stats import binomtest, fisher_exact

from catalog.causes.derive import derive_facts
from catalog.causes.fact import Origin
from catalog.causes.image_facts import clark_evans
from catalog.causes.pattern_facts import chance_all_in_group, pattern_facts, thick_over_thin
from catalog.causes.vocabulary import check_value
from catalog.records import Judgement, Layer, Recipe, RecipeLine, Segment
from tests.synthetic_studio import DARK, RECIPES, WHEN, WHITE, kept, load, marks, piece, tile_reading
from vision.reading import Crawling, Crazing, MarkKind


def facts_of(made, fault="blister", **fields):
    return derive_facts(made, fault, recipes=RECIPES, **fields).facts


def test_every_fact_is_in_the_vocabulary_with_a_sentence_and_an_origin():
    facts = facts_of(piece())
    for key, fact in facts.items():
        assert check_value(key, fact.value) == fact.value
        assert fact.key == key
        assert fact.sentence
        assert not fact.sentence.endswith(".")
        assert 0.0 < fact.certainty <= 1.0


def test_the_witness_cone_on_the_pieces_shelf_speaks():
    # aimed at 6, range 5 to 6, body matures at 6; cone 8 reached on the middle shelf
    facts = facts_of(piece(load=load(cones=[("top", "6"), ("middle", "8")])))
    assert facts["firing.cone_over_target"].value == 2.0
    assert facts["firing.cone_over_range"].value == 2.0
    assert facts["firing.cone_under_range"].value == -3.0
    assert facts["firing.cone_over_body"].value == 2.0
    assert facts["firing.witness_cone"].value is True
    assert facts["firing.cone_over_target"].origin is Origin.RECORDED
    assert facts["firing.cone_over_target"].sentence == (
        "The witness cone on the middle shelf reached cone 8; the load was aimed at cone 6: 2 cones hotter"
    )


def test_a_witness_cone_outranks_the_plan():
    hot_plan = [Segment(150, 1100), Segment(60, 1300, 30)]
    facts = facts_of(piece(load=load(cones=[("middle", "6")], schedule=hot_plan)))
    assert facts["firing.cone_over_target"].value == 0.0


def test_a_cone_on_another_shelf_counts_less_and_says_so():
    facts = facts_of(piece(shelf="top", load=load(cones=[("middle", "8")])))
    assert facts["firing.cone_over_target"].value == 2.0
    assert facts["firing.cone_over_target"].certainty == 0.6
    assert facts["firing.witness_cone"].value is False
    assert "on the middle shelf" in facts["firing.cone_over_target"].sentence


def test_without_a_shelf_the_middle_cone_speaks_softly_when_shelves_differ():
    facts = facts_of(piece(shelf=None, load=load(cones=[("top", "8"), ("middle", "7"), ("bottom", "5")])))
    assert facts["firing.cone_over_target"].value == 1.0
    assert facts["firing.cone_over_target"].certainty == 0.3
    assert "firing.witness_cone" not in facts


def test_a_plan_alone_counts_little_and_only_beyond_its_doubt():
    # the published end point of self-supporting cone 6 at 60 C/h is 1222 C (catalog/firing/data/cones.csv)
    on = facts_of(piece(load=load(cones=[], schedule=[Segment(150, 1100), Segment(60, 1222)])))
    assert "firing.cone_over_target" not in on
    hot = [Segment(150, 1100), Segment(60, 1300, 10)]
    over = facts_of(piece(load=load(cones=[], schedule=hot)))
    assert over["firing.cone_over_target"].value >= 3.0
    assert over["firing.cone_over_target"].certainty == 0.4
    assert over["firing.cone_over_target"].origin is Origin.COMPUTED
    assert "firing.witness_cone" not in over


def test_the_planned_course_gives_rates_and_holds():
    facts = facts_of(piece())
    assert facts["firing.final_ramp_C_h"].value == pytest.approx(70.0)
    assert facts["firing.hold_peak_min"].value == pytest.approx(10.0)
    assert facts["firing.drop_hold_min"].value == 0.0
    assert facts["firing.kiln"].value == "electric"
    assert facts["firing.shelf"].value == "middle"


def test_layers_body_and_recipe_answer():
    layers = (Layer(1, "Rain clear", 2, "dip", 0.6), Layer(1, "Rain clear", 1, "dip", 0.5))
    facts = facts_of(piece(layers=layers, body=DARK))
    assert facts["application.coats"].value == 3.0
    assert facts["application.raw_thickness_mm"].value == pytest.approx(1.1)
    assert facts["application.layers"].value == 1.0
    assert facts["application.method"].value == "dip"
    assert facts["body.kind"].value == "dark_stoneware"
    assert facts["body.dark_stained"].value is True
    assert facts["recipe.cone_high"].value == "6"
    assert facts["recipe.si_al"].value == pytest.approx(9.11, abs=0.01)
    assert facts["recipe.si_al"].origin is Origin.COMPUTED


def test_a_thickness_missing_in_one_layer_leaves_the_sum_unknown():
    layers = (Layer(1, "Rain clear", 2, "dip", 0.6), Layer(None, "Slip", None, None, None))
    facts = facts_of(piece(layers=layers))
    assert "application.raw_thickness_mm" not in facts
    assert "application.coats" not in facts
    assert facts["application.layers"].value == 2.0


def test_a_shop_glaze_is_not_known_and_a_strange_material_is_noted():
    shop = Recipe(1, "Shop blue", 1, ())
    derived = derive_facts(piece(), "blister", recipes={1: shop})
    assert derived.facts["recipe.known"].value is False
    strange = Recipe(1, "Old bucket", 1, (RecipeLine("moon dust", 100.0),))
    derived = derive_facts(piece(), "blister", recipes={1: strange})
    assert "recipe.known" not in derived.facts
    assert any("moon dust" in note for note in derived.notes)


def test_what_a_person_answers_outranks_everything():
    made = piece(facts={"firing.cone_over_target": -1.0, "application.coats": 5})
    facts = facts_of(made)
    assert facts["firing.cone_over_target"].value == -1.0
    assert facts["firing.cone_over_target"].origin is Origin.ANSWERED
    assert facts["application.coats"].value == 5.0


def test_a_recorded_fact_nobody_understands_is_noted_and_left_out():
    made = piece(facts={"firing.moon_phase": "full", "application.coats": "many"})
    derived = derive_facts(made, "blister", recipes=RECIPES)
    assert derived.facts["application.coats"].value == 2.0
    assert len(derived.notes) == 2
    assert any("moon_phase" in note for note in derived.notes)


def test_marks_give_density_size_and_domes():
    found = marks(MarkKind.BLISTER, [(10 + i, 20) for i in range(6)], 2.0)
    found += marks(MarkKind.CRATER, [(10 + i, 60) for i in range(2)], 1.0)
    facts = facts_of(piece(reading=tile_reading(found, ["blistered"])))
    assert facts["image.density_per_cm2"].value == pytest.approx(8 / 40)
    assert facts["image.defect_diam_mm"].value == 2.0
    assert facts["image.domes_share"].value == pytest.approx(0.75)
    assert facts["image.gloss"].value == "gloss"
    # pinholes are another fault
    assert facts_of(piece(reading=tile_reading(found)), "pinhole")["image.density_per_cm2"].value == 0.0


def test_no_scale_gives_no_sizes():
    tile = tile_reading((), ["blistered"])
    bare = tile.__class__(
        **{name: getattr(tile, name) for name in tile.__slots__}
        | {"density_per_cm2": dict.fromkeys(tile.density_per_cm2), "glaze": None}
    )
    facts = facts_of(piece(reading=bare))
    assert not any(key.startswith("image.d") for key in facts)


def test_nets_and_bare_patches():
    net = tile_reading((), ["crazed"], crazing=Crazing(True, 0.95, 30.0, 4.2))
    assert facts_of(piece(reading=net), "crazed")["image.craze_cell_mm"].value == 4.2
    bare = tile_reading((), ["crawled"], crawling=Crawling(True, 0.9, 0.031, 3))
    assert facts_of(piece(reading=bare), "crawl")["image.bare_area_pct"].value == pytest.approx(3.1)


def test_a_superseded_reading_says_nothing():
    old = kept(tile_reading(marks(MarkKind.BLISTER, [(5, 5)]), ["blistered"]), 1, superseded=True)
    new = kept(tile_reading(), 2)
    facts = facts_of(piece(readings=(old, new)))
    assert facts["image.density_per_cm2"].value == 0.0


def test_spacing_of_random_clustered_and_regular_points():
    # Clark & Evans (1954): random points give 1, a square grid 2 (edges corrected), clusters less
    rng = np.random.default_rng(5)
    ratios = [clark_evans(rng.uniform(0, 1, (60, 2)) * (50, 100), 5000, 300) for _ in range(200)]
    assert np.mean(ratios) == pytest.approx(1.0, abs=0.02)
    grid = [(5 + 10 * x, 5 + 10 * y) for x in range(5) for y in range(10)]
    assert clark_evans(grid, 5000, 300) > 1.7
    clump = [(25 + rng.normal(0, 1), 50 + rng.normal(0, 1)) for _ in range(40)]
    assert clark_evans(clump, 5000, 300) < 0.4


@pytest.mark.parametrize(("affected", "inside", "total"), [(2, 2, 4), (3, 3, 12), (4, 6, 20), (1, 3, 9)])
def test_the_chance_of_a_pattern_is_fishers(affected, inside, total):
    table = [[affected, inside - affected], [0, total - inside]]
    expected = fisher_exact(table, alternative="greater").pvalue
    assert chance_all_in_group(affected, inside, total) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("thick", "thin"), [((12, 40.0), (2, 38.0)), ((5, 40.0), (5, 20.0)), ((3, 40.0), (0, 40.0))]
)
def test_the_chance_of_thick_against_thin_is_the_exact_binomial(thick, thin):
    share = thick[1] / (thick[1] + thin[1])
    expected = binomtest(thick[0], thick[0] + thin[0], share).pvalue
    assert thick_over_thin(thick, thin)[1] == pytest.approx(expected)


def loads_pieces(bad, good):
    """Pieces of one load: `bad` blistered and `good` clean, each (count, glaze, body)."""
    found, number = [], 1
    for faults, groups in ((["blistered"], bad), ([], good)):
        for count, glaze, body in groups:
            for _ in range(count):
                layers = (Layer(None, glaze, 2, "dip", 0.6),)
                found.append(piece(number, faults, layers=layers, body=body))
                number += 1
    return found


def test_one_glaze_only_needs_counts_that_bear_it_out():
    two = loads_pieces([(2, "a", WHITE)], [(8, "b", WHITE)])  # by lot 1 time in 45, and still two tiles
    assert "spread.one_glaze_only" not in pattern_facts(two[0], "blister", two)
    many = loads_pieces([(4, "a", WHITE)], [(8, "b", WHITE)])
    fact = pattern_facts(many[0], "blister", many)["spread.one_glaze_only"]
    assert fact.value is True
    assert "All 4 affected pieces share one glaze (4 of 4 with it, 0 of 8 without" in fact.sentence
    both = loads_pieces([(2, "a", WHITE), (2, "b", DARK)], [(4, "b", WHITE)])
    facts = pattern_facts(both[0], "blister", both)
    assert facts["spread.one_glaze_only"].value is False
    assert facts["spread.one_body_only"].value is False
    assert facts["spread.load_share_pct"].value == pytest.approx(50.0)
    assert "4 of the 8 pieces" in facts["spread.load_share_pct"].sentence


def test_most_glazes_needs_three():
    three = loads_pieces([(2, "a", WHITE), (2, "b", WHITE)], [(2, "c", WHITE)])
    assert pattern_facts(three[0], "blister", three)["spread.all_glazes"].value is True


def test_pieces_nobody_looked_at_are_not_counted():
    pieces = loads_pieces([(4, "a", WHITE)], [])
    pieces += [piece(90 + i, readings=()) for i in range(10)]
    assert pattern_facts(pieces[0], "blister", pieces)["spread.load_share_pct"].value == 100.0


def test_a_persons_word_counts_in_the_pattern():
    pieces = loads_pieces([(4, "a", WHITE)], [(4, "b", WHITE)])
    no = Judgement(1, "fault", "blistered", "absent", "keeper", WHEN)
    pieces[1] = piece(2, ["blistered"], layers=(Layer(None, "a", 2, "dip", 0.6),), judgements=(no,))
    assert pattern_facts(pieces[0], "blister", pieces)["spread.load_share_pct"].value == pytest.approx(37.5)


def test_sister_tiles_tell_thick_from_thin():
    rng = random.Random(3)

    def spots(count):
        return marks(MarkKind.BLISTER, [(rng.uniform(0, 50), rng.uniform(0, 100)) for _ in range(count)])

    stairs = [
        piece(
            i,
            ["blistered"],
            layers=(Layer(1, "Rain clear", i, "dip", 0.3 * i),),
            reading=tile_reading(spots(n), ["blistered"]),
        )
        for i, n in ((1, 4), (2, 9), (3, 30))
    ]
    fact = pattern_facts(stairs[0], "blister", stairs)["image.density_thick_vs_thin"]
    assert fact.value == pytest.approx(7.5)
    assert fact.origin is Origin.INFERRED
    assert "30 marks on 40 cm² against 4 on 40 cm²" in fact.sentence
    even = [
        piece(i, layers=(Layer(1, "Rain clear", i, "dip", 0.3 * i),), reading=tile_reading(spots(5)))
        for i in (1, 3)
    ]
    assert "image.density_thick_vs_thin" not in pattern_facts(even[0], "blister", even)
    assert math.isfinite(fact.value)


def test_a_clean_tile_beside_a_bad_pot():
    tile, pot = piece(1, []), piece(2, kind="ware")
    assert pattern_facts(pot, "blister", [tile, pot])["spread.test_tile_ok"].value is True
    bad = piece(3)
    assert pattern_facts(pot, "blister", [bad, pot])["spread.test_tile_ok"].value is False
