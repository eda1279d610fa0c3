"""Counts of who else shows it: Fisher's exact test, and no pattern from two of two."""

import pytest

from catalog.causes.exact_test import Tally, chance_as_uneven
from catalog.causes.wider_facts import Traits, tallies_of, wider_facts


@pytest.mark.parametrize(
    ("table", "expected"),
    [
        # Fisher (1935), The Design of Experiments, chapter II: the lady tasting tea, 4 of 4 and 3 of 4 cups
        ((4, 4, 0, 4), 1 / 70),
        ((3, 4, 1, 4), 17 / 70),
        # by hand: (C(10,8) C(6,1) + C(10,9) C(6,0)) / C(16,9) = 280 / 11440
        ((8, 10, 1, 6), 280 / 11440),
        ((0, 5, 2, 5), 1.0),
    ],
)
def test_fishers_exact_test_against_published_tables(table, expected):
    assert chance_as_uneven(*table) == pytest.approx(expected, abs=1e-6)


def test_it_agrees_with_scipy_on_large_counts():
    stats = pytest.importorskip("scipy.stats")
    hit, seen, hit_else, seen_else = 120, 300, 900, 3000
    table = [[hit, seen - hit], [hit_else, seen_else - hit_else]]
    expected = stats.fisher_exact(table, alternative="greater").pvalue
    assert chance_as_uneven(hit, seen, hit_else, seen_else) == pytest.approx(expected, rel=1e-6)


def test_counts_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="3 of 2"):
        chance_as_uneven(3, 2, 0, 5)


def test_two_of_two_is_no_pattern_however_rare_by_lot():
    two = Tally("bucket", "A", 2, 2, 0, 40)
    assert two.chance < 0.01
    assert not two.is_pattern
    assert Tally("bucket", "A", 4, 4, 0, 40).is_pattern
    assert not Tally("bucket", "A", 4, 4, 0, 0).is_pattern


def piece(number, *, bucket="old", shows=False, glazes=("bracken",)):
    return Traits(number, 1, "small", "top", "white", glazes, bucket, None, shows)


def test_a_bad_bucket_is_told_from_the_other_buckets_of_its_glaze_only():
    bad = [piece(n, bucket="new", shows=True) for n in range(4)]
    good = [piece(n, bucket="old") for n in range(10, 18)]
    another_glaze = [piece(n, bucket="new", glazes=("moss",)) for n in range(20, 40)]
    tallies = tallies_of(bad[0], [*bad, *good, *another_glaze])
    (bucket,) = [tally for tally in tallies if tally.trait == "bucket"]
    assert (bucket.hit, bucket.seen, bucket.hit_else, bucket.seen_else) == (4, 4, 0, 8)
    fact = wider_facts(tallies)["spread.bucket_worse"]
    # by hand: 1 / C(12, 4) = 1/495
    assert fact.value is True
    assert "4 of 4 with it show it, 0 of 8 without" in fact.sentence
    assert bucket.chance == pytest.approx(1 / 495)


def test_a_bucket_no_worse_than_others_says_so_only_from_three_pieces_on():
    few = [piece(0, bucket="new", shows=True), *(piece(n, shows=True) for n in range(10, 16))]
    assert wider_facts(tallies_of(few[0], few)) == {}
    many = [*few, *(piece(n, bucket="new") for n in range(1, 4))]
    assert wider_facts(tallies_of(many[0], many))["spread.bucket_worse"].value is False


def test_layers_are_set_against_the_same_glaze_in_other_company():
    over = [piece(n, glazes=("moss", "bracken"), shows=True) for n in range(4)]
    alone = [piece(n) for n in range(10, 20)]
    (layers,) = [t for t in tallies_of(over[0], [*over, *alone]) if t.trait == "layers"]
    assert (layers.name, layers.is_pattern) == ("moss under bracken", True)
