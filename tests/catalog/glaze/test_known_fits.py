"""Fit told beside the studio's own tiles, and as one sentence a clay.

The verdicts of `fit` have their own tests; here only which pieces count, and what is said.
"""

import pytest

from catalog.glaze.expansion import expansions_of
from catalog.glaze.fit import CRAZES, FITS, SHIVERS, SILENT, Fit
from catalog.glaze.fit_words import agreed_fit, fit_summary
from catalog.glaze.formula import formula_of
from catalog.glaze.known_fits import fits_beside_own, outcomes_on, seen_summary
from catalog.records import Layer, PieceDraft, RecipeLine

LIME = [("potash feldspar", 40), ("kaolin", 10), ("whiting", 20), ("quartz", 30)]
SODA = [("soda feldspar", 70), ("whiting", 15), ("soda ash", 15)]


def fit(verdict, set_name="A", also=()):
    return Fit(verdict, also, set_name, "", None if verdict == SILENT else 1e-7, 1e-7, "too wide")


def test_sets_that_agree_are_counted_and_the_doubt_is_told():
    said = fit_summary([fit(CRAZES), fit(CRAZES, "B", (FITS,)), fit(SILENT, "C")], "White")
    assert said.verdict == CRAZES
    assert said.sentence == (
        "On White it is likely to craze, but within the doubt may fit, by 2 of 3 factor sets; "
        "the others say nothing."
    )


def test_sets_that_disagree_decide_nothing():
    fits = [fit(CRAZES), fit(SHIVERS, "B")]
    assert fit_summary(fits, "White").verdict == "the sets disagree"
    assert "test it" in fit_summary(fits, "White").sentence
    assert agreed_fit(fits) is None
    assert agreed_fit([fit(SILENT), fit(FITS, "B")]).set_name == "B"
    assert agreed_fit([fit(SILENT)]) is None


def test_silence_says_why():
    wide = Fit(SILENT, (), "A", "", 1e-7, 9e-7, "")
    assert "wider than the margin" in fit_summary([wide], "White").sentence
    assert fit_summary([fit(SILENT)], "White").sentence == (
        "Whether it fits White is not computable: too wide."
    )


@pytest.fixture
def fired(catalog, photo, tile):
    """A lime glaze that fits, a soda glaze that crazes, on one clay; both over each other on a third tile."""
    white, dark = catalog.add_body("White"), catalog.add_body("Dark")
    lime, soda = (
        catalog.add_recipe(name, [RecipeLine(*line) for line in lines])
        for name, lines in (("Lime", LIME), ("Soda", SODA))
    )
    layers = {
        "T-0001": (Layer(lime.id, "Lime"),),
        "T-0002": (Layer(soda.id, "Soda"),),
        "T-0003": (Layer(lime.id, "Lime"), Layer(soda.id, "Soda")),
    }
    for number, (code, coats) in enumerate(layers.items()):
        data = f"photo {number}".encode()
        drafts = [PieceDraft(0, code=code, body_id=white.id, layers=coats)]
        catalog.file_photo(data, photo(tile(0), name=f"{number}.jpg"), drafts)
    for code in ("T-0002", "T-0003"):
        catalog.add_judgement(code, "fault", "crazed", "present")
    return catalog, white, dark, lime, soda


def test_single_glazes_on_this_clay_count_and_a_persons_word_decides(fired):
    catalog, white, dark, lime, soda = fired
    assert outcomes_on(catalog.pieces(), white.id) == {lime.id: "fits", soda.id: "crazes"}
    assert outcomes_on(catalog.pieces(), dark.id) == {}
    catalog.add_judgement("T-0002", "fault", "shivered", "present")
    assert outcomes_on(catalog.pieces(), white.id)[soda.id] == "shivers"


def test_a_steeper_glaze_than_one_that_crazed_is_likely_to_craze(fired):
    catalog, white, _, lime, _ = fired
    outcomes = outcomes_on(catalog.pieces(), white.id)
    recipes = {recipe.id: recipe for recipe in catalog.recipes()}
    steeper = expansions_of(formula_of([("soda feldspar", 60), ("whiting", 10), ("soda ash", 30)]).wt_pct)
    fits = fits_beside_own(steeper, outcomes, recipes)
    assert {each.verdict for each in fits} == {CRAZES}
    own = expansions_of(formula_of(LIME).wt_pct)
    alone = fits_beside_own(own, {lime.id: "fits"}, recipes, leave_out=lime.id)
    assert alone == ()
    assert fits_beside_own(own, {lime.id: "fits"}, {}, None) == ()


def test_what_was_seen_is_said_before_any_sum():
    assert "have crazed" in seen_summary("crazes", "White").sentence
    assert "so far" in seen_summary("fits", "White").sentence
    assert seen_summary(None, "White") is None
