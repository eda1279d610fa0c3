"""Every change has who and when, and can be taken back as long as nothing newer rests on it."""

import json
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select

from catalog.people.belonging import is_logged, logged_columns, parent_of
from catalog.people.errors import CannotTakeBackError
from catalog.people.tables import ChangeRow
from catalog.people.watching import MOST_ROWS
from catalog.records import ConeResult, Layer, PieceDraft, RecipeLine, Segment
from catalog.search import match_colour
from catalog.store import Catalog
from catalog.tables import Base
from catalog.unloading import tables as _tables  # noqa: F401 (with it every table is known)
from tests.catalog.people.words import ANA
from vision.reading import Lab


def filed(catalog: Catalog, photo, code: str = "T-0001", data: bytes = b"p", **draft) -> str:
    catalog.file_photo(data, photo(), [PieceDraft(0, code=code, layers=(Layer(None, "slip"),), **draft)])
    return code


def rows(catalog: Catalog) -> dict[str, list[tuple]]:
    """All rows of all tables in the log, their own columns."""
    found = {}
    with catalog.database.reading() as session:
        for table in Base.metadata.sorted_tables:
            if is_logged(table):
                found[table.name] = sorted(
                    (tuple(map(str, row)) for row in session.execute(select(table))), key=str
                )
    return found


def last(catalog: Catalog):
    return catalog.changes.list(limit=1)[0]


def test_a_change_says_who_when_what_it_was_and_what_it_became(catalog, photo):
    ana = catalog.people.add("Ana", "keeper", passphrase=ANA)
    hers = catalog.acting_as(ana)
    filed(hers, photo)
    hers.update_piece("T-0001", notes="a drip at the rim")
    change = last(catalog)
    assert change.who == "Ana"
    assert abs(datetime.now(UTC) - change.made_at) < timedelta(minutes=2)
    (row,) = change.rows
    assert (row.table, row.kind, row.thing, row.label) == ("piece", "changed", "piece", "T-0001")
    assert (row.before, row.after) == ({"notes": ""}, {"notes": "a drip at the rim"})


def test_filing_is_one_change_of_piece_layers_and_reading(catalog, photo):
    filed(catalog, photo)
    (change,) = catalog.changes.list()
    assert (change.who, change.counts) == ("", {"piece added": 1, "layer added": 1, "reading added": 1})
    assert {row.label for row in change.rows} == {"T-0001"}
    (reading,) = (row for row in change.rows if row.table == "reading")
    assert "tile" not in reading.after  # large, and read again from the photo


def test_what_changes_nothing_is_no_change(catalog, photo):
    filed(catalog, photo)
    body = catalog.add_body("White")
    before = len(catalog.changes.list())
    catalog.update_piece("T-0001", notes="", shelf=None)
    catalog.update_body(body.id, name="White")
    catalog.reserve_codes(3)
    assert len(catalog.changes.list()) == before


def test_a_failed_change_leaves_no_trace(catalog, photo):
    filed(catalog, photo)
    with pytest.raises(Exception, match="body"):
        catalog.update_piece("T-0001", notes="half done", body_id=99)
    assert len(catalog.changes.list()) == 1
    assert catalog.piece("T-0001").notes == ""


def test_the_list_is_filtered_and_paged(catalog, photo):
    ana = catalog.people.add("Ana", "keeper", passphrase=ANA)
    hers = catalog.acting_as(ana)
    for number in range(1, 6):
        filed(hers, photo, f"T-000{number}", bytes([number]))
    catalog.update_piece("T-0003", notes="mine")
    assert [c.rows[0].label for c in catalog.changes.list(about="t-0003")] == ["T-0003", "T-0003"]
    assert [c.who for c in catalog.changes.list(about="T-0003")] == ["", "Ana"]
    assert len(catalog.changes.list(who="Ana")) == 5
    assert set(catalog.changes.people()) == {"", "Ana"}
    first = catalog.changes.list(limit=2)
    second = catalog.changes.list(limit=2, before=first[-1].number)
    numbers = [c.number for c in (*first, *second)]
    assert numbers == sorted(numbers, reverse=True)
    assert catalog.changes.list(about="%") == ()


def test_no_secret_and_no_holder_stands_in_the_log(catalog, photo):
    catalog.people.add("Ana", "keeper", passphrase=ANA)
    catalog.people.set_passphrase("Ana", "another five words or so")
    filed(catalog, photo)
    catalog.ware.set_holder("T-0001", "Mrs Someone", note="paid in full")
    with catalog.database.reading() as session:
        told = json.dumps([[row.before, row.after] for row in session.scalars(select(ChangeRow))])
    assert "argon2" not in told
    assert "Someone" not in told


# --- taking back


def test_taken_back_a_piece_is_as_it_was(catalog, photo):
    white, red = catalog.add_body("White"), catalog.add_body("Red")
    filed(catalog, photo, body_id=white.id, facts={"application.sg": 1.45})
    before = catalog.piece("T-0001")
    catalog.update_piece(
        "T-0001",
        body_id=red.id,
        layers=[Layer(None, "moss", 2, "dip"), Layer(None, "rim")],
        notes="other",
        facts={},
        code="T-0077",
    )
    back = catalog.changes.take_back(last(catalog).number)
    assert catalog.piece("T-0001") == before
    assert back.takes_back == catalog.changes.list()[1].number
    assert [c.is_back for c in catalog.changes.list(limit=3)] == [True, True, False]
    catalog.changes.take_back(back.number)  # and done again
    assert catalog.piece("T-0077").notes == "other"
    assert [layer.name for layer in catalog.piece("T-0077").layers] == ["moss", "rim"]


def test_a_filing_taken_back_leaves_the_shelf_and_the_colours(catalog, photo):
    filed(catalog, photo)
    assert match_colour(catalog, Lab(40, -2, -20), limit=5)
    catalog.changes.take_back(last(catalog).number)
    assert catalog.pieces() == ()
    assert match_colour(catalog, Lab(40, -2, -20), limit=5) == ()
    assert catalog.count_pieces(deleted=True) == 1
    catalog.changes.take_back(last(catalog).number)
    assert catalog.piece("T-0001").readings
    assert match_colour(catalog, Lab(40, -2, -20), limit=5)


def test_a_further_reading_taken_back_lets_the_first_stand(catalog, photo):
    filed(catalog, photo)
    before = catalog.piece("T-0001")
    filed(catalog, photo, data=b"second")
    assert len(catalog.piece("T-0001").readings) == 2
    catalog.changes.take_back(last(catalog).number)
    standing = [r for r in catalog.piece("T-0001").readings if not r.superseded]
    assert [r.id for r in standing] == [r.id for r in before.readings]


def test_a_judgement_taken_back_lets_the_reading_speak(catalog, photo, tile):
    catalog.file_photo(b"p", photo(tile(faults={"blistered": 0.9})), [PieceDraft(0, code="T-0001")])
    catalog.add_judgement("T-0001", "fault", "blister", "absent")
    assert catalog.count_pieces(faulty=True) == 0
    catalog.changes.take_back(last(catalog).number)
    assert catalog.count_pieces(faulty=True) == 1
    assert catalog.piece("T-0001").judgements == ()


def test_a_load_removed_comes_back_with_all_that_went_along(catalog):
    load = catalog.add_load(
        "October",
        fired_on=date(2026, 10, 19),
        cones=[ConeResult("top", "8"), ConeResult("middle", "7")],
        schedule=[Segment(80, 120, 30), Segment(150, 1215, 10)],
        facts={"firing.kiln": "electric"},
    )
    catalog.workshop.keep_log(load.id, b"time_min,temperature_c\n0,20\n60,600\n120,1200\n", "log.csv")
    kept = catalog.workshop.log(load.id)
    before = rows(catalog)
    catalog.delete_load(load.id)
    assert catalog.loads() == ()
    catalog.changes.take_back(last(catalog).number)
    assert rows(catalog) == before
    assert catalog.load(load.id) == load
    assert catalog.workshop.log(load.id) == kept


def test_what_something_newer_rests_on_stays(catalog, photo):
    body = catalog.add_body("White")
    made = last(catalog).number
    filed(catalog, photo, body_id=body.id)
    filing = last(catalog).number
    catalog.update_piece("T-0001", notes="one")
    one = last(catalog).number
    catalog.update_piece("T-0001", notes="two")
    two = last(catalog).number
    for number, reason in ((made, "in use"), (filing, "newer"), (one, "newer"), (9999, "unknown")):
        before = rows(catalog)
        with pytest.raises(CannotTakeBackError) as caught:
            catalog.changes.take_back(number)
        assert caught.value.reason == reason
        assert rows(catalog) == before
    with pytest.raises(CannotTakeBackError) as caught:
        catalog.changes.take_back(one)
    assert caught.value.by == two
    catalog.update_piece("T-0001", shelf="top")  # another column: rests on nothing
    catalog.changes.take_back(two)
    with pytest.raises(CannotTakeBackError) as caught:
        catalog.changes.take_back(two)
    assert caught.value.reason == "back already"
    catalog.changes.take_back(one)
    assert (catalog.piece("T-0001").notes, catalog.piece("T-0001").shelf) == ("", "top")


def test_people_are_not_taken_back_here(catalog):
    catalog.people.add("Ana", "keeper", passphrase=ANA)
    with pytest.raises(CannotTakeBackError) as caught:
        catalog.changes.take_back(last(catalog).number)
    assert caught.value.reason == "people"


def test_a_transaction_of_very_many_rows_is_logged_as_counts(catalog):
    lines = [RecipeLine(f"material {n}", 1.0) for n in range(MOST_ROWS + 1)]
    catalog.add_recipe("Everything", lines)
    change = last(catalog)
    assert change.rows == ()
    assert change.counts == {"recipe added": 1, "recipe_line added": MOST_ROWS + 1}
    with pytest.raises(CannotTakeBackError) as caught:
        catalog.changes.take_back(change.number)
    assert caught.value.reason == "too much"


def test_columns_are_named_as_their_attributes():
    """The log names a column as the row's class does; a parent is a single number."""
    for mapper in Base.registry.mappers:
        assert {a.key for a in mapper.column_attrs} == {c.name for c in mapper.local_table.columns}
    for table in Base.metadata.sorted_tables:
        assert logged_columns(table) or not is_logged(table)
        above = parent_of(table)
        if above is not None and is_logged(table):
            assert len(above[1].primary_key.columns) == 1


def test_a_change_says_whether_who_asks_may_take_it_back(catalog, photo):
    people = [("Ana", "keeper"), ("Ben", "member"), ("Cleo", "member"), ("Dora", "reader")]
    hands = {n: catalog.acting_as(catalog.people.add(n, role, passphrase=ANA)) for n, role in people}
    ben = hands["Ben"]
    filed(ben, photo)
    ben.set_fact("T-0001", "application.sg", 1.4)
    load = ben.add_load("October")
    ben.delete_load(load.id)
    ben.changes.take_back(last(catalog).number)
    ben.delete_load(load.id)
    catalog.add_body("White")
    told = {name: [c.may_go_back for c in hand.changes.list(limit=8)] for name, hand in hands.items()}
    assert told["Ben"] == [False, True, False, False, True, True, True, False]
    assert told["Ana"][:7] == [True, True, False, False, True, True, True]
    assert not any(told["Cleo"] + told["Dora"])
    for change in ben.changes.list(limit=2):
        if change.may_go_back:
            ben.changes.take_back(change.number)
    assert ben.load(load.id).name == "October"
