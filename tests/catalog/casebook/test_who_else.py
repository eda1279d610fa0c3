"""Who else shows it over loads, counted in the database; sisters for recall."""

from catalog.causes.pattern_facts import shows
from catalog.ware.sisters import sisters


def test_a_bad_bucket_is_seen_over_two_loads(shed):
    book = shed.catalog.casebook
    for number in range(1, 4):
        book.set_batch(f"T-{number:04d}", "bucket", "Bracken 7 October")
    for number in range(4, 8):
        book.set_batch(f"T-{number:04d}", "bucket", "Bracken 1 March")
    shed.piece("T-0020", "blistered", load="November", shelf="bottom")
    book.set_batch("T-0020", "bucket", "bracken 7 OCTOBER")
    tallies = {tally.trait: tally for tally in book.tallies(shed.catalog.piece("T-0001"), "blister")}
    bucket = tallies["bucket"]
    assert (bucket.hit, bucket.seen, bucket.hit_else, bucket.seen_else) == (4, 4, 0, 4)
    assert bucket.is_pattern
    shelf = tallies["shelf"]
    assert (shelf.hit, shelf.seen, shelf.hit_else, shelf.seen_else) == (3, 3, 1, 5)


def test_a_lot_of_clay_is_set_against_other_lots_of_the_same_clay(shed):
    book = shed.catalog.casebook
    for number in range(1, 8):
        book.set_batch(f"T-{number:04d}", "clay_lot", "lot A" if number < 4 else "lot B")
    piece = shed.catalog.piece("T-0001")
    (lot,) = [tally for tally in book.tallies(piece, "blister") if tally.trait == "clay lot"]
    assert (lot.hit, lot.seen, lot.hit_else, lot.seen_else) == (3, 3, 0, 4)
    book.set_batch("T-0001", "clay_lot", "")
    assert book.batches(piece) == {}


def test_one_load_alone_says_nothing_of_shelves_load_after_load(shed):
    tallies = shed.catalog.casebook.tallies(shed.catalog.piece("T-0001"), "blister")
    assert [tally.trait for tally in tallies] == []


def test_sisters_are_those_of_the_plain_function_and_of_the_bucket(shed):
    shed.piece("T-0021", load="November")
    piece = shed.catalog.piece("T-0001")
    found = shed.catalog.casebook.sisters(piece)
    assert {s.code: set(s.shares) for s in found} == {
        s.code: set(s.shares) for s in sisters(piece, shed.catalog.pieces())
    }
    shed.photograph("T-0030", load=None)
    for code in ("T-0001", "T-0030"):
        shed.catalog.casebook.set_batch(code, "bucket", "B1")
    assert ("bucket",) in {s.shares for s in shed.catalog.casebook.sisters(piece)}
    assert shows(piece, "blister")
