"""Why, for a filed piece and for a facts file."""

import hashlib
import json

import pytest

from catalog.causes.errors import FactsFileError, NoFaultError, UnknownFactError, UnknownFaultError
from catalog.causes.explain import faults_with_causes, why, why_facts_file
from catalog.causes.learning import Outcome, learn
from catalog.causes.trial import Limits
from catalog.records import ConeResult, Judgement, Layer, PieceDraft
from catalog.store import Catalog
from tests.synthetic_studio import CLEAR, RECIPES, WHEN, load, piece, tile_reading
from vision.reading import Calibration, CalibrationKind, Crazing, PhotoReading


class Shelf:
    """A catalogue of a few pieces, as `why` asks for it."""

    def __init__(self, *pieces):
        self.all = {p.code: p for p in pieces}

    def piece(self, code):
        return self.all[code]

    def pieces(self, *, load_id):
        return tuple(p for p in self.all.values() if p.load is not None and p.load.id == load_id)

    def recipe(self, recipe_id):
        return RECIPES[recipe_id]


def test_an_over_fired_witness_cone_is_named_and_changing_it_changes_the_ranking():
    over = why(Shelf(piece()), "T-0001")
    assert over.fault == "blister"
    assert over.causes[0].cause_id == "B01_overfire"
    assert any(
        "witness cone on the middle shelf reached cone 8" in e.sentence for e in over.causes[0].evidence
    )
    on = why(Shelf(piece(load=load(cones=[("middle", "6")]))), "T-0001")
    assert on.causes[0].cause_id != "B01_overfire"
    p_over, p_on = (next(c.probability for c in d.causes if c.cause_id == "B01_overfire") for d in (over, on))
    assert p_over > 3 * p_on


def test_the_facts_used_come_with_the_answer():
    facts = why(Shelf(piece()), "T-0001").to_dict()["facts"]
    assert facts["firing.cone_over_target"]["value"] == 2.0
    assert facts["firing.cone_over_target"]["origin"] == "recorded"
    json.dumps(facts, allow_nan=False)


def test_a_persons_word_names_the_fault():
    said = (
        Judgement(1, "fault", "blistered", "absent", "keeper", WHEN),
        Judgement(2, "fault", "crazing", "present", "keeper", WHEN),
    )
    made = piece(judgements=said)
    assert faults_with_causes(made) == ("craze",)
    assert why(Shelf(made), "T-0001").fault == "craze"


def test_a_fault_can_be_asked_about_that_is_not_there():
    diagnosis = why(Shelf(piece(faults=[])), "T-0001", "crawling")
    assert diagnosis.fault == "crawl"
    assert any("No crawling stands on T-0001" in note for note in diagnosis.notes)


def test_other_faults_and_judged_causes_are_noted():
    tile = tile_reading((), ["blistered", "crazed"], crazing=Crazing(True, 0.9, 20.0, 5.0))
    word = Judgement(1, "cause", "B01_overfire", "fix_worked", "keeper", WHEN)
    notes = why(Shelf(piece(reading=tile, judgements=(word,))), "T-0001").notes
    assert any("Also on this piece: crazing" in note for note in notes)
    assert any("B01_overfire: fix worked, says keeper" in note for note in notes)


def test_without_a_fault_there_is_nothing_to_explain():
    with pytest.raises(NoFaultError, match="T-0001"):
        why(Shelf(piece(faults=[])), "T-0001")


def test_an_answer_just_given_counts():
    before = why(Shelf(piece()), "T-0001")
    after = why(Shelf(piece()), "T-0001", extra={"application.raw_thickness_mm": 1.4})
    thick = [
        next(c.probability for c in d.causes if c.cause_id == "B02_coat_too_thick") for d in (before, after)
    ]
    assert thick[1] > thick[0]
    with pytest.raises(UnknownFactError):
        why(Shelf(piece()), "T-0001", extra={"application.thickness": 1.4})


def test_a_piece_of_which_nothing_is_known_still_gets_an_answer():
    bare = piece(body=None, layers=(), load=None, shelf=None)
    diagnosis = why(Shelf(bare), "T-0001")
    assert len(diagnosis.causes) == 21
    assert diagnosis.cautions


def write(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "facts.json"
    path.write_bytes(text.encode(encoding))
    return path


def test_a_facts_file(tmp_path):
    text = '{"fault": "blistered", "facts": {"firing.cone_over_target": 2, "body.bisque_cone": "06"}}'
    diagnosis = why_facts_file(write(tmp_path, text, "utf-8-sig"))
    assert diagnosis.causes[0].cause_id == "B01_overfire"
    assert why_facts_file(write(tmp_path, '{"facts": {}}'), "run").fault == "run"


def test_a_fact_in_a_file_may_be_less_than_sure(tmp_path):
    text = '{"fault": "run", "facts": {"firing.cone_over_range": {"value": 1, "certainty": %s}}}'
    sure, half = (why_facts_file(write(tmp_path, text % p)).causes[0].probability for p in ("1", "0.5"))
    assert half < sure
    with pytest.raises(FactsFileError, match="certainty"):
        why_facts_file(write(tmp_path, text % "7"))


def test_what_a_studio_learned_and_its_limits_reach_the_answer():
    learned = learn([Outcome("a", "blister", "blister/B02_coat_too_thick", "confirmed")])
    kept = why(Shelf(piece()), "T-0001", learned=learned, limits=Limits(schedule_may_change=False))
    here = {cause.cause_id: cause.here for cause in kept.causes}
    assert here["B02_coat_too_thick"] == "1 of 1 like this here"
    assert not any(trial.changes_schedule for trial in kept.next_trials)


@pytest.mark.parametrize(
    ("text", "error", "words"),
    [
        ("not json", FactsFileError, "line 1 is no JSON"),
        ("[]", FactsFileError, "not an object"),
        ('{"facts": {}}', FactsFileError, "no fault is named"),
        ('{"fault": "blister", "facts": [1]}', FactsFileError, "facts is not an object"),
        (
            '{"fault": "blister", "facts": {"firing.cone_over_targets": 1}}',
            UnknownFactError,
            "cone_over_target",
        ),
        ('{"fault": "blysters"}', UnknownFaultError, "blister"),
    ],
)
def test_a_bad_facts_file_is_refused(tmp_path, text, error, words):
    with pytest.raises(error, match=words):
        why_facts_file(write(tmp_path, text))
    with pytest.raises(FactsFileError, match="cannot be opened"):
        why_facts_file(tmp_path / "none.json")


def test_a_filed_pieces_ranking_follows_the_witness_cone_in_the_record(tmp_path):
    with Catalog.open(tmp_path / "home") as catalog:
        body = catalog.add_body("White stoneware", "stoneware", rated_cone="7")
        recipe = catalog.add_recipe("Rain clear", CLEAR.lines, cone_low="5", cone_high="6")
        fired = catalog.add_load(
            "October", kiln="Small electric kiln", cone_aimed="6", cones=[ConeResult("middle", "8")]
        )
        data = b"not really a photo"
        photo = PhotoReading(
            "october.jpg",
            hashlib.sha256(data).hexdigest(),
            Calibration(CalibrationKind.CARD, 0.07),
            (tile_reading((), ["blistered"]),),
        )
        layers = (Layer(recipe.id, "Rain clear", 2, "dip", 0.6),)
        draft = PieceDraft(0, "T-0042", "tile", body.id, layers, "middle", {"application.bisque_wiped": True})
        catalog.file_photo(data, photo, [draft], load_id=fired.id)
        over = why(catalog, "t-0042")
        assert over.causes[0].cause_id == "B01_overfire"
        assert "reached cone 8" in over.causes[0].to_dict()["for"][0]
        assert over.facts["application.bisque_wiped"].origin == "answered"
        catalog.update_load(fired.id, cones=[ConeResult("middle", "6")])
        on = why(catalog, "T-0042")
        assert on.causes[0].cause_id != "B01_overfire"
        catalog.set_fact("T-0042", "firing.cone_over_range", 2)
        assert why(catalog, "T-0042").causes[0].cause_id == "B01_overfire"
