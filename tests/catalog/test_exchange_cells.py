"""Cells of a package: no text becomes a formula, and every value comes back as it was."""

import csv
import io
from datetime import UTC

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.exchange.cells import ESCAPED, from_cell, to_cell


@given(st.text(alphabet=st.characters(exclude_categories=("Cs",), exclude_characters="\x00"), max_size=12))
def test_no_text_becomes_a_formula_and_all_come_back(text):
    for given_text in (text, *(sign + text for sign in ESCAPED)):
        cell = to_cell(given_text, "string")
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))
        assert from_cell(cell, "string") == given_text
        out = io.StringIO(newline="")
        csv.writer(out, lineterminator="\r\n").writerow([cell, "x"])
        assert next(csv.reader(io.StringIO(out.getvalue(), newline=""))) == [cell, "x"]


@given(st.floats(allow_nan=False, allow_infinity=False), st.integers(-(2**62), 2**62), st.datetimes())
def test_numbers_and_moments_come_back_exactly(number, whole, moment):
    assert from_cell(to_cell(number, "number"), "number") == number
    assert from_cell(to_cell(whole, "integer"), "integer") == whole
    when = moment.replace(tzinfo=UTC)
    assert from_cell(to_cell(when, "datetime"), "datetime") == when


@pytest.mark.parametrize(
    ("cell", "kind"),
    [
        ("yes", "boolean"), ("nan", "number"), ("inf", "number"), ("1e999", "number"), ("x", "integer"),
        ("2026-13-01", "date"), ("2026-10-19", "datetime"), ("[1]", "object"), ("{}", "array"),
        ("{\"a\": NaN}", "object"), ("[" * 100_000, "array"), ("9" * 30, "integer"),
    ],
)  # fmt: skip
def test_cells_of_another_kind_are_refused(cell, kind):
    with pytest.raises(ValueError):  # noqa: PT011 - the one error that all kinds share
        from_cell(cell, kind)
