"""The whole answer about a recipe, its cautions, its facts, and recipe files good and bad."""

import json

import pytest

from catalog.causes.vocabulary import check_value
from catalog.glaze.analysis_sheet import AnalysisSheet, newest_materials, own_material
from catalog.glaze.caution import recipe_cautions
from catalog.glaze.errors import RecipeFileError
from catalog.glaze.formula import formula_of
from catalog.glaze.recipe_csv import read_recipe_csv
from catalog.glaze.recipe_facts import recipe_facts
from catalog.glaze.report import formula_report
from catalog.records import RecipeLine

WANTED = [("feldspar", 40.0), ("whiting", 20.5), ("china clay", 9.5), ("silica", 30.0)]


def file_with(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "recipe.csv"
    path.write_bytes(text.encode(encoding))
    return path


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("material,amount\nfeldspar,40\nwhiting,20.5\nchina clay,9.5\nsilica,30\n", "utf-8"),
        ("\ufeffMaterial;Amount\r\nfeldspar;40\r\nwhiting;20,5\r\nchina clay;9,5\r\nsilica;30\r\n", "utf-8"),
        ("amount\tmaterial\n40\tfeldspar\n20,5\twhiting\n9.5\tchina clay\n\n30\tsilica\n", "utf-16"),
        (
            "# my glaze\nmaterial,amount,note\nfeldspar,40,é\nwhiting,20.5,\nchina clay,9.5\nsilica,30\n",
            "cp1252",
        ),
    ],
)
def test_a_recipe_file_reads_whatever_wrote_it(tmp_path, text, encoding):
    lines = read_recipe_csv(file_with(tmp_path, text, encoding))
    assert [(line.material, line.amount) for line in lines] == WANTED


def test_additions_are_marked(tmp_path):
    path = file_with(tmp_path, "material,amount,addition\nfeldspar,100,\ncobalt carbonate,1,yes\n")
    assert read_recipe_csv(path)[1] == RecipeLine("cobalt carbonate", 1.0, addition=True)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("", None, "empty"),
        ("name,amount\nfeldspar,40\n", None, "no column material"),
        ("material,weight\nfeldspar,40\n", None, "no column amount"),
        ("material,amount\n", None, "no rows"),
        ("material,amount\nfeldspar,forty\n", 2, "'forty'"),
        ("material,amount\nfeldspar,\n", 2, "''"),
        ("material,amount\nfeldspar,40\nwhiting,-3\n", 3, "'-3'"),
        ("material,amount\nfeldspar,nan\n", 2, "'nan'"),
        ("material,amount\n,40\n", 2, "without a material"),
        ("material,amount\nwhiting,20,5\n", 2, "decimal comma"),
        ("material;amount\nwhiting;1.234,5\n", 2, "1.234,5"),
        ("material,amount\nfeldspar,0\n", None, "zero"),
        ("\x00\x01\x02", None, "not a text file"),
    ],
)
def test_a_bad_recipe_file_is_refused_with_line_and_wish(tmp_path, text, line, words):
    with pytest.raises(RecipeFileError) as caught:
        read_recipe_csv(file_with(tmp_path, text))
    assert caught.value.line == line
    assert words in str(caught.value)
    assert str(caught.value).startswith("recipe.csv")


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(RecipeFileError, match="no such file"):
        read_recipe_csv(tmp_path / "none.csv")


def test_the_json_form_is_the_contracts(tmp_path):
    path = file_with(tmp_path, "material,amount\npotash feldspar,40\nchina clay,10\nwhiting,20\nsilica,30\n")
    data = json.loads(json.dumps(formula_report(path).to_dict()))
    assert data["unity"] == {"K2O": 0.2645, "CaO": 0.7355, "Al2O3": 0.4071, "SiO2": 3.7099}
    assert data["loi_pct"] == 10.1899
    assert data["sio2_al2o3"] == 9.1138
    assert data["wt_pct"].keys() == data["mol_pct"].keys()
    assert set(data["expansion"]) == {
        "Winkelmann & Schott 1894",
        "Mayer & Havas 1911",
        "English & Turner 1929",
        "Appen 1949-1970",
    }
    assert data["cautions"]
    assert data["knao"] == 0.2645
    assert data["knao_apart"] == {"Na2O": 0.0, "K2O": 0.2645}
    assert data["b2o3_share"] == 0.0
    assert 0.0 < data["plus_minus"]["unity.SiO2"] < 0.05
    assert set(data["melt"]["viscosity"]) == {"Lakatos 1976", "Fluegel 2007", "Giordano 2008"}


def test_cadmium_vanadium_and_antimony_of_a_sheet_are_named():
    sheet = AnalysisSheet("old stain", {"SiO2": 70.0, "CdO": 10.0, "V2O5": 10.0, "Sb2O3": 10.0}, 0.0)
    own = newest_materials([own_material(sheet)])
    cautions = recipe_cautions(formula_of([("whiting", 50), ("silica", 45), ("old stain", 5)], own))
    assert cautions[0].startswith("Hold: cadmium")
    for word in ("Vanadium", "Antimony"):
        assert any(text.startswith(word) for text in cautions)


@pytest.mark.parametrize(
    ("material", "word"),
    [
        ("lead bisilicate", "Lead"),
        ("barium carbonate", "Barium"),
        ("manganese dioxide", "Hold: more than about 2 per cent manganese"),
        ("copper carbonate", "Hold: more than about 3 per cent copper"),
        ("chrome oxide", "Chromium"),
        ("nickel oxide", "Nickel"),
        ("lithium carbonate", "Lithium"),
        ("fluorspar", "Fluorides"),
    ],
)
def test_a_hazard_in_the_recipe_is_named(material, word):
    clear = [("potash feldspar", 40), ("whiting", 20), ("silica", 40)]
    cautions = recipe_cautions(formula_of([*clear, (material, 8)]))
    assert any(text.startswith(word) for text in cautions)
    assert not any(text.startswith(word) for text in recipe_cautions(formula_of(clear)))
    held = [text.startswith("Hold:") for text in cautions]
    assert held == sorted(held, reverse=True)


def test_dust_and_release_are_always_said_and_nothing_is_promised():
    text = " ".join(recipe_cautions(formula_of([("potash feldspar", 60), ("whiting", 40)]))).lower()
    assert "silica dust" in text
    assert "accredited laboratory" in text
    for word in ("safe", "non-toxic", "harmless", "lead free"):
        assert word not in text


def test_every_fact_of_a_recipe_is_in_the_vocabulary():
    facts = recipe_facts(formula_of([("nepheline syenite", 50), ("zinc oxide", 5), ("tin oxide", 5)]))
    for key, value in facts.items():
        assert check_value(key, value) == value
    assert facts["recipe.zno_raw_pct"] == pytest.approx(100 * 5 / 60)
    assert facts["recipe.opacifier_pct"] == pytest.approx(100 * 5 / 60)
    assert facts["recipe.cuo_pct"] == 0.0


def test_notes_say_what_the_figures_rest_on():
    notes = formula_report([("nepheline syenite", 50), ("boron frit", 50)]).notes
    assert any("Typical analyses" in note and "nepheline syenite" in note for note in notes)
    assert any("made-up composition" in note for note in notes)
