"""Each view on an empty catalogue, on a filled one, and with a file that is no photo."""

import json
import re
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from app.server import server_command
from catalog.choices import Choices
from catalog.store import Catalog

MAIN = str(Path(__file__).parents[2] / "app" / "main.py")
VIEWS = ("bench", "unload", "shelf", "match", "why", "glazes", "firings", "ware", "print", "studio")
INTERNAL = re.compile(r"\bNone\b|\bnan\b|[A-Z]{2,}_[A-Z_]+|Traceback|\{'|\w+Error\b|\w+\.\w+_\w+")
"""What no screen may show: Python's words, names of flags and facts, dumped records."""


def opened(view: str) -> AppTest:
    return AppTest.from_file(MAIN, default_timeout=60).run().switch_page(f"views/{view}.py").run()


def words(app: AppTest) -> str:
    """All that a view says, styles left out."""
    said = [
        element.value
        for kind in ("title", "header", "subheader", "markdown", "caption")
        for element in app.get(kind)
    ]
    said += [" ".join(map(str, _strings(piece))) for piece in on_board(app)]
    said += [element.proto.body for element in app.get("html") if "<style>" not in element.proto.body]
    said += [
        label for kind in ("button", "selectbox", "text_input", "expander") for label in _labels(app, kind)
    ]
    return re.sub(r"<[^>]+>", " ", "\n".join(str(text) for text in said))


def _strings(told: dict) -> list[str]:
    return [told["code"], told["alt"], *told["lines"], *(word for word, _ in told["faults"])]


def _labels(app: AppTest, kind: str) -> list[str]:
    return [element.label for element in app.get(kind)]


@pytest.mark.parametrize("view", VIEWS)
def test_empty_catalogue_says_what_to_do(view: str, empty_home: Path) -> None:
    app = opened(view)
    assert not app.exception
    said = words(app)
    assert not INTERNAL.search(said), INTERNAL.search(said)
    if view in ("shelf", "match", "why", "glazes", "ware", "studio"):
        assert "Print the card" in said
        assert "sample studio" in said


@pytest.mark.parametrize("view", VIEWS)
def test_filled_catalogue_shows(view: str, studio: Path) -> None:
    app = opened(view)
    assert not app.exception
    said = words(app)
    assert not INTERNAL.search(said), INTERNAL.search(said)
    assert view.capitalize() in [title.value for title in app.title]


@pytest.mark.parametrize("view", ["bench", "shelf", "why", "glazes", "firings", "ware", "print", "studio"])
def test_filled_catalogue_shows_in_other_degrees_lengths_and_numbers(view: str, studio: Path) -> None:
    with Catalog.open(studio) as catalog:
        catalog.preferences.keep(Choices("de_DE", "F", "in"))
    app = opened(view)
    assert not app.exception
    if view == "firings":
        assert "hotter" in words(app)
        assert app.get("plotly_chart")


def test_the_bare_address_leads_to_the_shelf(studio: Path) -> None:
    app = AppTest.from_file(MAIN, default_timeout=60).run()
    assert [title.value for title in app.title] == ["Shelf"]


def test_shelf_filters_combine_and_stay_when_the_view_changes(studio: Path) -> None:
    app = opened("shelf")
    assert len(shelf_codes(app)) == 6
    app.selectbox[_index(app, "Fault")].select("blistered").run()
    assert shelf_codes(app) == ["T-0005", "T-0006"]
    assert "Clay body" not in _labels(app, "selectbox")
    _unfold_rarer_filters(app)
    app.selectbox[_index(app, "Clay body")].select("White stoneware").run()
    assert "No piece passes" in words(app)
    app = app.switch_page("views/print.py").run().switch_page("views/shelf.py").run()
    assert app.selectbox[_index(app, "Fault")].value == "blistered"


def _unfold_rarer_filters(app: AppTest, unfolded: bool = True) -> None:
    app.session_state["more"] = unfolded
    app.run()


def shelf_codes(app: AppTest) -> list[str]:
    return [piece["code"] for piece in on_board(app)]


def on_board(app: AppTest) -> list[dict]:
    """The pieces on the view's board, as its component is told of them."""
    for element in app.get("bidi_component"):
        if element.proto.component_name.endswith("glostbook_board"):
            return json.loads(element.proto.json)["pieces"]
    return []


def open_piece(app: AppTest, code: str) -> AppTest:
    """As a click on the board does."""
    assert code in shelf_codes(app)
    app.query_params["piece"] = code
    return app.run()


def _index(app: AppTest, label: str) -> int:
    return _labels(app, "selectbox").index(label)


def _button(app: AppTest, label: str):
    return next(button for button in app.button if button.label.startswith(label))


def test_a_piece_opens_with_its_reading_and_takes_a_persons_word(studio: Path) -> None:
    app = opened("shelf")
    open_piece(app, "T-0006")
    said = words(app)
    assert not INTERNAL.search(said), INTERNAL.search(said)
    for part in (
        "blistered",
        "L* 27.0 ± 1.1",
        "gloss",
        "blisters per cm²",
        "Bracken",
        "Dark stoneware",
        "top 8",
    ):
        assert part in said
    app.selectbox[_index(app, "Fault")].select("blistered")
    app.selectbox[_index(app, "Is it so?")].select("absent")
    _button(app, "Keep").click().run()
    assert not app.exception
    assert "You said: blistered is not there" in words(app)
    with Catalog.open(studio) as catalog:
        assert catalog.count_pieces(fault="blistered") == 1
    _button(app, "Take back").click().run()
    with Catalog.open(studio) as catalog:
        assert catalog.count_pieces(fault="blistered") == 2


def test_a_piece_is_taken_off_and_brought_back(studio: Path) -> None:
    app = opened("shelf")
    open_piece(app, "T-0003")
    _button(app, "Take it off").click().run()
    assert not app.exception
    assert "T-0003" not in shelf_codes(app)
    assert "T-0003 was taken off the shelf" in words(app)
    _button(app, "Bring it back").click().run()
    assert "T-0003" in shelf_codes(app)


def test_the_shelf_is_sorted_by_what_a_person_chooses(studio: Path) -> None:
    app = opened("shelf")
    order = app.selectbox[_index(app, "Sorted by")]
    order.select("lightness").run()
    # filled by conftest: whites L* 90 and 86, blues 38 and 33, browns 27
    assert shelf_codes(app)[:4] == ["T-0003", "T-0004", "T-0001", "T-0002"]
    app.selectbox[_index(app, "Sorted by")].select("glaze").run()
    lines = [piece["lines"][0] for piece in on_board(app)]
    assert lines == sorted(lines)
    app.selectbox[_index(app, "Sorted by")].select("fault").run()
    assert shelf_codes(app)[:3] == ["T-0005", "T-0006", "T-0004"]  # blistered, blistered, crazed
    _unfold_rarer_filters(app)
    app.selectbox[_index(app, "Finish")].select("matt").run()
    assert shelf_codes(app) == ["T-0003"]
    _unfold_rarer_filters(app, False)
    assert shelf_codes(app) == ["T-0003"]  # folded away, a filter that is set still holds


def test_pieces_stand_side_by_side_with_what_differs(studio: Path) -> None:
    app = AppTest.from_file(MAIN, default_timeout=60).run()
    app.query_params["compare"] = "T-0001,T-0005,T-0009"
    app.switch_page("views/shelf.py").run()
    said = words(app)
    assert not app.exception
    assert "T-0009" in said  # named, and said not to be there
    assert "T-0001 and T-0005" in said
    for differs in ("Witness cone there", "quartz, parts", "Glaze: raw thickness"):
        assert differs in said
    assert "Kiln: Small electric kiln" in said.split("The same for all")[1]
    app.query_params["compare"] = "T-0001"
    app.run()
    assert "Two to 6 pieces can stand side by side; 1 are named" in words(app)


def test_the_address_names_the_piece(studio: Path) -> None:
    app = AppTest.from_file(MAIN, default_timeout=60).run()
    app.query_params["piece"] = "T-0002"
    app.switch_page("views/shelf.py").run()
    assert "T-0002" in [header.value for header in app.header]
    _button(app, "All pieces").click().run()
    assert len(shelf_codes(app)) == 6


def test_what_a_piece_is_made_of_can_be_corrected(studio: Path) -> None:
    app = opened("shelf")
    open_piece(app, "T-0001")
    app.selectbox[_index(app, "Clay body")].select("Dark stoneware")
    app.selectbox[_index(app, "Glaze nearest the clay")].select("Bracken")
    app.number_input[_labels(app, "number_input").index("Coats")].set_value(4)
    _button(app, "Keep changes").click().run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        piece = catalog.piece("T-0001")
    assert piece.body is not None
    assert piece.body.name == "Dark stoneware"
    assert [(layer.name, layer.coats) for layer in piece.layers] == [("Bracken", 4)]


def test_match_by_typed_colour_finds_the_nearest_and_says_how_near(studio: Path) -> None:
    app = opened("match")
    app.get("button_group")[0].select("type").run()
    for label, value in (("L*", 38.0), ("a*", -2.0), ("b*", -22.0)):
        field = next(f for f in app.number_input if f.label.startswith(label))
        field.set_value(value)
    app.run()
    assert not app.exception
    assert shelf_codes(app)[0] == "T-0001"
    assert "0.0 away: not visible" in words(app)


@pytest.mark.parametrize("named", ["zzz", "#12", "<b>", ""])
def test_a_colour_in_the_address_that_is_none_is_passed_over(studio: Path, named: str) -> None:
    app = AppTest.from_file(MAIN, default_timeout=60).run()
    app.query_params["colour"] = named
    app.switch_page("views/match.py").run()
    assert not app.exception
    assert shelf_codes(app)


def _by_address(**named: str) -> AppTest:
    app = AppTest.from_file(MAIN, default_timeout=60).run()
    for name, value in named.items():
        app.query_params[name] = value
    return app.switch_page("views/match.py").run()


def _told(app: AppTest) -> dict[str, str]:
    return {name: str(app.query_params[name]) for name in app.query_params}


def test_what_match_was_asked_stands_in_its_address_and_comes_back_from_it(studio: Path) -> None:
    app = opened("match")
    app.get("button_group")[0].select("type").run()
    next(field for field in app.number_input if field.label.startswith("L*")).set_value(27.0).run()
    app.selectbox[_index(app, "Finish")].select("gloss").run()
    app.selectbox[_index(app, "Show")].select(6).run()
    next(box for box in app.checkbox if box.label == "Without faults").check().run()
    asked = _told(app)
    assert asked == {
        "by": "type",
        "written": "lab",
        "lab": "27,-2,-20",
        "finish": "gloss",
        "show": "6",
        "faultless": "yes",
    }
    again = _by_address(**asked)
    assert not again.exception
    assert next(field for field in again.number_input if field.label.startswith("L*")).value == 27.0
    assert again.selectbox[_index(again, "Finish")].value == "gloss"
    assert shelf_codes(again) == shelf_codes(app) != []
    assert _told(again) == asked


def test_a_palette_and_a_spot_on_a_tile_come_from_the_address(studio: Path) -> None:
    app = _by_address(by="palette", palette="#54667a 3, #efe6d8 1")
    assert [picker.value for picker in app.color_picker][:2] == ["#54667a", "#efe6d8"]
    assert [field.value for field in app.number_input] == [75, 25, 0]
    assert _told(app)["palette"] == "#54667a 75, #efe6d8 25"
    app = _by_address(by="tile", tile="T-0003", spot="0.5,0.5")
    assert shelf_codes(app)[0] in ("T-0003", "T-0004")
    app = _by_address(by="like", tile="T-0005")
    assert shelf_codes(app)[0] == "T-0006"
    assert "T-0005" not in shelf_codes(app)


@pytest.mark.parametrize(
    "named",
    [
        {"by": "sideways", "show": "-3", "finish": "shiny", "body": "", "cone": "<b>"},
        {"by": "type", "lab": "40,-2", "written": "ink"},
        {"by": "type", "lab": "nan,0,inf"},
        {"by": "palette", "palette": "#12 3"},
        {"by": "tile", "tile": "T-9999", "spot": "here"},
        {"by": "pick", "colour": "#+1+1+1"},
    ],
)
def test_what_no_view_wrote_into_the_address_is_passed_over(studio: Path, named: dict[str, str]) -> None:
    assert not _by_address(**named).exception


def test_match_says_when_nothing_near_is_filed(studio: Path) -> None:
    app = opened("match")
    app.color_picker[0].set_value("#ff00ff").run()
    assert "Nothing near this colour is filed" in words(app)


def test_why_reads_the_over_fired_cone_and_follows_the_record(studio: Path) -> None:
    app = opened("why")
    app.selectbox[_index(app, "Piece")].select("T-0006").run()
    assert not app.exception
    said = words(app)
    assert not INTERNAL.search(said), INTERNAL.search(said)
    assert "Glaze fired past its range" in said
    assert "accredited laboratory" in said
    before = share_of(app, "Glaze fired past its range")
    app.selectbox[_index(app, "Top shelf")].select("5").run()
    assert not app.exception
    assert share_of(app, "Glaze fired past its range") < before
    with Catalog.open(studio) as catalog:
        assert {c.shelf: c.cone for c in catalog.piece("T-0006").load.cones}["top"] == "5"


def share_of(app: AppTest, title: str) -> int:
    for element in app.get("html"):
        found = re.search(rf"<span>{re.escape(title)}</span><span[^>]*>(\d+)</span>", element.proto.body)
        if found:
            return int(found.group(1))
    raise AssertionError(f"{title} is not in the ranking")


def test_changed_recipe_lines_become_a_new_revision(studio: Path) -> None:
    app = opened("glazes")
    assert "SiO₂" in words(app)
    app.text_input[_labels(app, "text_input").index("Notes")].set_value("more quartz next time").run()
    _button(app, "Keep as a new revision").click().run()
    assert not app.exception
    assert "Revision 2 of 2" in words(app)


def test_firings_says_what_the_schedule_amounts_to(studio: Path) -> None:
    said = words(opened("firings"))
    assert "This schedule plans cone" in said
    assert "top 8" in said


def test_a_load_is_made_with_its_cones(studio: Path) -> None:
    app = opened("firings")
    app.text_input[_labels(app, "text_input").index("Name")].set_value("x")
    name = [f for f in app.text_input if f.label == "Name"][-1]
    name.set_value("Glaze firing 21 November")
    cone = [s for s in app.selectbox if s.label == "Top shelf"][-1]
    cone.select("6")
    _button(app, "Make this load").click().run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        made = next(load for load in catalog.loads() if load.name == "Glaze firing 21 November")
    assert [(c.shelf, c.cone) for c in made.cones] == [("top", "6")]


def test_the_server_stays_on_this_computer_and_reports_nothing() -> None:
    options = server_command(8765)
    assert "--server.address=127.0.0.1" in options
    assert "--browser.gatherUsageStats=false" in options
    assert "--server.headless=true" in options
