"""Signing in in a real browser: what is shown before, a reload that asks nobody again, limits, the end."""

from datetime import timedelta

import pytest

from catalog.people.errors import WrongSignInError
from catalog.people.tables import SignInRow
from catalog.store import Catalog
from tests.app.conftest import fill
from tests.browser.driving import PHONE, go, opened_page, overflow_px, served, settle

pytestmark = pytest.mark.browser

ANA, BEN = "old clay under the stairs", "blue kettle on a sill"


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    place = tmp_path_factory.mktemp("shared") / "home"
    with Catalog.open(place) as catalog:
        fill(catalog)
        catalog.people.add("Ana", "keeper", passphrase=ANA)
        catalog.people.add("Ben", "reader", passphrase=BEN)
    return place


@pytest.fixture(scope="module")
def address(home):
    with served(home) as where:
        yield where


def asks(page) -> None:
    page.get_by_role("heading", name="Sign in", exact=True).wait_for()
    settle(page)


def sign_in(page, name: str, passphrase: str) -> None:
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Passphrase", exact=True).fill(passphrase)
    page.get_by_role("button", name="Sign in", exact=True).click()


def sign_in_again(page, name: str, passphrase: str) -> None:
    """Sign in on the Studio's address, and see there who it was and that the browser keeps it."""
    before = page.evaluate("document.cookie")
    sign_in(page, name, passphrase)
    page.get_by_text("You are signed in as").wait_for()
    page.wait_for_function("before => document.cookie && document.cookie !== before", arg=before)


def age(home, column: str, step: timedelta) -> None:
    """Make every sign-in older."""
    with Catalog.open(home) as catalog, catalog.database.writing() as session:
        for row in session.query(SignInRow):
            setattr(row, column, getattr(row, column) - step)


def test_signing_in_from_the_first_page_to_the_end(home, address, browser):
    with opened_page(browser, PHONE) as page:
        page.goto(f"{address}/shelf")
        asks(page)
        shown = page.locator("body").inner_text()
        assert not any(word in shown for word in ("T-0001", "stoneware", "Ana", "Ben"))
        assert overflow_px(page) <= 0
        sign_in(page, "Ana", "a wrong one, all the same")
        page.get_by_text("do not belong together").wait_for()
        sign_in(page, "ana", ANA)
        page.get_by_role("heading", name="Shelf", exact=True).wait_for()
        page.wait_for_function("document.cookie.includes('glostbook_sign_in=')")
        kept = {cookie["name"]: cookie for cookie in page.context.cookies()}["glostbook_sign_in"]
        assert kept["sameSite"] == "Strict"
        go(page, address, "studio")  # loaded anew: the cookie speaks for her
        page.get_by_text("You are signed in as").wait_for()
        assert kept["value"] not in (home.parent / "server.log").read_text()

        for column, step in (("seen_at", timedelta(minutes=61)), ("made_at", timedelta(hours=13))):
            age(home, column, step)
            page.reload()
            asks(page)
            sign_in_again(page, "Ana", ANA)

        page.get_by_role("button", name="Sign out").click()
        asks(page)
        page.reload()
        asks(page)
        with Catalog.open(home) as catalog:
            for _ in range(5):  # as in five other browsers
                with pytest.raises(WrongSignInError):
                    catalog.sign_ins.by_passphrase("Ben", "a wrong one, all the same")
        sign_in(page, "Ben", BEN)
        page.get_by_text("Too many tries.").wait_for()


def test_a_view_is_no_way_round_signing_in(address, browser):
    """All views are behind one door; whether each of them is, the tests without a browser look."""
    with opened_page(browser) as page:
        for path in ("", "why?piece=T-0005", "print?sheet=Labels"):
            page.goto(f"{address}/{path}")
            asks(page)
            assert "T-000" not in page.locator("body").inner_text()
