"""Dates and numbers as CLDR has them for a locale (Babel carries that data), units by the reader's choice."""

from datetime import date

import pytest

from app.words import choices
from catalog.choices import Choices

DAY = date(2026, 10, 9)


@pytest.fixture(autouse=True)
def usual_again():
    yield
    choices.use_choices(Choices())


# the spellings are those of each language's everyday writing, from memory, besides CLDR's own
@pytest.mark.parametrize(
    ("locale", "day", "pattern", "figure"),
    [
        ("en_GB", "9 October 2026", "DD/MM/YYYY", "1234.5"),
        ("en_US", "October 9, 2026", "MM/DD/YYYY", "1234.5"),
        ("de", "9. Oktober 2026", "DD.MM.YYYY", "1234,5"),
        ("ja", "2026年10月9日", "YYYY/MM/DD", "1234.5"),
    ],
)
def test_a_locale_changes_dates_and_marks(locale, day, pattern, figure):
    choices.use_choices(Choices(locale))
    assert (choices.day_words(DAY), choices.date_pattern(), choices.number(1234.5, 1)) == (
        day,
        pattern,
        figure,
    )


def test_without_a_choice_the_readers_browser_counts():
    choices.use_choices(Choices(), "fr-FR")
    assert choices.day_words(DAY) == "9 octobre 2026"
    choices.use_choices(Choices(), "xx-nowhere")
    assert choices.day_words(DAY) == "9 October 2026"
    choices.use_choices(Choices("it"), "fr-FR")
    assert choices.day_words(DAY) == "9 ottobre 2026"


def test_units_follow_the_choice():
    assert (choices.degrees(1222), choices.size(50.2, 93.4), choices.length(0.5)) == (
        "1222 °C",
        "50 × 93 mm",
        "0.5 mm",
    )
    choices.use_choices(Choices("en_US", "F", "in"))
    assert choices.degrees(1222) == "2232 °F"
    assert choices.rate(60) == "108 °F per hour"
    assert choices.difference(-5) == "-9 °F"
    assert choices.size(50.8, 101.6) == "2.00 × 4.00 in"


def test_every_locale_offered_is_known():
    for name, words in choices.locale_names().items():
        choices.use_choices(Choices(name))
        assert choices.chosen().locale == name
        assert words
