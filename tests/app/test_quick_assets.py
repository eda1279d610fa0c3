"""Streamlit's files sent from memory: the same bytes as on disk, and nothing but those."""

import asyncio
import re
from pathlib import Path

import pytest
from streamlit import file_util

from app.quick_assets import QuickAssets, announced

STATIC = Path(file_util.get_static_dir())


async def _inner(scope, receive, send):
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-type", b"text/html")]})
    await send({"type": "http.response.body", "body": b"inner"})


def ask(path, headers=(), method="GET"):
    """Give headers and body of the answer."""
    sent = []

    async def send(message):
        sent.append(message)

    scope = {"type": "http", "method": method, "path": path, "headers": list(headers)}
    asyncio.run(QuickAssets(_inner)(scope, None, send))
    return dict(sent[0]["headers"]), sent[1]["body"]


def test_every_script_and_style_file_comes_as_it_is_on_disk() -> None:
    files = [path for path in (STATIC / "static").glob("*/*") if path.suffix in (".js", ".css", ".woff2")]
    assert len(files) > 100
    for path in files[::25]:
        headers, body = ask(f"/static/{path.parent.name}/{path.name}")
        assert body == path.read_bytes()
        assert int(headers[b"content-length"]) == len(body)
        assert b"immutable" in headers[b"cache-control"]


@pytest.mark.parametrize(
    "path",
    ["/shelf", "/static/js/none.js", "/static/js/../index.html", "/static/../../etc/passwd", "/static/js/"],
)
def test_all_else_goes_through_to_streamlit(path: str) -> None:
    assert ask(path)[1] == b"inner"


def test_a_part_of_a_file_and_other_methods_go_through() -> None:
    one = next((STATIC / "static" / "js").glob("*.js")).name
    assert ask(f"/static/js/{one}", [(b"range", b"bytes=0-9")])[1] == b"inner"
    assert ask(f"/static/js/{one}", method="HEAD")[1] == b"inner"


def test_the_page_announces_what_the_widgets_import_and_it_is_there() -> None:
    named = re.findall(r"</static/js/([\w.-]+)>; rel=modulepreload", ask("/shelf")[0][b"link"].decode())
    assert named == re.findall(r"/([\w.-]+\.js)>", announced())
    assert any(name.startswith("Selectbox.") for name in named)
    page = (STATIC / "index.html").read_text()
    for name in named:
        text = (STATIC / "static" / "js" / name).read_text()
        for imported in re.findall(r'from"\./([^"]+)"', text):
            assert imported in named or imported in page, f"{name} imports {imported}"
