"""The app served from a catalogue of its own and driven in Debian's chromium. Used by the browser tests."""

import os
import re
import shutil
import subprocess
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from app.server import server_command, server_environment
from tests.catalog.object_store import free_port

PATIENCE_MS = 40_000
WIDE, PHONE = (1280, 900), (390, 844)
LOCALE, BLANK = "en-GB", "about:blank"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]


def chromium() -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        if os.environ.get("CI"):
            pytest.fail("CI is set, yet no chromium is installed: apt-get install chromium")
        pytest.skip("no chromium on this computer: apt-get install chromium")
    return found


@contextmanager
def served(home: Path, environment: Callable[[int], dict[str, str]] | None = None) -> Iterator[str]:
    """Serve the app on a port that the system picks, so that tests side by side differ; gives its address.

    `environment` is told the port and gives more variables for the server.
    """
    port = free_port()
    more = {} if environment is None else environment(port)
    log = home.parent / "server.log"
    with log.open("w") as out:
        server = subprocess.Popen(
            server_command(port),
            env={**server_environment(), "GLOSTBOOK_HOME": str(home), **more},
            stdout=out,
            stderr=out,
        )
    try:
        _wait_until_up(server, port, log)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        try:
            server.wait(timeout=10)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()


def _wait_until_up(server: subprocess.Popen, port: int, log: Path) -> None:
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        if server.poll() is not None:
            pytest.fail(f"the app did not start:\n{log.read_text()}")
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health", timeout=2):
                return
        except OSError:
            time.sleep(0.2)
    pytest.fail(f"the app was not up after 60 s:\n{log.read_text()}")


@contextmanager
def opened_browser():
    """A browser that has never seen the app: each page of it fetches and compiles all anew."""
    from playwright.sync_api import sync_playwright

    path = chromium()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@contextmanager
def opened_tab():
    """A browser with one tab, used page after page: it keeps the app's scripts, as a potter's own does.

    Each page costs half the processor time that one of `opened_browser` does. `opened_page` empties it of
    cookies and of what scripts stored, before the next.
    """
    from playwright.sync_api import sync_playwright

    path = chromium()
    with sync_playwright() as playwright, TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        tab = playwright.chromium.launch_persistent_context(
            profile, executable_path=path, args=FLAGS, locale=LOCALE
        )
        yield tab
        tab.close()


@contextmanager
def opened_page(browser, size: tuple[int, int] = WIDE, scheme: str = "light"):
    """A page of its own; fails when anything outside this computer was called."""
    viewport = {"width": size[0], "height": size[1]}
    kept = hasattr(browser, "pages")
    if kept:
        page = browser.pages[0]
        assert page.url == BLANK, "the one tab is in use"
        page.set_viewport_size(viewport)
        page.emulate_media(color_scheme=scheme)
    else:
        page = browser.new_page(viewport=viewport, color_scheme=scheme, locale=LOCALE)
    page.set_default_timeout(PATIENCE_MS)
    outside: list[str] = []

    def watch(request) -> None:
        if not _is_local(request.url):
            outside.append(request.url)

    page.on("request", watch)
    try:
        yield page
    finally:
        page.remove_listener("request", watch)
        if kept:
            page.evaluate("() => { localStorage.clear(); sessionStorage.clear(); }")
            page.goto(BLANK)
            browser.clear_cookies()
        else:
            page.close()
    assert not outside, f"calls to the outside: {outside}"


def _is_local(url: str) -> bool:
    return bool(re.match(r"(https?|wss?)://127\.0\.0\.1[:/]|data:|blob:|about:", url))


def settle(page) -> None:
    """Wait until the script has run and nothing is stale."""
    page.wait_for_timeout(250)
    page.locator('[data-testid="stApp"][data-test-script-state="notRunning"]').wait_for()
    page.wait_for_function("() => !document.querySelector('[data-testid=\"stSkeleton\"]')")
    page.wait_for_timeout(150)


def go(page, address: str, path: str) -> None:
    """Open a view by its address."""
    page.goto(f"{address}/{path}")
    name = path.split("?")[0].capitalize()
    heading = (
        page.get_by_role("heading") if "?" in path else page.get_by_role("heading", name=name, exact=True)
    )
    heading.first.wait_for()
    settle(page)


def overflow_px(page) -> float:
    """How far the page can be scrolled sideways, the page itself and its main column."""
    return page.evaluate(
        """() => Math.max(...[document.scrollingElement, document.querySelector('[data-testid="stMain"]')]
        .filter(Boolean).map(e => e.scrollWidth - e.clientWidth))"""
    )
