"""The Why view: read from the top, answered with a tap, planned, learned, undone."""

import re
from datetime import date
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from catalog.store import Catalog

VIEW = Path(__file__).parents[2] / "app" / "views" / "why.py"
CODE = "T-0006"


@pytest.fixture
def app(studio: Path) -> AppTest:
    opened = AppTest.from_file(str(VIEW), default_timeout=60).run()
    box(opened, "Piece").select(CODE).run()
    assert not opened.exception
    return opened


def box(app: AppTest, label: str):
    return next(found for found in app.selectbox if found.label == label)


def button(app: AppTest, key: str):
    return next(found for found in app.button if found.key is not None and found.key.startswith(key))


def words(app: AppTest) -> str:
    parts = [element.proto.body for element in app.get("html")]
    for kind in ("markdown", "caption", "header", "subheader", "title"):
        parts += [element.value for element in getattr(app, kind)]
    return "\n".join(parts)


def share(app: AppTest, title: str) -> int:
    found = re.search(rf"<span>{re.escape(title)}</span><span[^>]*>(\d+)</span>", words(app))
    assert found is not None, title
    return int(found.group(1))


def question(app: AppTest):
    return next(g for g in app.get("button_group") if g.label.startswith("Your answer"))


def test_it_reads_from_the_top(app: AppTest) -> None:
    heads = [element.value for element in (*app.subheader, *app.header)]
    assert {"What was seen", "What else shows it", "Next question"} <= set(heads)
    order = [element.value for element in app.header]
    assert order == [
        "Likely causes",
        "What to try next",
        "What it may be used for",
        "What this studio has learned",
    ]
    said = words(app)
    assert "2 of the 3 pieces of this load" in said
    assert "The witness cone on the top shelf reached cone 8" in said
    assert "from 40 on" in said.lower()


def test_one_tap_answers_and_the_ranking_moves(app: AppTest, studio: Path) -> None:
    before = {title: share(app, title) for title in ("Glaze fired past its range", "Coat too thick")}
    asked = question(app)
    asked.select(asked.options[0]).run()
    assert not app.exception
    said = words(app)
    assert "You said" in said
    assert "Since you changed the record" in said
    assert before != {title: share(app, title) for title in before}
    with Catalog.open(studio) as catalog:
        (answer,) = catalog.casebook.answers(catalog.piece(CODE))
    assert answer.value is not None
    button(app, "unsay_").click().run()
    assert before == {title: share(app, title) for title in before}


def test_nobody_knows_brings_the_next_question(app: AppTest) -> None:
    first = question(app)
    first.select("nobody knows").run()
    assert question(app).label != first.label


@pytest.mark.parametrize(
    ("key", "typed", "kept", "label", "shown"),
    [  # 392 °F are 200 °C and a step of 180 °F is one of 100 °C, by the definition of the degree
        ("firing.opened_C", 392.0, 200.0, "Or the figure in °F", "392 °F"),
        ("firing.cool_C_h_to_1000", 180.0, 100.0, "Or the figure in °F/h", "180 °F per hour"),
    ],
)
def test_a_figure_is_taken_in_the_readers_degrees(studio: Path, key, typed, kept, label, shown) -> None:
    def page(code: str, key: str) -> None:
        from types import SimpleNamespace

        from app.cache import catalogue
        from app.widgets.next_question import _figure, answers_given
        from app.words.choices import use_choices
        from catalog.choices import Choices

        use_choices(Choices("en_GB", "F"))
        piece = catalogue().piece(code)
        case = SimpleNamespace(piece=piece, answers=catalogue().casebook.answers(piece))
        if not case.answers:  # as the page, which asks nothing that was answered
            _figure(case, SimpleNamespace(key=key))
        answers_given(case)

    asked = AppTest.from_function(page, args=(CODE, key), default_timeout=60).run()
    (box_,) = asked.number_input
    assert box_.label == label
    box_.set_value(typed).run()
    with Catalog.open(studio) as catalog:
        (answer,) = catalog.casebook.answers(catalog.piece(CODE))
    assert (answer.fact, answer.value) == (key, pytest.approx(kept))
    assert shown in words(asked)


def test_a_trial_is_planned_with_its_prediction_and_labels(app: AppTest, studio: Path) -> None:
    button(app, "plan_").click().run()
    assert not app.exception
    assert "Waiting for its pieces" in words(app)
    assert "before the firing" in words(app)
    with Catalog.open(studio) as catalog:
        (trial,) = catalog.casebook.trials()
        assert 0.0 < trial.prediction < 1.0
        for part in trial.pieces:
            assert part.code in words(app)
            assert catalog.piece(part.code).readings == ()


def test_a_shared_kiln_leaves_the_schedule_alone_until_told_otherwise(app: AppTest, studio: Path) -> None:
    assert app.toggle[0].value is True
    app.toggle[0].set_value(False).run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        assert catalog.casebook.ways().shared_kiln is False


def test_a_word_on_a_cause_is_counted_and_undone(app: AppTest, studio: Path) -> None:
    button(app, "word_confirmed_").click().run()
    assert not app.exception
    assert "1 of 1 like this here" in "\n".join(expander.label for expander in app.expander)
    button(app, "undo_").click().run()
    assert not app.exception
    assert "No cause of" in words(app)
    with Catalog.open(studio) as catalog:
        assert catalog.casebook.outcomes() == ()
        assert catalog.piece(CODE).judgements == ()


def test_the_use_statement_forbids_food_and_lists_sisters(app: AppTest) -> None:
    said = words(app)
    assert "Decorative only." in said
    assert "bubbles have glass edges" in said
    assert re.search(r"T-0005: same load, same glaze, same clay", said)
    assert not re.search(r"\b(is|food|dishwasher|microwave)[ -]safe\b", said, re.IGNORECASE)


def test_a_laboratory_result_is_kept_and_taken_away(app: AppTest, studio: Path) -> None:
    app.number_input[[n.label for n in app.number_input].index("Figure")].set_value(0.02)
    app.text_input[[t.label for t in app.text_input].index("Laboratory")].set_value("County laboratory")
    app.date_input[0].set_value(date(2026, 10, 30))
    next(b for b in app.button if b.label == "Keep this result").click().run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        (kept,) = catalog.casebook.leach(catalog.piece(CODE))
    assert (kept.element, kept.amount, kept.accredited) == ("lead", 0.02, False)
    assert "not from an accredited laboratory" in words(app)
    button(app, "leach_").click().run()
    assert "No result for lead release is kept" in words(app)


def test_what_is_wanted_is_no_fault(app: AppTest, studio: Path) -> None:
    button(app, "glaze_wants_").click().run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        assert catalog.count_pieces(fault="blister") == 0


def test_a_whole_load_in_one_table(app: AppTest) -> None:
    about = next(g for g in app.get("button_group") if g.label == "Ask about")
    about.select("A whole load").run()
    assert not app.exception
    said = words(app)
    assert "2 of 3 pieces that were looked at show" in said
    assert said.index("T-0005") < said.index("T-0004")
    assert "By lot, of 100" in said


def test_a_mug_in_the_hand_needs_no_photo(app: AppTest, studio: Path) -> None:
    box(app, "What is wrong?").select("blister")
    box(app, "Glaze").select("Bracken")
    box(app, "Clay").select_index(0)
    box(app, "Glaze firing").select_index(0)
    next(b for b in app.button if b.label == "Ask why").click().run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        (mug,) = catalog.pieces(kind="ware")
    assert [layer.name for layer in mug.layers] == ["Bracken"]
    assert f"{mug.code}: no photo yet" in words(app)
    assert question(app) is not None


def test_a_file_that_is_no_outcomes_is_refused_in_a_sentence(studio: Path) -> None:
    from app.services.causes import import_from_file
    from catalog.causes.errors import CausesError

    with Catalog.open(studio) as catalog:
        for data in (b"\xff\xfe\x00", b"[]", b'{"form": "glostbook outcomes 1", "outcomes": [{}]}'):
            with pytest.raises(CausesError):
                import_from_file(catalog, data)
