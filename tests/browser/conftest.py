"""One browser for each file of browser tests."""

import pytest

from tests.browser.driving import opened_tab


@pytest.fixture(scope="module")
def browser():
    with opened_tab() as opened:
        yield opened
