"""People in the Studio: the keeper adds, changes, lets go; everybody changes their passphrase; the log."""

import re

import pytest

from app import cli, signed_in
from catalog.people.errors import TooManyTriesError, WrongSignInError
from catalog.store import Catalog
from tests.app.test_allowed import seen
from tests.app.test_sign_in import ANA, BEN, quick, said  # noqa: F401 (quick is a fixture)

NEW = "five words on a shelf"


@pytest.fixture(autouse=True)
def looked_up_each_time(monkeypatch):
    monkeypatch.setattr(signed_in, "_CHECK_EVERY_S", 0.0)


@pytest.fixture
def token(studio):
    with Catalog.open(studio) as catalog:
        catalog.people.add("Ana", "keeper", passphrase=ANA)
        catalog.people.add("Ben", "reader", passphrase=BEN)
        return catalog.sign_ins.by_passphrase("Ana", ANA)


def field(app, label: str, nth: int = 0):
    found = [each for kind in (app.text_input, app.selectbox, app.checkbox) for each in kind]
    return [each for each in found if each.label.startswith(label)][nth]


def press(app, label: str):
    app = next(button for button in app.button if button.label == label).click().run()
    assert not app.exception
    return app


def studio_of(token: str, **kept):
    return seen(token, "studio", kept, {})


def test_the_first_person_is_the_keeper_and_is_signed_in(studio):
    app = studio_of("")
    assert "Nobody is asked who they are here." in said(app)
    field(app, "Name").input("Ana")
    field(app, "Passphrase").input("short")
    app = press(app, "Add yourself as keeper")
    assert "at least 15" in said(app)
    field(app, "Passphrase").input(ANA)
    app = press(app, "Add yourself as keeper")
    assert "signed in as **Ana**, keeper" in said(app)
    with Catalog.open(studio) as catalog:
        assert [(p.name, p.role) for p in catalog.people.list()] == [("Ana", "keeper")]


def test_the_keeper_adds_changes_and_lets_go(studio, token):
    app = studio_of(token)
    assert re.search(r"Ben\s+reader; by passphrase", said(app))
    field(app, "Name").input("Cleo")
    field(app, "Passphrase").input(NEW)
    app = press(app, "Add")
    assert "Cleo is added as member." in said(app)
    assert field(app, "Passphrase").value == ""
    with Catalog.open(studio) as catalog:
        of_ben = catalog.sign_ins.by_passphrase("Ben", BEN)
    next(each for each in app.segmented_control if each.label == "Role" and each.value == "reader").set_value(
        "member"
    )
    app = press(app, "Keep the role")
    assert "Ben is a member now, and signs in again." in said(app)
    with Catalog.open(studio) as catalog:
        assert catalog.sign_ins.person_of(of_ben) is None
        of_ben = catalog.sign_ins.by_passphrase("Ben", BEN)
        with pytest.raises(WrongSignInError):
            catalog.sign_ins.by_passphrase("Ben", NEW)
    field(app, "Passphrase", 1).input("one that Ben shall change")
    app = press(app, "Set this passphrase")
    with Catalog.open(studio) as catalog:
        assert catalog.sign_ins.person_of(of_ben) is None
        assert catalog.sign_ins.by_passphrase("Ben", "one that Ben shall change")
    assert next(button for button in app.button if button.label == "Let them go").disabled
    field(app, "Ben leaves").check()
    app = press(app.run(), "Let them go")
    assert "Ben has left." in said(app)
    assert "Left: Ben" in said(app)
    with Catalog.open(studio) as catalog:
        assert [p.name for p in catalog.people.list()] == ["Ana", "Cleo"]
        assert catalog.changes.list(limit=1)[0].who == "Ana"
    assert "Ana" not in field(app, "Who").options  # herself: her passphrase is changed above


def test_nobody_but_a_keeper_sees_the_people(studio, token):
    with Catalog.open(studio) as catalog:
        of_ben = catalog.sign_ins.by_passphrase("Ben", BEN)
    app = studio_of(of_ben)
    assert "People" not in {header.value for header in app.header}
    assert "Let them go" not in {button.label for button in app.button}


@pytest.mark.parametrize("role", ["reader", "member", "keeper"])
def test_everybody_changes_their_own_passphrase_and_stays_signed_in_here_alone(studio, token, role):
    with Catalog.open(studio) as catalog:
        catalog.people.set_role("Ben", role)
        here, elsewhere = (catalog.sign_ins.by_passphrase("Ben", BEN) for _ in range(2))
    app = studio_of(here)
    for old, new, again, word in (
        ("a wrong one, all the same", NEW, NEW, "do not belong together"),
        (BEN, NEW, "another of five words", "two that differ"),
        (BEN, "short", "short", "at least 15"),
    ):
        for label, value in (("The one you have", old), ("A new one", new), ("The new one again", again)):
            field(app, label).input(value)
        app = press(app, "Keep this passphrase")
        assert word in said(app)
    for label, value in (("The one you have", BEN), ("A new one", NEW), ("The new one again", NEW)):
        field(app, label).input(value)
    app = press(app, "Keep this passphrase")
    assert "signed in as **Ben**" in said(app)
    with Catalog.open(studio) as catalog:
        assert catalog.sign_ins.person_of(elsewhere) is None
        assert catalog.sign_ins.person_of(app.session_state["gb_sign_in"]).name == "Ben"
        assert catalog.sign_ins.by_passphrase("Ben", NEW)


def test_wrong_old_passphrases_count_as_tries(studio, token):
    app = studio_of(token)
    for _ in range(5):
        field(app, "The one you have").input("a wrong one, all the same")
        field(app, "A new one").input(NEW)
        field(app, "The new one again").input(NEW)
        app = press(app, "Keep this passphrase")
    with Catalog.open(studio) as catalog, pytest.raises(TooManyTriesError):
        catalog.sign_ins.by_passphrase("Ana", ANA)


# --- what changed


def test_changes_are_told_by_day_filtered_by_person_and_taken_back(studio, token):
    assert cli.main(["--by", "Ben", "bucket", "--glaze", "Moss", "--gravity", "1.4"]) == 0
    with Catalog.open(studio) as catalog:
        ana = catalog.acting_as(catalog.people.named("Ana"))
        red = ana.add_body("Red")
        ana.update_piece("T-0001", body_id=red.id, notes="a drip at the rim")
        before = catalog.piece("T-0001").notes
    app = studio_of(token)
    titles = [each.label for each in app.expander]
    assert any(re.match(r"\d\d:\d\d, Ana: piece T-0001: clay, notes", title) for title in titles)
    assert any(re.match(r"\d\d:\d\d, Ben: bucket B-0001: new", title) for title in titles)
    assert "nothing → a drip at the rim" in said(app)
    assert "→ Red" in said(app)  # not the number of the clay
    field(app, "By whom").set_value("Ben")
    app = app.run()
    assert [t for t in (each.label for each in app.expander) if re.match(r"\d\d:\d\d, ", t)] == [
        t for t in titles if ", Ben: " in t
    ]
    field(app, "By whom").set_value("Ana")
    field(app, "Of which piece").input("t-0001")
    app = press(app.run(), "Take back")
    assert "Taken back: piece T-0001: clay, notes" in said(app)
    assert any("~~" in each.label and "(taken back)" in each.label for each in app.expander)
    with Catalog.open(studio) as catalog:
        assert before
        assert catalog.piece("T-0001").notes == ""


def test_why_a_change_cannot_go_back_is_said(studio, token):
    with Catalog.open(studio) as catalog:
        catalog.update_piece("T-0001", notes="one")
        catalog.update_piece("T-0001", notes="two")
        of_ben = catalog.sign_ins.by_passphrase("Ben", BEN)
    app = studio_of(of_ben)
    assert "Whose it is, or a keeper, may take it back." in said(app)
    assert "Take back" not in {button.label for button in app.button}
    app = studio_of(token)
    next(b for b in reversed([b for b in app.button if b.label == "Take back"][:2])).click()
    app = app.run()
    assert "something newer rests on it" in said(app)
