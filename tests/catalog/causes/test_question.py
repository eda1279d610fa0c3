"""What an answer is expected to teach, against worked numbers, and which question comes first."""

import math

import pytest

from catalog.causes.fact import checked, completed
from catalog.causes.infer import infer_causes
from catalog.causes.knowledge import fault_names
from catalog.causes.question import (
    OPPOSITE_REMEDIES,
    answer_chances,
    answers_worth_offering,
    information_bits,
    keys_of,
)
from catalog.causes.trial import Limits, chance_of_pointing


def test_information_of_textbook_channels():
    # Cover & Thomas, Elements of Information Theory: a noiseless bit carries 1; a binary symmetric channel
    # with crossover 0.11 carries 1 - H(0.11) = 0.5; a useless one 0
    assert information_bits([0.5, 0.5], [[1.0, 0.0], [0.0, 1.0]]) == pytest.approx(1.0)
    assert information_bits([0.5, 0.5], [[0.89, 0.11], [0.11, 0.89]]) == pytest.approx(0.5, abs=1e-3)
    assert information_bits([0.5, 0.5], [[0.3, 0.7], [0.3, 0.7]]) == 0.0


def test_the_chances_of_an_answer_follow_the_rules_ratio():
    # image.rim_sharp is met in 1 case in 10 ordinarily; medium (3) for over-firing and (1/3) against holes
    # not healed, which "no" favours by 3: yes 0.5 each way, since yes and no are both told of
    everyday, by_cause = answer_chances("pinhole", "image.rim_sharp", {})
    assert everyday == (0.5, 0.5)
    assert by_cause["pinhole/P09_overfire"] == pytest.approx((0.9, 0.1))
    assert by_cause["pinhole/P04_underfired_not_healed"] == pytest.approx((0.1, 0.9))
    assert by_cause["pinhole/P02_coat_thick"] == everyday


@pytest.mark.parametrize("fault", ["pinhole", "blister", "crater", "pit_dimple"])
def test_the_costly_mix_up_is_asked_about_first(fault):
    first = infer_causes(fault, {}).next_question
    assert first.key in ("firing.cone_over_target", "image.rim_sharp", "history.refire")
    assert first.first_because == OPPOSITE_REMEDIES


def test_once_the_mix_up_is_settled_other_questions_lead():
    facts = {"firing.cone_over_target": 2, "firing.witness_cone": True, "image.rim_sharp": True}
    questions = infer_causes("pinhole", facts).questions
    assert all(question.first_because == "" for question in questions)
    assert questions
    assert "image.rim_sharp" not in [question.key for question in questions]


def test_questions_are_of_unknown_facts_and_ranked_by_bits_for_the_minute():
    diagnosis = infer_causes("run", {"firing.kiln": "electric"})
    worth = [question.expected_gain_bits / question.minutes for question in diagnosis.questions]
    assert worth == sorted(worth, reverse=True)
    assert "firing.kiln" not in [question.key for question in diagnosis.questions]
    gauge = next(q for q in diagnosis.questions if q.key == "application.raw_thickness_mm")
    assert gauge.in_words == "application.thickness_word"
    assert all(isinstance(value, float) for value in gauge.answers)


def test_every_answer_worth_offering_is_a_value_the_vocabulary_takes():
    for fault in fault_names()[:6]:
        for key in keys_of(fault):
            for value in answers_worth_offering(fault, key):
                assert completed(checked({key: value}))[key].value == value


def test_a_trial_is_a_plan_with_its_prediction():
    diagnosis = infer_causes("pinhole", {"spread.one_body_only": True})
    for trial in diagnosis.next_trials:
        plan = trial.plan
        assert plan.pieces
        assert plan.differs in plan.if_so
        assert 0.15 <= plan.prediction <= 0.85
        assert trial.to_dict()["plan"]["prediction"] == pytest.approx(plan.prediction, abs=1e-4)
    # 0.4 x 0.85 + 0.4 x 0.15 + 0.2 x 0.5
    shares = {"a": 0.4, "b": 0.4, "c": 0.2}
    assert chance_of_pointing(shares, "a", ["b"]) == pytest.approx(0.5)


def test_a_shared_kiln_keeps_its_schedule():
    facts = {"firing.final_ramp_C_h": 200, "firing.hold_peak_min": 0}
    free = infer_causes("pinhole", facts).next_trials
    shared = infer_causes("pinhole", facts, limits=Limits(schedule_may_change=False, most_firings=1))
    assert any(trial.changes_schedule for trial in free) or math.isfinite(free[0].bits_per_cost)
    assert shared.next_trials
    assert all(not t.changes_schedule and t.firings <= 1 for t in shared.next_trials)
