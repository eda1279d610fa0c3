"""The work before the firing: a member's batches are theirs to change, and each change can be taken back."""

from datetime import date

import pytest
from sqlalchemy import select

from catalog.bench.records import GlazingDraft, LayerDraft
from catalog.people.belonging import is_logged
from catalog.people.errors import NotAllowedError
from catalog.tables import Base
from tests.catalog.people.test_changes import last
from tests.catalog.people.words import ANA, BEN

DAY = date(2026, 11, 20)


@pytest.fixture
def bens(hands):
    """Ben's bucket B-0001, two pieces of his at a stage, and a batch T-0003 of his."""
    bench = hands["Ben"].bench
    bench.add_bucket("Moss", gravity=1.4)
    bench.make_pieces(2, stage="bisqued", on=DAY)
    bench.glaze(dipped(new=1))
    return hands


def dipped(bucket="B-0001", **more):
    return GlazingDraft((LayerDraft(bucket, "dip", 1, 3.0),), **more)


def things(catalog):
    """All rows of all tables in the log, but for the days on which something was taken back."""
    found = {}
    with catalog.database.reading() as session:
        for table in Base.metadata.sorted_tables:
            if is_logged(table):
                read = session.execute(select(table).order_by(*table.primary_key.columns)).mappings()
                found[table.name] = [{str(k): v for k, v in row.items()} for row in read]
    return found


def standing(catalog):
    """What the Bench says: buckets, glazings, how far pieces are, what covers them."""
    bench = catalog.bench
    return (
        bench.buckets(),
        bench.glazings(),
        bench.progress(),
        {p.code: (p.layers, p.body) for p in catalog.pieces(order="code")},
    )


CHANGES_OF_BENS = {
    "weigh": lambda bench: bench.weigh_bucket("B-0001", 1.5, DAY),
    "take a bucket away": lambda bench: bench.remove_bucket("B-0001"),
    "glaze again": lambda bench: bench.glaze(dipped(codes=("T-0001",))),
    "take a glazing back": lambda bench: bench.undo_glazing(bench.glazings()[0].id),
    "stage": lambda bench: bench.set_stage(("T-0001", "T-0002"), "glazed", DAY),
    "crack": lambda bench: bench.crack_seen(("T-0001",), "out", DAY),
    "loss": lambda bench: bench.lose(("T-0001",), "out", "broken", on=DAY),
}
"""Each changes what is Ben's, in one transaction."""

NEW = {
    "bucket": lambda bench: bench.add_bucket("Slate"),
    "pieces": lambda bench: bench.make_pieces(2),
    "batch": lambda bench: bench.glaze(dipped(new=2, photo=b"raw coat", photo_name="raw.jpg")),
}
"""Each makes something new; the batch dips into Ben's bucket, which is use of it and no change."""


@pytest.mark.parametrize("way", CHANGES_OF_BENS)
def test_a_members_batches_are_theirs_and_the_keepers(bens, catalog, way):
    change = CHANGES_OF_BENS[way]
    before = things(catalog)
    for name in ("Cleo", "Dora"):
        with pytest.raises(NotAllowedError) as caught:
            change(bens[name].bench)
        assert caught.value.name == name
        assert caught.value.owner == ("Ben" if name == "Cleo" else None)
        assert things(catalog) == before
    as_it_was = standing(catalog)
    for name in ("Ben", "Ana"):
        change(bens[name].bench)
        made = last(catalog)
        assert made.who == name
        assert made.rows
        changed = standing(catalog)
        assert changed != as_it_was
        with pytest.raises(NotAllowedError):
            bens["Cleo"].changes.take_back(made.number)
        back = bens[name].changes.take_back(made.number)
        assert standing(catalog) == as_it_was
        bens[name].changes.take_back(back.number)
        assert standing(catalog) == changed
        bens[name].changes.take_back(last(catalog).number)
        assert standing(catalog) == as_it_was


@pytest.mark.parametrize("way", NEW)
def test_a_member_makes_new_ones_and_a_reader_none(bens, catalog, way):
    before, as_it_was = things(catalog), standing(catalog)
    with pytest.raises(NotAllowedError):
        NEW[way](bens["Dora"].bench)
    assert things(catalog) == before
    NEW[way](bens["Cleo"].bench)
    made = last(catalog)
    assert made.who == "Cleo"
    with pytest.raises(NotAllowedError):
        bens["Ben"].changes.take_back(made.number)
    bens["Cleo"].changes.take_back(made.number)
    assert standing(catalog) == as_it_was


def test_a_bucket_taken_away_comes_back_by_its_owner(bens, catalog):
    bens["Ben"].bench.remove_bucket("B-0001")
    for name in ("Cleo", "Dora"):
        with pytest.raises(NotAllowedError):
            bens[name].bench.restore_bucket("B-0001")
    bens["Ana"].bench.restore_bucket("B-0001")
    assert last(catalog).who == "Ana"
    assert [each.code for each in catalog.bench.buckets()] == ["B-0001"]


@pytest.mark.parametrize("kind", ["stage", "crack", "loss"])
def test_undo_takes_back_the_members_own_last_word(bens, catalog, kind):
    ben, cleo = bens["Ben"].bench, bens["Cleo"].bench
    cleo.make_pieces(1)
    say = {
        "stage": lambda bench, code: bench.set_stage((code,), "bone_dry", DAY),
        "crack": lambda bench, code: bench.crack_seen((code,), "drying", DAY),
        "loss": lambda bench, code: bench.lose((code,), "drying", "broken", on=DAY),
    }[kind]
    say(ben, "T-0001")
    say(cleo, "T-0004")
    assert ben.last_said(kind) == ("T-0001",)
    assert catalog.bench.last_said(kind) == ("T-0004",)
    assert ben.undo(kind) == ("T-0001",)
    assert last(catalog).who == "Ben"
    assert cleo.last_said(kind) == ("T-0004",)


def test_undo_takes_back_the_members_own_last_batch(bens, catalog):
    bens["Cleo"].bench.glaze(dipped(new=1))
    assert bens["Ben"].bench.undo_glazing() == ("T-0003",)
    assert bens["Ana"].bench.undo_glazing() == ("T-0004",)
    assert catalog.bench.glazings() == ()


def test_what_was_done_before_there_were_people_is_the_keepers(catalog):
    catalog.bench.add_bucket("Moss")
    catalog.bench.make_pieces(1)
    catalog.bench.glaze(dipped(codes=("T-0001",)))
    ana = catalog.acting_as(catalog.people.add("Ana", "keeper", passphrase=ANA))
    ben = catalog.acting_as(catalog.people.add("Ben", "member", passphrase=BEN))
    number = catalog.bench.glazings()[0].id
    for way in (
        lambda: ben.bench.weigh_bucket("B-0001", 1.4),
        lambda: ben.bench.undo_glazing(number),
        lambda: ben.bench.set_stage(("T-0001",), "fired"),
    ):
        with pytest.raises(NotAllowedError) as caught:
            way()
        assert caught.value.owner is None
    assert ben.bench.last_said("stage") == ()
    assert ana.bench.undo_glazing() == ("T-0001",)


def test_the_log_calls_a_batch_by_its_pieces_and_a_bucket_by_its_code(bens, catalog):
    labels = {row.thing: row.label for c in catalog.changes.list() for row in c.rows}
    assert labels["glazing"] == "T-0003"
    assert labels["bucket"] == "B-0001"
    (batch,) = catalog.changes.list(about="t-0003")
    assert batch.counts["glazing added"] == 1
    assert [c.counts for c in catalog.changes.list(about="b-0001")] == [{"bucket added": 1}]
