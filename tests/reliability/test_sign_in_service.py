"""Signing in by a sign-in service (OpenID Connect) in a real browser, through Streamlit's own st.login."""

import pytest

from catalog.store import Catalog
from tests.app.conftest import fill
from tests.browser.driving import opened_browser, opened_page, served, settle
from tests.browser.test_sign_in import BEN, asks
from tests.reliability.sign_in_service import SECRET, settings, sign_in_service

pytestmark = [pytest.mark.browser, pytest.mark.reliability]


@pytest.fixture
def home(tmp_path):
    with Catalog.open(tmp_path / "home") as catalog:
        fill(catalog)
        catalog.people.add("Ana", "keeper", email="Ana@example.org")
        catalog.people.add("Ben", "member", passphrase=BEN, email="ben@example.org")
    return tmp_path / "home"


def choose(page, account: str) -> None:
    page.get_by_role("button", name="Sign in with your account").click()
    page.get_by_role("heading", name="Choose an account").wait_for()
    page.get_by_role("link", name=account).click()


@pytest.mark.filterwarnings("ignore")
def test_who_is_vouched_for_signs_in_and_who_is_not_does_not(home, tmp_path):
    pytest.importorskip("authlib.integrations.starlette_client", reason="the sign-in extra is not installed")
    folder = tmp_path / "user" / ".streamlit"
    folder.mkdir(parents=True)
    with sign_in_service() as service:

        def environment(port: int) -> dict[str, str]:
            (folder / "secrets.toml").write_text(settings(service, port), encoding="utf-8")
            return {"HOME": str(folder.parent)}

        with (
            served(home, environment) as address,
            opened_browser() as browser,
            opened_page(browser) as page,
        ):
            page.goto(f"{address}/studio")
            asks(page)
            assert "example.org" not in page.locator("body").inner_text()
            # One is unknown here; of the other the service does not vouch for the address.
            for account in (
                "stranger@example.org",
                "ben@example.org",
            ):
                choose(page, account)
                page.get_by_text("is not among the people of this catalogue").wait_for()
                settle(page)
                assert "T-0001" not in page.locator("body").inner_text()
                page.get_by_role("button", name="Use another account").click()
                page.get_by_role("button", name="Sign in with your account").wait_for()
                settle(page)
            choose(page, "ana@example.org")
            page.get_by_role("heading", name="Shelf", exact=True).wait_for()
            page.wait_for_function("document.cookie.includes('glostbook_sign_in=')")
            page.goto(f"{address}/studio")
            page.get_by_text("You are signed in as").wait_for()
            assert "Ana, keeper" in page.locator("body").inner_text()
            page.get_by_role("button", name="Sign out").click()
            asks(page)
            page.get_by_role("button", name="Sign in with your account").wait_for()
        assert service.log.count("POST /token") == 3
        said = (home.parent / "server.log").read_text()
        assert SECRET not in said
        assert "ana@example.org" not in said
    with Catalog.open(home) as catalog:
        assert [person.name for person in catalog.people.list()] == ["Ana", "Ben"]
