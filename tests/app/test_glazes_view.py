"""Glazes: lines typed count at once, sentences come first, and each piece of work on a glaze does it."""

from pathlib import Path

import pytest

from catalog.glaze.analysis_sheet import AnalysisSheet
from catalog.records import RecipeLine
from catalog.store import Catalog
from tests.app.test_views import INTERNAL, opened, words


def shown(work: str, glaze: str = "Bracken"):
    app = opened("glazes")
    next(box for box in app.selectbox if box.label == "Glaze").select(glaze).run()
    next(g for g in app.segmented_control if g.label == "With this glaze").set_value(work).run()
    assert not app.exception
    said = words(app)
    assert not INTERNAL.search(said), INTERNAL.search(said)
    return app


def box(app, kind: str, label: str):
    return next(element for element in app.get(kind) if element.label == label)


def tables(app) -> list:
    return [element.value for element in app.dataframe]


def test_plain_sentences_come_before_the_numbers(studio: Path) -> None:
    app = shown("Mix a bucket")
    told = [element.proto.body for element in app.get("html")]
    first = next(i for i, body in enumerate(told) if "Above 850 °C each 100 g" in body)
    assert first < next(i for i, body in enumerate(told) if "SiO₂ : Al₂O₃" in body)
    said = words(app)
    assert "glassblower" in said
    assert "respirator" in said


def test_fit_is_told_beside_the_studios_own_tiles(studio: Path) -> None:
    """Shell white crazed on the dark clay: a glaze steeper than Shell white is likely to craze there."""
    with Catalog.open(studio) as catalog:
        catalog.add_recipe(
            "Soda rich",
            [RecipeLine("soda feldspar", 70), RecipeLine("whiting", 15), RecipeLine("soda ash", 15)],
        )
    said = words(shown("Mix a bucket", "Soda rich"))
    assert "On Dark stoneware, beside your own tiles, it is likely to craze" in said


def test_a_clays_expansion_decides_only_where_sets_agree(studio: Path) -> None:
    with Catalog.open(studio) as catalog:
        steep, near = catalog.add_body("Lithia body"), catalog.add_body("Buff body")
        catalog.workshop.add_body_measure(steep.id, "expansion", {"per_k_1e6": 3.0, "plus_minus_1e6": 0.1})
        catalog.workshop.add_body_measure(near.id, "expansion", {"per_k_1e6": 6.5, "plus_minus_1e6": 0.1})
    said = words(shown("Mix a bucket"))
    assert "On Lithia body it is likely to craze" in said
    assert "On Buff body it seems to fit" not in said


def test_a_bucket_by_brongniart(studio: Path) -> None:
    """1000 g dry at gravity 1.45: 0.45 x 2.6 / 1.6 = 0.73125 g/ml, so 1367.5 ml and 983 g of water."""
    app = shown("Mix a bucket")
    assert "983 g of water" in words(app)
    assert "1368 ml" in words(app)
    table = next(t for t in tables(app) if "Running total" in t.columns)
    assert table["Running total"].iloc[-1] == pytest.approx(1000.0)
    box(app, "number_input", "Gravity of the slip").set_value(1.5).run()
    assert "846 g of water" in words(app)


def test_revisions_stand_side_by_side_oxide_by_oxide(studio: Path) -> None:
    with Catalog.open(studio) as catalog:
        lines = [("potash feldspar", 44.0), ("whiting", 30.0), ("quartz", 16.0), ("kaolin", 10.0)]
        catalog.add_recipe("Bracken", [RecipeLine(m, a) for m, a in lines])
    app = shown("Compare revisions")
    assert "Moved for certain" in words(app)
    table = next(t for t in tables(app) if "Moved" in t.columns)
    silica = table[table["Oxide"] == "SiO₂"].iloc[0]
    assert float(silica["Moved"]) == pytest.approx(
        float(silica["Now"]) - float(silica["Revision 1"]), abs=0.0011
    )
    assert float(silica["Moved"]) < 0


def test_doing_without_a_material_shows_what_moved_and_keeps_it(studio: Path) -> None:
    app = shown("Do without a material")
    box(app, "selectbox", "Do without").select("whiting")
    box(app, "multiselect", "Allow instead").set_value(["wollastonite"]).run()
    said = words(app)
    assert "Without whiting" in said
    assert "loss in the fire goes from" in said
    next(button for button in app.button if button.label == "Keep this as a new revision").click().run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        kept = next(recipe for recipe in catalog.recipes() if recipe.name == "Bracken")
    assert kept.revision == 2
    assert "whiting" not in [line.material for line in kept.lines]


def test_blends_of_two_and_three(studio: Path) -> None:
    app = shown("Blend")
    chosen = box(app, "multiselect", "Blend Bracken with")
    chosen.set_value(["Slate blue"]).run()
    assert len(next(t for t in tables(app) if "Point" in t.columns)) == 6
    box(app, "multiselect", "Blend Bracken with").set_value(["Slate blue", "Shell white"]).run()
    table = next(t for t in tables(app) if "Point" in t.columns)
    assert len(table) == 15
    assert not app.exception
    assert set(table.iloc[0]) == {"1", "100 %", "0 %"}


def test_the_plane_shows_the_studios_tiles_of_a_cone(studio: Path) -> None:
    app = shown("Silica and alumina")
    box(app, "selectbox", "Fired to cone").select("8").run()
    assert not app.exception
    assert "No tile of yours" not in words(app)
    box(app, "selectbox", "Fired to cone").select("04").run()
    assert "No tile of yours came to cone 04" in words(app)


def test_own_materials_are_kept_with_their_sums_checked(studio: Path) -> None:
    with Catalog.open(studio) as catalog:
        catalog.workshop.add_material(
            AnalysisSheet("north clay", {"SiO2": 48.0, "Al2O3": 36.5, "K2O": 2.0}, 12.5, lot="B7")
        )
    app = shown("Own materials")
    table = next(t for t in tables(app) if "Lot" in t.columns)
    assert list(table["Lot"]) == ["B7"]
    box(app, "selectbox", "Sheet for").select("north clay").run()
    box(app, "number_input", "Loss on ignition, %").set_value(30.0)
    next(b for b in app.button if b.label == "Keep as the next revision").click().run()
    assert not app.exception
    assert "cannot be right" in words(app)
    box(app, "number_input", "Loss on ignition, %").set_value(13.0)
    next(b for b in app.button if b.label == "Keep as the next revision").click().run()
    with Catalog.open(studio) as catalog:
        assert [each.own.revision for each in catalog.workshop.materials()] == [2]


def test_tiles_of_this_very_glaze_speak_before_any_sum(studio: Path) -> None:
    said = words(shown("Mix a bucket", "Shell white"))
    assert "On Dark stoneware your own tiles of it have crazed." in said
    assert "On White stoneware no tile of it has been seen to craze or shiver so far." in said
