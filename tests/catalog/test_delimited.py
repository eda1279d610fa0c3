"""Tables people bring: no bytes whatever end in anything but a table or a reason."""

import csv

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.causes.errors import CausesError
from catalog.causes.explain import why_facts_file
from catalog.delimited import TableError, read_delimited, read_number
from catalog.firing.errors import FiringError
from catalog.firing.report import heatwork_report
from catalog.glaze.errors import GlazeError
from catalog.glaze.report import formula_report

HEADS = st.sampled_from(
    [b"", b"material,amount\n", b"rate_c_per_h,target_c\n", b"time_min;temperature_c\n", b'{"fault": "run", ']
)


@settings(max_examples=150, deadline=None)
@given(head=HEADS, rest=st.one_of(st.binary(max_size=200), st.text(max_size=200).map(str.encode)))
def test_no_file_content_escapes_as_a_strange_error(tmp_path_factory, head, rest):
    path = tmp_path_factory.mktemp("any") / "any.csv"
    path.write_bytes(head + rest)
    reasons = []
    for read, family in (
        (read_delimited, TableError),
        (formula_report, GlazeError),
        (heatwork_report, FiringError),
        (why_facts_file, CausesError),
    ):
        try:
            read(path)
        except family as error:
            reasons.append(str(error))
    assert all(reasons)


@pytest.mark.parametrize(
    "text",
    ['{"fault": "run", "facts": {"firing.hold_peak_min": 1' + "0" * 400 + "}}", "[" * 100_000, "9" * 5000],
)
def test_hostile_json_is_refused(tmp_path, text):
    path = tmp_path / "facts.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CausesError):
        why_facts_file(path)


def test_columns_named_twice_are_refused(tmp_path):
    path = tmp_path / "t.csv"
    path.write_text("material,amount,amount\na,1,2\n", encoding="utf-8")
    with pytest.raises(TableError, match="amount more than once"):
        read_delimited(path)


def test_a_folder_and_a_huge_cell_are_refused(tmp_path):
    with pytest.raises(TableError, match="cannot be opened"):
        read_delimited(tmp_path)
    path = tmp_path / "t.csv"
    path.write_text("a,b\n" + "x" * 200_000 + ",1\n", encoding="utf-8")
    csv.field_size_limit(10_000_000)  # as taking in a package leaves it
    with pytest.raises(TableError, match="cannot be read"):
        read_delimited(path)


@pytest.mark.parametrize(
    ("cell", "number"),
    [("1.5", 1.5), ("1,5", 1.5), (" 12 ", 12.0), ("1 000", 1000.0), ("−3", -3.0), ("2e1", 20)],
)
def test_numbers_as_people_write_them(cell, number):
    assert read_number(cell) == number


@pytest.mark.parametrize("cell", ["", "x", "1.234,5", "nan", "inf", "1e999", "1,2,3"])
def test_what_is_no_number_is_refused(cell):
    with pytest.raises(ValueError, match=r".+"):
        read_number(cell)
