"""A studio whose every name is HTML, Markdown and a picture's address, seen in a real browser.

Neither the browser nor the server may call anybody outside this computer, and nothing typed may become more
than letters: no script runs, no picture, formula or colour is drawn.
"""

import json
import os
import sqlite3
from pathlib import Path

import pytest
from playwright.sync_api import Page

from catalog.home import DATABASE_NAME
from catalog.store import Catalog
from tests.app import conftest as made_up
from tests.app.nasty_studio import CODE, make_nasty
from tests.browser.driving import go, opened_page, served

pytestmark = pytest.mark.browser
VIEWS = ("unload", "shelf", "match", "why", "glazes", "firings", "ware", "print", "studio")

WATCH = """
import json, os, sys
OUT = os.environ["GLOSTBOOK_TEST_CALLS"]
def watch(event, args):
    if event == "socket.connect":
        told = args[1]
        if isinstance(told, tuple) and told[0] not in ("127.0.0.1", "::1", "localhost"):
            note(told[:2])
    elif event == "socket.getaddrinfo" and args[0] not in ("127.0.0.1", "::1", "localhost", None, "0.0.0.0"):
        note(args[:2])
    elif event == "urllib.Request" and "//127.0.0.1" not in str(args[0]):
        note([str(args[0])])
def note(told):
    with open(OUT, "a") as file:
        file.write(json.dumps([str(part) for part in told]) + "\\n")
    raise OSError("calls to the outside are off in this test")
sys.addaudithook(watch)
with open(OUT, "a") as file:
    file.write('"watching"\\n')
"""
"""Python runs this at start where it is on the path: every process of the server is watched (PEP 578)."""

STRAY = """() => [
    ...[...document.querySelectorAll('.katex, img[src*="192.0.2.7"], img[alt="i"]')].map(e => e.outerHTML),
    ...[...document.querySelectorAll('script')].filter(e => e.text.includes('ran=1')).map(e => e.text),
    ...[...document.querySelectorAll('b')].filter(e => e.textContent === 'q').map(() => 'a bold q'),
    ...(window.ran ? ['a script ran'] : [])]"""


@pytest.fixture(scope="module")
def watched(tmp_path_factory: pytest.TempPathFactory):
    """Serve the nasty studio with every call of the server's processes written down."""
    folder = tmp_path_factory.mktemp("nasty")
    with Catalog.open(folder / "home") as catalog:
        made_up.fill(catalog)
        make_nasty(catalog)
    (folder / "sitecustomize.py").write_text(WATCH)
    calls = folder / "calls"
    before = {name: os.environ.get(name) for name in ("PYTHONPATH", "GLOSTBOOK_TEST_CALLS")}
    os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, (str(folder), before["PYTHONPATH"])))
    os.environ["GLOSTBOOK_TEST_CALLS"] = str(calls)
    try:
        with served(folder / "home") as address:
            yield address, calls, folder / "home"
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def look(page: Page, address: str, path: str) -> None:
    go(page, address, path)
    assert page.evaluate(STRAY) == []


def test_nothing_typed_acts_and_nobody_is_called(watched, browser) -> None:
    address, calls, home = watched
    with opened_page(browser) as page:
        for view in VIEWS:
            look(page, address, view)
        for view in ("shelf", "why", "ware"):
            page.goto(f"{address}/{view}?piece=T-0005{CODE.replace('$', '%24').replace('<', '%3C')}")
            page.get_by_role("heading").first.wait_for()
            page.wait_for_timeout(1500)
            assert page.evaluate(STRAY) == []
        look(page, address, "shelf")
        assert page.get_by_text("T-0005$x$*z*<b>").count() >= 1
    told = [json.loads(line) for line in calls.read_text().splitlines()]
    assert "watching" in told, "the server's processes were not watched"
    assert [line for line in told if line != "watching"] == []
    with sqlite3.connect(home / DATABASE_NAME) as database:
        assert database.execute("SELECT count(*) FROM piece").fetchone() == (6,)
    database.close()


def test_the_watch_sees_a_call(tmp_path: Path) -> None:
    """The guard itself: a process that calls outside is written down."""
    import subprocess
    import sys

    (tmp_path / "sitecustomize.py").write_text(WATCH)
    environment = {
        **os.environ,
        "PYTHONPATH": str(tmp_path),
        "GLOSTBOOK_TEST_CALLS": str(tmp_path / "calls"),
    }
    code = "import socket; socket.socket().connect(('192.0.2.7', 80))"
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=False
    )
    assert "calls to the outside are off" in done.stderr
    assert '["192.0.2.7", "80"]' in (tmp_path / "calls").read_text()
