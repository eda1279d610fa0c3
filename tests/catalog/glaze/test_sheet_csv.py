"""Analysis sheets from files, good and bad."""

import pytest

from catalog.glaze.analysis_sheet import newest_materials, own_material
from catalog.glaze.errors import AnalysisSheetError
from catalog.glaze.formula import formula_of
from catalog.glaze.sheet_csv import read_sheet_csv

GOOD = (
    "oxide;wt_pct\nSiO2;54,0\nAl2O3;29,0\nFe2O3;1,0\nTiO2;1,3\nK2O;2,7\nMgO;<0,05\nLOI;12,0\nMoisture;3,5\n"
)


def file_with(tmp_path, text):
    path = tmp_path / "clay.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_sheet_becomes_a_material(tmp_path):
    own = own_material(read_sheet_csv(file_with(tmp_path, GOOD), "my clay", lot="B 12"))
    assert (own.moisture_pct, own.lot) == (3.5, "B 12")
    assert own.material.oxides_wt_pct == {"K2O": 2.7, "Al2O3": 29.0, "Fe2O3": 1.0, "SiO2": 54.0, "TiO2": 1.3}
    assert own.notes == ("MgO <0,05: counted as none",)
    formula = formula_of([("My Clay", 100.0)], newest_materials([own]))
    assert formula.loi_pct == 12.0


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("oxide,amount\nSiO2,99\n", "no column wt_pct"),
        ("oxide,wt_pct\nSiO2,99\n", "loss on ignition"),
        ("oxide,wt_pct\nSiO2,99\nLOI,none\n", "line 3"),
        ("oxide,wt_pct\nSiO2,50\nSiO2,49\nLOI,1\n", "line 3: SiO2 stands twice"),
        ("oxide,wt_pct\nSiO2,99\nLOI,1\nloss on ignition,1\n", "twice"),
    ],
)
def test_a_file_that_is_no_sheet_is_refused_with_the_place(tmp_path, text, says):
    with pytest.raises(AnalysisSheetError, match=says):
        read_sheet_csv(file_with(tmp_path, text), "clay")


def test_no_file(tmp_path):
    with pytest.raises(AnalysisSheetError, match="no such file"):
        read_sheet_csv(tmp_path / "none.csv", "clay")
