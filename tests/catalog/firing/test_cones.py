"""The cone ladder."""

import pytest

from catalog.firing.cone_table import published_end_points
from catalog.firing.cones import LADDER, cone_position, cone_steps, cone_text, parse_cone
from catalog.firing.errors import UnknownConeError
from catalog.package_data import read_rows


def test_the_ladder_is_the_charts():
    rows = read_rows("catalog.firing", "cones.csv")
    by_order = {int(row["order"]): row["cone"] for row in rows}
    assert tuple(by_order[i] for i in sorted(by_order)) == LADDER
    assert tuple(published_end_points()) == LADDER


@pytest.mark.parametrize(
    ("text", "cone"),
    [
        ("6", "6"),
        ("06", "06"),
        (" cone 04 ", "04"),
        ("cone:06", "06"),
        ("^6", "6"),
        ("5½", "5.5"),
        ("05 1/2", "05.5"),
        ("5,5", "5.5"),
    ],
)
def test_spellings(text, cone):
    assert parse_cone(text) == cone


@pytest.mark.parametrize("given", ["", "0", "15", "023", "6.5", "-6", "six", "1222", 6, 6.0, None, True])
def test_what_is_no_cone_is_refused(given):
    with pytest.raises(UnknownConeError):
        parse_cone(given)


@pytest.mark.parametrize(
    ("reached", "aimed", "steps"),
    [("7", "6", 1), ("6", "7", -1), ("1", "01", 1), ("6", "5.5", 0.5), ("05.5", "06", 0.5), ("6", "06", 11)],
)
def test_steps(reached, aimed, steps):
    assert cone_steps(reached, aimed) == steps


def test_positions_grow_along_the_ladder_and_lead_back():
    positions = [cone_position(cone) for cone in LADDER]
    assert positions == sorted(positions)
    assert [cone_text(p) for p in positions] == list(LADDER)
