"""Expected information of a trial, against worked numbers."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.causes.infer import infer_causes
from catalog.causes.trial import HIT, entropy_bits, expected_gain_bits


def test_entropy_of_textbook_distributions():
    # Shannon (1948): a fair coin carries 1 bit; 1/2, 1/4, 1/8, 1/8 carries 1.75 bits
    assert entropy_bits([0.5, 0.5]) == 1.0
    assert entropy_bits([0.5, 0.25, 0.125, 0.125]) == 1.75
    assert entropy_bits([1.0, 0.0]) == 0.0


def test_two_even_causes_are_a_binary_symmetric_channel():
    # Capacity of the binary symmetric channel, 1 - H(p) (Cover & Thomas, Elements of Information Theory)
    expected = 1.0 + HIT * math.log2(HIT) + (1 - HIT) * math.log2(1 - HIT)
    assert expected_gain_bits({"a": 0.5, "b": 0.5}, "a", ["b"]) == pytest.approx(expected)


def test_a_trial_between_causes_that_are_out_of_the_question_teaches_nothing():
    assert expected_gain_bits({"a": 0.0, "b": 0.0, "c": 1.0}, "a", ["b"]) == 0.0


@settings(deadline=None)
@given(st.lists(st.floats(0.01, 1), min_size=3, max_size=8))
def test_gain_is_never_negative_nor_more_than_what_is_open(weights):
    total = sum(weights)
    p = {str(i): w / total for i, w in enumerate(weights)}
    gain = expected_gain_bits(p, "0", ["1"])
    assert 0.0 <= gain <= min(1.0, entropy_bits(p.values()))


def test_trials_are_ranked_by_gain_for_their_cost_and_tell_it():
    trials = infer_causes("blister", {}).next_trials
    gains = [t.bits_per_cost for t in trials]
    assert gains == sorted(gains, reverse=True)
    assert 1 <= len(trials) <= 5
    for trial in trials:
        assert "minutes of work" in trial.cost
        assert trial.separates[0] == trial.about
        assert trial.changes_schedule == ("kiln keeper" in trial.cost)
