"""Signing in to the app: whom it asks, what it shows before, and the commands about people."""

import io
import json
import re
from pathlib import Path

import pytest
import streamlit as st
from argon2 import PasswordHasher
from streamlit.testing.v1 import AppTest

from app import cli, signed_in
from app.server import is_loopback, server_command
from catalog.people.passphrase import PassphraseHasher
from catalog.store import Catalog

MAIN = str(Path(__file__).parents[2] / "app" / "main.py")
EVERYWHERE = "0.0.0.0"  # noqa: S104 - what must not be taken for this computer
ANA, BEN = "old clay under the stairs", "blue kettle on a sill"


@pytest.fixture(autouse=True)
def quick(monkeypatch) -> None:
    """The hash's cost is looked at elsewhere."""
    weak = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    monkeypatch.setattr(PassphraseHasher, "_hasher", weak)


@pytest.fixture
def shared(studio: Path) -> Path:
    with Catalog.open(studio) as catalog:
        catalog.people.add("Ana", "keeper", passphrase=ANA)
        catalog.people.add("Ben", "reader", passphrase=BEN)
    return studio


def started() -> AppTest:
    return AppTest.from_file(MAIN, default_timeout=60).run()


def said(app: AppTest) -> str:
    texts = [element.value for kind in ("title", "markdown", "caption") for element in app.get(kind)]
    texts += [element.proto.body for element in app.get("html") if "<style>" not in element.proto.body]
    return re.sub(r"<[^>]+>", " ", "\n".join(str(text) for text in texts))


def sign_in(app: AppTest, name: str, passphrase: str) -> AppTest:
    app.text_input[0].input(name)
    app.text_input[1].input(passphrase)
    return app.button[0].click().run()


def is_asking(app: AppTest) -> bool:
    return [title.value for title in app.title] == ["Sign in"]


def test_one_potter_on_this_computer_is_asked_nothing(studio):
    assert not is_asking(started())


@pytest.mark.usefixtures("studio")
@pytest.mark.parametrize("address", [EVERYWHERE, "192.0.2.7", "::", "", None, "clay.example"])
def test_beyond_this_computer_nothing_is_shown_and_the_way_to_a_keeper_is(address, monkeypatch):
    real = st.get_option
    monkeypatch.setattr(st, "get_option", lambda name: address if name == "server.address" else real(name))
    app = started()
    assert is_asking(app)
    assert "glostbook people add NAME --role keeper" in said(app)
    assert not app.text_input
    assert not app.button
    assert not re.search(r"T-000\d|Shell white|stoneware", said(app))


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "localhost", "::1", "[::1]", "LOCALHOST"])
def test_loopback_is_known_by_its_addresses(host):
    assert is_loopback(host)


@pytest.mark.parametrize(
    "host", [EVERYWHERE, "::", "10.0.0.1", "localhost.example.org", "127.0.0.1.example.org", "1"]
)
def test_all_else_is_beyond_it(host):
    assert not is_loopback(host)


@pytest.mark.parametrize(
    ("called", "beyond"),
    [
        *[(here, False) for here in ("localhost:8501", "127.0.0.1:8501", "[::1]:8501", "")],
        *[(name, True) for name in ("studio.example.org", "192.0.2.7:8501", "rebound.example:8501")],
    ],
)
def test_called_by_another_name_the_app_asks_too(called, beyond, monkeypatch):
    """Through a proxy, or led here by a foreign page that gave this computer a name of its own."""
    context = type("Context", (), {"headers": {"Host": called} if called else {}})()
    monkeypatch.setattr(signed_in.st, "context", context)
    monkeypatch.setattr(signed_in.st, "get_option", lambda _: "127.0.0.1")
    assert signed_in.beyond_loopback() is beyond


@pytest.mark.usefixtures("shared")
def test_where_there_are_people_nothing_is_shown_before_signing_in():
    app = started()
    assert is_asking(app)
    assert not re.search(r"T-000\d|Shell white|Ana|Ben", said(app))
    app = sign_in(app, "Ana", "a wrong one, all the same")
    assert is_asking(app)
    assert "do not belong together" in said(app)
    app = sign_in(app, "ana", ANA)
    assert not is_asking(app)
    studio = app.switch_page("views/studio.py").run()
    assert "signed in as **Ana**, keeper" in said(studio)
    next(button for button in studio.button if button.label == "Sign out").click()
    assert is_asking(studio.run())


@pytest.mark.usefixtures("shared")
@pytest.mark.parametrize(
    "view", ["bench", "unload", "match", "why", "glazes", "firings", "ware", "print", "studio"]
)
def test_no_view_is_a_way_round_signing_in(view):
    app = AppTest.from_file(MAIN, default_timeout=60)
    app.query_params["piece"] = "T-0005"
    app = app.switch_page(f"views/{view}.py").run()
    assert is_asking(app)
    assert not re.search(r"T-000\d|Shell white|Ana|Ben", said(app))


@pytest.mark.usefixtures("shared")
def test_wrong_passphrases_make_one_wait():
    app = started()
    for _ in range(5):
        app = sign_in(app, "Ana", "a wrong one, all the same")
    app = sign_in(app, "Ana", ANA)
    assert is_asking(app)
    assert "Too many tries." in said(app)
    assert re.search(r"Wait \d+ seconds", said(app))


def test_a_sign_in_that_ended_elsewhere_ends_here(shared, monkeypatch):
    monkeypatch.setattr(signed_in, "_CHECK_EVERY_S", 0.0)
    app = sign_in(started(), "Ben", BEN)
    assert not is_asking(app)
    with Catalog.open(shared) as catalog:
        catalog.people.set_role("Ben", "member")
    assert is_asking(app.run())


def test_a_reader_sees_no_way_to_change_a_piece_and_a_keeper_does(shared, monkeypatch):
    for name, words, sees in (("Ben", BEN, False), ("Ana", ANA, True)):
        app = sign_in(started(), name, words)
        app.session_state["gb_piece"] = "T-0004"
        app = app.switch_page("views/shelf.py").run()
        assert not app.exception
        labels = {button.label for button in app.button}
        assert ("Take it off the shelf" in labels) is sees
        assert ("Your word on it" in {s.value for s in app.subheader}) is sees
        studio = app.switch_page("views/studio.py").run()
        headers = {header.value for header in studio.header}
        assert "What changed" in headers
        assert ("Keep it safe" in headers) is sees


# --- commands


def test_changes_by_the_command_line(studio, capsys):
    assert cli.main(["changes", "--about", "T-0001", "--json"]) == 0
    (change,) = json.loads(capsys.readouterr().out)
    assert change["counts"]["piece added"] == 1
    assert cli.main(["changes", "--undo", str(change["number"])]) == 0
    assert "took back change" in capsys.readouterr().out
    assert cli.main(["changes", "--undo", str(change["number"])]) == 1
    assert "taken back already" in capsys.readouterr().err
    with Catalog.open(studio) as catalog:
        assert "T-0001" not in {piece.code for piece in catalog.pieces()}


@pytest.mark.parametrize(
    ("words", "environment", "written"),
    [
        ((), {}, "computer user pat"),
        (("--by", "Ana"), {}, "Ana"),
        ((), {"GLOSTBOOK_BY": " Ana "}, "Ana"),
        (("--by", "Ana"), {"GLOSTBOOK_BY": "Ben"}, "Ana"),
    ],
)
def test_a_command_writes_who_ran_it_and_asks_for_no_rights(studio, monkeypatch, words, environment, written):
    monkeypatch.setattr("getpass.getuser", lambda: "pat")
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert cli.main([*words, "bucket", "--glaze", "Moss"]) == 0
    with Catalog.open(studio) as catalog:
        (change,) = catalog.changes.list(limit=1)
        assert (change.who, change.counts) == (written, {"bucket added": 1})


def test_where_there_are_people_a_command_is_by_one_of_them_and_what_it_makes_is_theirs(shared, capsys):
    assert cli.main(["--by", "ben", "bucket", "--glaze", "Moss"]) == 0  # a reader in the app
    assert cli.main(["--by", "Bem", "bucket", "--glaze", "Slate"]) == 1
    assert "There is Ana, Ben." in capsys.readouterr().err
    with Catalog.open(shared) as catalog:
        assert [c.who for c in catalog.changes.list(limit=1)] == ["Ben"]
        assert [bucket.name for bucket in catalog.bench.buckets()] == ["Moss"]
        catalog.people.set_role("Ben", "member")
        ben = catalog.acting_as(catalog.people.named("Ben"))
        assert ben.bench.weigh_bucket("B-0001", 1.4).gravity == 1.4


def test_a_computer_without_logins_still_runs_commands(studio, monkeypatch):
    def nobody():
        raise OSError("No username set in the environment")

    monkeypatch.setattr("getpass.getuser", nobody)
    assert cli.main(["bucket", "--glaze", "Moss"]) == 0
    with Catalog.open(studio) as catalog:
        assert catalog.changes.list(limit=1)[0].who == "computer user"


def ran(monkeypatch, capsys, *words: str, given: str = "") -> tuple[int, str, str]:
    monkeypatch.setattr("sys.stdin", io.StringIO(given))
    code = cli.main(["people", *words])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.usefixtures("empty_home")
def test_people_by_the_command_line(monkeypatch, capsys):
    assert "Nobody yet" in ran(monkeypatch, capsys)[2]
    code, out, err = ran(monkeypatch, capsys, "add", "Ana", "--role", "keeper", given=f"{ANA}\n")
    assert (code, out) == (0, "Ana\tkeeper\n")
    assert ANA not in out + err
    code, _, err = ran(monkeypatch, capsys, "add", "Ben", "--role", "member", given="short\n")
    assert code == 1
    assert "at least 15" in err
    assert "short" not in err
    assert ran(monkeypatch, capsys, "add", "Ben", "--role", "member", given=f"{BEN}\n")[0] == 0
    assert ran(monkeypatch, capsys, "role", "Ben", "reader")[1] == "Ben\treader\n"
    assert ran(monkeypatch, capsys, "passphrase", "Ben", given="another five words or so\n")[0] == 0
    code, _, err = ran(monkeypatch, capsys, "leave", "Ana")
    assert code == 1
    assert "keeper" in err
    assert ran(monkeypatch, capsys, "leave", "Ben")[0] == 0
    assert ran(monkeypatch, capsys)[1] == "Ana\tkeeper\n"
    assert "Ben\treader\tleft" in ran(monkeypatch, capsys, "--left")[1]


def test_no_command_takes_a_passphrase_as_a_word():
    """Words of a command stand in the shell's history and in the list of what runs."""
    parser = cli.build_parser()
    with pytest.raises(SystemExit):
        parser.parse_args(["people", "add", "Ana", "--role", "keeper", "--passphrase", ANA])


@pytest.mark.usefixtures("empty_home")
def test_open_beyond_this_computer_wants_a_keeper_first(capsys):
    assert cli.main(["open", "--host", EVERYWHERE, "--no-browser"]) == 1
    assert "glostbook people add NAME --role keeper" in capsys.readouterr().err
    assert cli.main(["open", "--certificate", "here.pem"]) == 2


def test_the_server_listens_where_it_is_told_and_by_default_here_only():
    assert "--server.address=127.0.0.1" in server_command(8501)
    told = server_command(8501, EVERYWHERE, ("a.pem", "b.pem"))
    assert {"--server.address=0.0.0.0", "--server.sslCertFile=a.pem", "--server.sslKeyFile=b.pem"} <= set(
        told
    )
