"""The classifier is silent until it has enough, then names the right pieces, and says when it disagrees."""

import random

import pytest

from catalog.causes.likeness import FEWEST_PIECES, likeness

THICK, HOT = "blister/B02_coat_too_thick", "blister/B01_overfire"
TITLES = {THICK: "Coat too thick", HOT: "Glaze fired past its range"}


def cases(count, rng):
    """Thick pieces at the cone aimed at, thin ones two cones over it, both with scatter."""
    found = []
    for number in range(count):
        if number % 2:
            mm, over = rng.gauss(1.5, 0.2), rng.gauss(0.0, 0.3)
        else:
            mm, over = rng.gauss(0.6, 0.2), rng.gauss(2.0, 0.3)
        facts = {"application.raw_thickness_mm": mm, "firing.cone_over_target": over}
        found.append((THICK if number % 2 else HOT, facts))
    return found


def test_it_says_how_many_pieces_it_wants_and_nothing_else():
    said = likeness(cases(FEWEST_PIECES - 1, random.Random(1)), {}, HOT, TITLES)
    assert said.shares == {}
    assert "39 have a confirmed cause" in said.text
    assert "From 40 on" in said.text
    one_cause = [(HOT, {"application.raw_thickness_mm": 1.0})] * 60
    assert likeness(one_cause, {}, HOT, TITLES).shares == {}


def test_it_names_the_like_pieces_and_disagrees_aloud():
    known = cases(60, random.Random(2))
    thick = {"application.raw_thickness_mm": 1.6, "firing.cone_over_target": 0.1}
    said = likeness(known, thick, HOT, TITLES)
    assert said.disagrees
    assert "look again before you act" in said.text
    assert "Coat too thick" in said.text
    agreed = likeness(known, thick, THICK, TITLES)
    assert not agreed.disagrees
    assert agreed.text.endswith("The rules say the same.")
    assert sum(said.shares.values()) == pytest.approx(1.0)


def test_its_probabilities_are_near_what_comes_true():
    # two overlapping groups: mean thickness 1.0 and 1.3 mm, spread 0.3, so that it cannot be sure
    rng = random.Random(3)

    def draw(count):
        pairs = [rng.choice((THICK, HOT)) for _ in range(count)]
        return [
            (p, {"application.raw_thickness_mm": rng.gauss(1.3 if p == THICK else 1.0, 0.3)}) for p in pairs
        ]

    known, unseen = draw(120), draw(60)
    chances = [
        (likeness(known, facts, HOT, TITLES).shares[THICK], pair == THICK) for pair, facts in unseen[:12]
    ]
    brier = sum((chance - came) ** 2 for chance, came in chances) / len(chances)
    assert brier < 0.25  # that of always saying one half (Brier 1950)


def test_without_figures_it_gives_the_counts():
    known = [(HOT, {})] * 30 + [(THICK, {})] * 10
    assert likeness(known, {}, HOT, TITLES).shares == {HOT: 0.75, THICK: 0.25}
