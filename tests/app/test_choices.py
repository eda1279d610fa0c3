"""Dates and numbers as CLDR has them for a locale (Babel carries that data), units by the reader's choice."""

import re
from datetime import date

import pytest

from app.words import choices
from catalog.choices import Choices
from catalog.store import Catalog
from tests.app.test_views import opened

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


@pytest.mark.parametrize(
    ("told", "wanted"),
    [
        ("slow the ramp through 850-1050 C", "slow the ramp through 1562 to 1922 °F"),
        ("Cooling rate from 300 to 150 °C", "Cooling rate from 572 to 302 °F"),
        ("60 C/h over the last 100 C", "108 °F/h over the last 180 °F"),
        (
            "add time below top (drop about 30-60 C and hold)",
            "add time below top (drop about 54 to 108 °F and hold)",
        ),
        ("20 min at top against 20 min 40 C lower", "20 min at top against 20 min 72 °F lower"),
        ("Hold 20 to 100 °C below the top: 10 min", "Hold 36 to 180 °F below the top: 10 min"),
        ("with and without a hold after a 40 C drop", "with and without a hold after a 72 °F drop"),
        ("the coat seals: 948 °C", "the coat seals: 1738 °F"),
        ("contracts sharply at 573 and near 226 C", "contracts sharply at 1063 and near 439 °F"),
        ("cone 10 CaO, 3 Cu", "cone 10 CaO, 3 Cu"),
    ],
)
def test_a_sentence_of_temperatures_and_differences_follows(told, wanted):
    choices.use_choices(Choices("en_US", "F", "in"))
    assert choices.temperatures(told).replace(",", "") == wanted.replace(",", "")
    choices.use_choices(Choices("en_GB", "C", "mm"))
    assert choices.temperatures("700-950 C, then 60 C/h") == "700 to 950 °C, then 60 °C/h"


def test_a_sentence_of_differences_and_a_plain_figure_follow_too():
    told = "The top shelf was 12 °C hotter than its thermocouple says. It goes up by 1.5 °C a load."
    assert choices.spans(told) == told
    assert choices.figure(7.5) == "7.5"
    choices.use_choices(Choices("de", "F", "in"))
    assert choices.spans("100 °C/h, up by 1.5 °C a load") == "180 °F/h, up by 2,7 °F a load"
    assert choices.span(100) == "180 °F"
    assert choices.figure(7.5) == "7,5"
    assert choices.figure(80.0) == "80"


def test_what_a_glaze_and_a_firing_say_is_in_the_readers_degrees_and_marks(studio):
    """No °C and no decimal point may stay in what these views say once °F and German are chosen."""
    from app.services import firings, glazes
    from catalog.firing.path import path_of_schedule
    from catalog.glaze.report import formula_report
    from catalog.store import Catalog

    with Catalog.open() as catalog:
        recipe = catalog.recipes()[0]
        load = next(load for load in catalog.loads() if load.schedule)
    report = formula_report(recipe.lines)
    path = path_of_schedule(load.schedule)
    choices.use_choices(Choices("de", "F", "in"))
    said = [*glazes.melt_rows(report), *glazes.expansion_rows(report), *firings.figure_rows(path, [])]
    said += [*glazes.formula_rows(report), ("", glazes.gas_sentence(report))]
    words = " | ".join(f"{name}: {value}" for name, value in said)
    assert "°F" in words
    kept = words.replace("millionths per °C", "")  # the published unit of expansion
    assert "°C" not in kept, kept
    assert not re.search(r"\d\.\d", kept), kept


def test_a_peak_is_a_temperature_and_what_a_shelf_was_hotter_by_a_difference(studio):
    """1215 °C is 2219 °F: 32 and nine fifths of it (definition of the degree Fahrenheit)."""
    from app.services import firings
    from catalog.store import Catalog

    choices.use_choices(Choices("en_GB", "F", "in"))
    with Catalog.open() as catalog:
        load = next(load for load in catalog.loads() if load.schedule)
        said, notes = firings.verdicts(load, None)
    words = " ".join((*said, *notes))
    assert "peak 2219 °F" in words
    assert re.search(r"about \d{1,3} °F (hotter|cooler)", words), words
    assert "°C" not in words


def test_decimal_marks_follow_in_sentences_and_a_cones_name_stays():
    choices.use_choices(Choices("de", "F"))
    said = choices.temperatures("Cone 5.5 reached, 0.3 cone under cone 6.5 at 1222.5 °C; cones 5.5 and more")
    assert said == "Cone 5.5 reached, 0,3 cone under cone 6.5 at 2232,5 °F; cones 5.5 and more"


def test_every_locale_offered_is_known():
    for name, words in choices.locale_names().items():
        choices.use_choices(Choices(name))
        assert choices.chosen().locale == name
        assert words


def test_a_locale_kept_by_a_program_stays_when_studio_is_opened(studio):
    with Catalog.open(studio) as catalog:
        catalog.preferences.keep(Choices("de_DE", "F", "in"))
    app = opened("studio")
    assert not app.exception
    with Catalog.open(studio) as catalog:
        assert catalog.preferences.get() == Choices("de_DE", "F", "in")
