"""What confirmed outcomes teach, worked by hand, and how it is undone, kept and joined."""

import math

import pytest

from catalog.causes.errors import CausesError
from catalog.causes.infer import infer_causes
from catalog.causes.knowledge import causes_of
from catalog.causes.learning import (
    PRIOR_CASES,
    STRENGTH_CASES,
    Outcome,
    exported,
    imported,
    joined,
    learn,
    outcomes_of,
    without,
)
from catalog.records import Judgement
from tests.synthetic_studio import WHEN, piece

HOT, THICK = "run/R01_overfire", "run/R02_thick"
PUBLISHED = {rule.pair_id: share for rule, share in causes_of("run")}


def outcome(number, pair=HOT, verdict="confirmed", **facts):
    kept = {key.replace("__", "."): value for key, value in facts.items()}
    return Outcome(f"shed/{number}", "run", pair, verdict, kept, "keeper", "2026-03-01")


def test_nothing_learned_leaves_the_published_shares():
    assert learn([]).priors("run", PUBLISHED) == pytest.approx(PUBLISHED)
    assert learn([]).count_words("run", HOT) == ""


def test_confirmed_cases_are_counted_on_top_of_the_published_shares():
    # (20 x 0.306 + 3) / (20 + 4), (20 x 0.312 + 1) / 24
    learned = learn([outcome(1), outcome(2), outcome(3, verdict="fix_worked"), outcome(4, THICK)])
    priors = learned.priors("run", PUBLISHED)
    assert PRIOR_CASES == 20
    assert priors[HOT] == pytest.approx(9.12 / 24)
    assert priors[THICK] == pytest.approx(7.24 / 24)
    assert learned.count_words("run", HOT) == "3 of 4 like this here"
    shown = next(c for c in infer_causes("run", {}, learned=learned).causes if c.pair_id == HOT)
    assert shown.prior == pytest.approx(9.12 / 24)
    assert shown.probability == pytest.approx(9.12 / 24)
    assert shown.here == "3 of 4 like this here"


def test_a_refuted_case_goes_to_the_others():
    # one case more, shared by the rest: R02 (20 x 0.312 + 0.312 / 0.694) / 21
    priors = learn([outcome(1, verdict="refuted")]).priors("run", PUBLISHED)
    assert priors[HOT] == pytest.approx(6.12 / 21)
    assert priors[THICK] == pytest.approx((6.24 + 0.312 / 0.694) / 21)
    assert sum(priors.values()) < 1.0


def test_strengths_are_learned_from_what_held():
    # "layers at least 2" is medium (3) for R03: the table stands for 20 cases with 6 and 20 with 2 that hold;
    # three confirmed overlaps with two layers, one of another cause with two: 9 / 23 over 3 / 21
    overlap = "run/R03_overlap"
    outcomes = [outcome(n, overlap, application__layers=2) for n in range(3)]
    outcomes.append(outcome(9, HOT, application__layers=2))
    learned = learn(outcomes)
    key = (overlap, "for: application.layers >= 2.0")
    assert STRENGTH_CASES == 20
    assert learned.counts[key] == (3, 3, 1, 1)
    assert learned.strengths[key] == pytest.approx((9 / 23) / (3 / 21))
    assert all(0.1 - 1e-9 <= ratio <= 10 + 1e-9 for ratio in learned.strengths.values())


def test_a_strength_that_failed_often_loses_its_force():
    many = [outcome(n, THICK, application__layers=2) for n in range(60)]
    key = ("run/R03_overlap", "for: application.layers >= 2.0")
    assert learn(many).strengths[key] < 0.5
    facts = {"application.layers": 2}
    before = {c.pair_id: c.probability for c in infer_causes("run", facts).causes}
    after = {c.pair_id: c.probability for c in infer_causes("run", facts, learned=learn(many)).causes}
    assert after["run/R03_overlap"] < before["run/R03_overlap"]


def test_learning_is_undone_by_leaving_an_outcome_out():
    first, second = outcome(1), outcome(2, THICK)
    assert learn(without([first, second], "shed/2")) == learn([first])
    with pytest.raises(CausesError, match="shed/7"):
        without([first], "shed/7")


def test_outcomes_go_out_and_come_in_without_names_of_people():
    given = (outcome(1, firing__cone_over_range=1.0), outcome(2, THICK, verdict="refuted"))
    text = exported(given)
    assert "keeper" not in text
    back = imported(text)
    assert learn(back) == learn(given)
    assert [one.id for one in joined(given, back)] == ["shed/1", "shed/2"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("no", "no JSON"),
        ("[]", "wanted"),
        ('{"form": "glostbook outcomes 1", "outcomes": [{"id": "a"}]}', "needs id, fault"),
        (
            '{"form": "glostbook outcomes 1", "outcomes": '
            '[{"id": "a", "fault": "run", "pair_id": "run/R01", "verdict": "confirmed"}]}',
            "R01_overfire",
        ),
        (
            '{"form": "glostbook outcomes 1", "outcomes": '
            '[{"id": "a", "fault": "run", "pair_id": "other", "verdict": "maybe"}]}',
            "maybe",
        ),
    ],
)
def test_outcomes_of_another_form_are_refused(text, words):
    with pytest.raises(CausesError, match=words):
        imported(text)


def test_a_learned_strength_of_the_other_kind_stays_within_bounds():
    many = [outcome(n, HOT, firing__cone_over_range=2.0) for n in range(500)]
    assert max(abs(math.log(r)) for r in learn(many).strengths.values()) <= math.log(10) + 1e-9


def test_peoples_words_on_causes_are_outcomes():
    words = (
        Judgement(1, "cause", "R01_overfire", "confirmed", "keeper", WHEN),
        Judgement(2, "cause", "R01_overfire", "refuted", "keeper", WHEN),
        Judgement(3, "cause", "R02_thick", "fix_worked", "keeper", WHEN),
        Judgement(4, "fault", "run", "present", "keeper", WHEN),
        Judgement(5, "cause", "the moon", "confirmed", "keeper", WHEN),
    )
    made = piece(judgements=words, facts={"application.layers": 2.0})
    found = outcomes_of([made, piece(2)], studio="shed")
    assert [(one.id, one.verdict) for one in found] == [
        ("shed/T-0001/run/R01_overfire", "refuted"),
        ("shed/T-0001/run/R02_thick", "fix_worked"),
    ]
    assert found[0].facts == {"application.layers": 2.0}
    assert learn(found).count_words("run", THICK) == "1 of 1 like this here"
