"""Before the firing: buckets by weight, batches kept and undone, stages and losses, warnings, facts."""

from datetime import date, timedelta

import pytest

from catalog.bench.buckets import gravity_of_100_ml
from catalog.bench.codes import codes_in_short, codes_of_text
from catalog.bench.records import GlazingDraft, LayerDraft
from catalog.bench.warnings import CONES_APART, FOOT_GAP_MM
from catalog.errors import (
    BucketNotFoundError,
    CodeTakenError,
    InvalidRecordError,
    NothingToUndoError,
    PieceNotFoundError,
)
from catalog.records import Layer, PieceDraft, RecipeLine

LINES = [RecipeLine("potash feldspar", 60), RecipeLine("whiting", 40)]


def dipped(bucket="B-0001", **more):
    return GlazingDraft((LayerDraft(bucket, "dip", 1, 3.0),), **more)


# --- buckets


def test_gravity_is_the_grams_of_100_ml_over_100():
    """Ounces per imperial pint are the older way to say it (imperial units: 568.26125 ml, 28.349523125 g).

    29 oz a pint, water 20 oz: common practice puts it at 1.45; from the units it is 1.4467.
    """
    grams = 29 * 28.349523125 / 568.26125 * 100
    assert gravity_of_100_ml(grams) == pytest.approx(29 / 20, rel=0.003)
    # Water at 20 °C weighs 0.9982 g/ml (CRC Handbook, from memory): a vessel of it is no slip.
    for wrong in (99.82, 1450.0, float("nan"), True):
        with pytest.raises(InvalidRecordError, match="100 ml"):
            gravity_of_100_ml(wrong)


def test_a_bucket_has_a_code_of_its_own_and_takes_the_newest_recipe(catalog, bench):
    newer = catalog.add_recipe("Moss", [*LINES, RecipeLine("tin oxide", 5, addition=True)])
    made = bench.add_bucket("moss", mixed_on=date(2026, 11, 20))
    assert (made.code, made.recipe_id, made.mixed_on) == ("B-0002", newer.id, date(2026, 11, 20))
    assert bench.add_bucket("Shop colour", kind="underglaze", code="U-7").recipe_id is None
    with pytest.raises(CodeTakenError):
        bench.add_bucket("Moss", code="u-7")
    assert [each.code for each in bench.buckets()] == ["U-7", "B-0002", "B-0001"]


def test_nothing_at_the_bench_happened_on_a_day_still_to_come(catalog, bench):
    later = date.today() + timedelta(days=3)
    (code,) = bench.make_pieces(1)
    for told in (
        lambda: bench.set_stage([code], "bone_dry", later),
        lambda: bench.lose([code], "bone_dry", "other", on=later),
        lambda: bench.glaze(dipped(codes=(code,), on=later)),
        lambda: bench.add_bucket("Moss", mixed_on=later),
        lambda: bench.weigh_bucket("B-0001", 1.45, later),
    ):
        with pytest.raises(InvalidRecordError, match="still to come"):
            told()
    assert bench.progress([code])[code].stage == "made"
    assert [each.code for each in bench.buckets()] == ["B-0001"]


def test_a_bucket_is_found_by_its_code_or_by_an_older_label_with_the_glazes_name(bench):
    newer = bench.add_bucket("Moss")
    assert bench.bucket("b-0001").code == "B-0001"
    assert bench.bucket("Moss") == newer
    with pytest.raises(BucketNotFoundError) as caught:
        bench.bucket("B-0011")
    assert "B-0001" in caught.value.nearest


def test_a_bucket_is_weighed_taken_away_and_brought_back(bench):
    assert bench.weigh_bucket("B-0001", 1.52, date(2026, 11, 3)).measured_on == date(2026, 11, 3)
    with pytest.raises(InvalidRecordError):
        bench.weigh_bucket("B-0001", 145.0)
    bench.remove_bucket("B-0001")
    assert bench.buckets() == ()
    assert bench.restore_bucket("b-0001").gravity == 1.52
    assert [each.code for each in bench.buckets()] == ["B-0001"]


# --- codes


def test_codes_are_read_as_people_write_them():
    row = tuple(f"T-{number:04d}" for number in range(101, 121))
    for text in ("T-0101..T-0120", "T-0101 to T-0120", "T-0101..0120", "t-0101 … t-0120"):
        assert tuple(code.upper() for code in codes_of_text(text)) == row
    assert codes_of_text("W-3, W-3 w-3;\nT-1") == ("W-3", "T-1")
    assert codes_in_short((*row, "W-0003")) == "T-0101 to T-0120, W-0003"
    assert codes_in_short(("T-1", "T-2", "T-4")) == "T-1, T-2, T-4"
    assert codes_of_text("") == ()
    for wrong in ("T-0120..T-0101", "T-0001..W-0009", "T-1..T-9999"):
        with pytest.raises(InvalidRecordError, match="row"):
            codes_of_text(wrong)


# --- glazing


def test_twenty_pieces_are_glazed_at_once_with_codes_layers_bucket_and_stage(catalog, bench):
    white = catalog.bodies()[0]
    colour = bench.add_bucket("Iron colour", kind="underglaze")
    done = bench.glaze(
        GlazingDraft(
            (LayerDraft(colour.code, "brush", 3), LayerDraft("B-0001", "dip", 1, 3.0)),
            new=20,
            kind="ware",
            body_id=white.id,
            foot_wiped=True,
            photo=b"raw coat",
            on=date(2026, 11, 24),
        )
    )
    assert (done.codes[0], done.codes[-1], len(done.made)) == ("W-0001", "W-0020", 20)
    assert [(each.name, each.coats, each.seconds, each.gravity) for each in done.layers] == [
        ("Iron colour", 3, None, None),
        ("Moss", 1, 3.0, 1.45),
    ]
    piece = catalog.piece("W-0013")
    recipe = catalog.recipes()[0]
    assert piece.layers == (Layer(None, "Iron colour", 3, "brush"), Layer(recipe.id, "Moss", 1, "dip"))
    assert (piece.kind, piece.body, piece.load) == ("ware", white, None)
    assert catalog.casebook.batches(piece) == {"bucket": "B-0001"}
    said = bench.progress()
    assert len(said) == 20
    assert (said["W-0013"].stage, said["W-0013"].days) == ("glazed", {"glazed": date(2026, 11, 24)})
    assert catalog.photo_bytes(done.photo_sha256) == b"raw coat"
    assert bench.last_glazing() == done == bench.last_glazing("B-0001")
    assert bench.last_glazing(colour.code) is None


def test_what_is_weighed_later_does_not_change_what_was_glazed_before(bench):
    first = bench.glaze(dipped(new=1))
    bench.weigh_bucket("B-0001", 1.6)
    assert bench.glazings_of(first.codes[0])[0].layers[0].gravity == 1.45
    assert bench.glaze(dipped(new=1)).layers[0].gravity == 1.6


def test_codes_typed_are_pieces_kept_or_new_ones_and_free_codes_are_never_given_twice(catalog, bench):
    (made,) = bench.make_pieces(1)
    done = bench.glaze(dipped(codes=(made.lower(), "T-0003", "my-bowl", "MY-BOWL"), new=2))
    assert done.codes == ("T-0001", "T-0003", "MY-BOWL", "T-0004", "T-0005")
    assert done.made == ("T-0003", "MY-BOWL", "T-0004", "T-0005")
    assert catalog.count_pieces() == 5


def test_layers_go_over_those_there_and_fill_in_those_only_planned(catalog, bench, photo, tile):
    recipe = catalog.recipes()[0]
    drafts = [PieceDraft(0, "T-0001", layers=(Layer(None, "slip"),)), PieceDraft(1, "T-0002")]
    catalog.file_photo(b"p", photo(tile(0), tile(1)), drafts)
    catalog.update_piece("T-0002", layers=(Layer(recipe.id, "Moss"),))
    bench.glaze(dipped(codes=("T-0001", "T-0002")))
    assert [layer.name for layer in catalog.piece("T-0001").layers] == ["slip", "Moss"]
    assert catalog.piece("T-0002").layers == (Layer(recipe.id, "Moss", 1, "dip"),)
    bench.glaze(dipped(codes=("T-0002",)))  # dipped once more: now it is a second layer
    assert [layer.name for layer in catalog.piece("T-0002").layers] == ["Moss", "Moss"]
    assert len(bench.glazings_of("T-0002")) == 2


@pytest.mark.parametrize(
    "draft",
    [
        GlazingDraft((), new=1),
        dipped(),
        dipped(new=501),
        dipped(new=1, foot_gap_mm=-1.0),
        dipped(new=1, kind="patch"),
        dipped(codes=("two words",)),
        GlazingDraft((LayerDraft("B-0001", "roll"),), new=1),
        GlazingDraft((LayerDraft("B-0001", "dip", 1, -3.0),), new=1),
        GlazingDraft((LayerDraft("B-0001", "brush", -1),), new=1),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_kept(catalog, bench, draft):
    with pytest.raises(InvalidRecordError):
        bench.glaze(draft)
    assert (bench.glazings(), catalog.count_pieces(), bench.progress()) == ((), 0, {})


def test_an_unknown_bucket_is_refused_with_the_nearest(catalog, bench):
    with pytest.raises(BucketNotFoundError) as caught:
        bench.glaze(dipped("B-0010", new=3))
    assert caught.value.nearest == ("B-0001",)
    assert catalog.count_pieces() == 0


def test_undoing_a_batch_gives_back_what_was_and_takes_off_what_it_made(catalog, bench):
    (old,) = bench.make_pieces(1)
    catalog.update_piece(old, layers=(Layer(None, "slip", 2, "brush"),))
    catalog.casebook.set_batch(old, "bucket", "the old tub")
    before = catalog.piece(old)
    done = bench.glaze(dipped(codes=(old,), new=2, body_id=catalog.bodies()[0].id))
    assert catalog.piece(old).body is not None
    assert bench.undo_glazing() == done.codes
    assert catalog.piece(old) == before
    assert catalog.casebook.batches(before) == {"bucket": "the old tub"}
    assert (catalog.count_pieces(), bench.progress()[old].stage) == (1, "made")
    assert (bench.glazings(), bench.last_glazing()) == ((), None)
    with pytest.raises(NothingToUndoError):
        bench.undo_glazing()
    assert bench.glaze(dipped(new=1)).codes == ("T-0004",)  # codes given once are never given again


def test_undoing_leaves_alone_what_somebody_changed_or_photographed_since(catalog, bench, photo, tile):
    done = bench.glaze(dipped(new=2))
    catalog.file_photo(b"p", photo(tile(0)), [PieceDraft(0, done.codes[0])])
    (old,) = bench.make_pieces(1)
    bench.glaze(dipped(codes=(old,)))
    catalog.update_piece(old, layers=(Layer(None, "another"),))
    bench.undo_glazing()
    assert [layer.name for layer in catalog.piece(old).layers] == ["another"]
    bench.undo_glazing(done.id)
    assert {piece.code for piece in catalog.pieces()} == {done.codes[0], old}
    assert catalog.piece(done.codes[0]).layers == ()


# --- stages, cracks, losses


def test_stages_with_their_days_and_the_last_undone(bench):
    codes = bench.make_pieces(3, stage="drying", on=date(2026, 11, 1))
    bench.set_stage(codes[:2], "bisqued", date(2026, 11, 9))
    assert bench.last_said("stage") == codes[:2]
    said = bench.progress(codes)
    assert [said[code].stage for code in codes] == ["bisqued", "bisqued", "drying"]
    assert said[codes[0]].days == {"drying": date(2026, 11, 1), "bisqued": date(2026, 11, 9)}
    assert bench.undo("stage") == codes[:2]
    assert {each.stage for each in bench.progress().values()} == {"drying"}
    assert bench.undo("stage") == codes  # they were made with it
    assert bench.progress() == {}
    with pytest.raises(NothingToUndoError):
        bench.undo("stage")


def test_a_glazing_is_not_undone_as_a_stage(bench):
    done = bench.glaze(dipped(new=1))
    with pytest.raises(NothingToUndoError):
        bench.undo("stage")
    assert bench.progress()[done.codes[0]].stage == "glazed"


def test_a_loss_keeps_the_piece_and_can_be_taken_back(catalog, bench):
    done = bench.glaze(dipped(new=2))
    bench.lose(done.codes[:1], "glazed", "broken", on=date(2026, 11, 24), note="slipped")
    loss = bench.progress()[done.codes[0]].loss
    assert (loss.stage, loss.reason, loss.note) == ("glazed", "broken", "slipped")
    assert [piece.code for piece in bench.to_load()] == [done.codes[1]]
    assert catalog.count_pieces() == 2
    assert bench.undo("loss") == done.codes[:1]
    assert len(bench.to_load()) == 2


@pytest.mark.parametrize(("stage", "reason"), [("leather", "broken"), ("made", "sad"), ("made", "")])
def test_unknown_stages_and_reasons_are_refused(bench, stage, reason):
    codes = bench.make_pieces(1)
    with pytest.raises(InvalidRecordError):
        bench.lose(codes, stage, reason)
    with pytest.raises(PieceNotFoundError):
        bench.lose([*codes, "T-9999"], "made", "broken")
    assert bench.progress()[codes[0]].loss is None


# --- before loading


def kinds(bench, codes, catalog):
    return [(each.kind, each.code) for each in bench.warnings(catalog.pieces(codes=codes, order="code"))]


@pytest.mark.parametrize(
    ("clay", "low", "high", "apart"),
    [
        ("6", "5", "6", 0.0),
        ("7", "5", "6", 0.0),  # one cone apart is no more than one
        ("8", "5", "6", -2.0),
        ("06", "5", "6", 10.0),  # 06 is not 6: from 06 to 01 five steps, to 1 one, to 5 four (cone ladder)
        ("10", None, "6", -4.0),
        ("5.5", "6", "6", 0.0),
        ("not said", "5", "6", 0.0),
    ],
)
def test_cones_more_than_one_apart_are_told(catalog, clay, low, high, apart):
    body = catalog.add_body("Clay", rated_cone=clay if clay != "not said" else None)
    catalog.add_recipe("Moss", LINES, cone_low=low, cone_high=high)
    catalog.bench.add_bucket("Moss")
    done = catalog.bench.glaze(dipped(new=1, body_id=body.id, foot_wiped=True))
    found = catalog.bench.warnings([catalog.piece(done.codes[0])])
    assert [each.apart for each in found if each.kind == "cones"] == ([apart] if apart else [])
    assert all(abs(each.apart) > CONES_APART for each in found)


def test_a_glaze_that_ran_wants_a_catch_or_a_foot_gap(catalog, bench, photo, tile):
    reading = photo(tile(0), tile(1), tile(2))
    recipe = catalog.recipes()[0]
    layers = (Layer(recipe.id, "Moss"),)
    fired = [PieceDraft(number, f"F-{number}", layers=layers) for number in range(3)]
    catalog.file_photo(b"p", reading, fired)
    ready = {
        "nothing": bench.glaze(dipped(new=1, foot_wiped=True)).codes[0],
        "gap": bench.glaze(dipped(new=1, foot_wiped=True, foot_gap_mm=FOOT_GAP_MM)).codes[0],
        "small gap": bench.glaze(dipped(new=1, foot_wiped=True, foot_gap_mm=2.0)).codes[0],
        "catch": bench.glaze(dipped(new=1, foot_wiped=True, catch=True)).codes[0],
    }
    assert kinds(bench, tuple(ready.values()), catalog) == []
    word = catalog.add_judgement("F-1", "fault", "running", "present")
    found = bench.warnings(catalog.pieces(codes=tuple(ready.values()), order="code"))
    assert [each.code for each in found] == [ready["nothing"], ready["small gap"]]
    assert (found[0].kind, found[0].runs.ran, found[0].runs.seen) == ("running", 1, 3)
    catalog.remove_judgement(word.id)
    assert kinds(bench, tuple(ready.values()), catalog) == []


def test_a_recipe_kept_as_fluid_runs_too(catalog, bench):
    catalog.add_recipe("Moss", LINES, cone_low="5", cone_high="6", facts={"recipe.melt": "fluid"})
    bench.add_bucket("Moss")
    code = bench.glaze(dipped("B-0002", new=1, foot_wiped=True)).codes[0]
    (found,) = bench.warnings([catalog.piece(code)])
    assert (found.kind, found.runs.said_fluid) == ("running", True)


def test_glaze_where_a_piece_stands_or_touches_is_told(catalog, bench):
    codes = [
        bench.glaze(dipped(new=1, **more)).codes[0]
        for more in ({"foot_wiped": True}, {"foot_wiped": False}, {"touches": True}, {})
    ]
    catalog.set_fact(codes[3], "firing.stacked_or_nested", True)
    found = bench.warnings(catalog.pieces(codes=codes, order="code"))
    assert [(each.code, each.why) for each in found] == [
        (codes[1], ("foot",)),
        (codes[2], ("touches",)),
        (codes[3], ("touches",)),
    ]
    bench.glaze(dipped(codes=(codes[1],), foot_wiped=True))  # the last word counts
    assert (codes[1], ("foot",)) not in [
        (each.code, each.why) for each in bench.warnings(catalog.pieces(codes=codes))
    ]


def test_pieces_to_load_are_glazed_in_no_load_and_not_photographed(catalog, bench, photo, tile):
    done = bench.glaze(dipped(new=3))
    load = catalog.add_load("November")
    catalog.update_piece(done.codes[0], load_id=load.id)
    catalog.file_photo(b"p", photo(tile(0)), [PieceDraft(0, done.codes[1])])
    bench.make_pieces(1)
    assert [piece.code for piece in bench.to_load()] == [done.codes[2]]
