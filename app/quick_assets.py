"""Streamlit's own script and style files served from memory, and those a view needs announced ahead.

The page's first view is mostly the browser fetching and compiling some hundred small modules. Streamlit sends
each from disk in slices, and the browser learns of the widgets' modules only when the first widget arrives.
Here the files are sent whole from memory, and the page's head names the widgets' modules, so that they are
fetched and compiled while the connection is made.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, MutableMapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from streamlit import file_util

__all__ = ["QuickAssets", "announced"]

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Any]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]

_PREFIX = "/static/"
_KINDS = {".js": "text/javascript", ".css": "text/css", ".woff2": "font/woff2"}
_YEAR_S = 31_536_000
WIDGETS = ("Html", "Selectbox", "TextInput", "Checkbox", "Button", "NumberInput", "BidiComponent")
"""Modules of the widgets that most views show at first."""

_IMPORTED = re.compile(r"""(?:from|import)\s*["']\./([\w.-]+\.js)["']""")


class QuickAssets:
    """ASGI middleware: answers for hashed files by itself, lets all else through."""

    def __init__(self, app: Callable[[Scope, Receive, Send], Awaitable[None]]) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http" or scope["method"] != "GET":
            await self._app(scope, receive, send)
            return
        found = _file(scope["path"]) if not _partial(scope) else None
        if found is None:
            await self._app(scope, receive, _announcing(send))
            return
        headers, body = found
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": body})


def _partial(scope: Scope) -> bool:
    return any(name in (b"range", b"if-none-match", b"if-modified-since") for name, _ in scope["headers"])


def _announcing(send: Send) -> Send:
    async def told(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start" and any(
            name.lower() == b"content-type" and value.startswith(b"text/html")
            for name, value in message["headers"]
        ):
            message["headers"] = [*message["headers"], (b"link", announced().encode())]
        await send(message)

    return told


@lru_cache(maxsize=512)
def _file(path: str) -> tuple[list[tuple[bytes, bytes]], bytes] | None:
    name = path.removeprefix(_PREFIX)
    if name == path or not re.fullmatch(r"(js|css|media)/[\w.-]+", name) or Path(name).suffix not in _KINDS:
        return None
    file = _folder() / name
    if not file.is_file():
        return None
    body = file.read_bytes()
    kind = _KINDS[file.suffix]
    headers = [
        (b"content-type", kind.encode()),
        (b"content-length", str(len(body)).encode()),
        (b"cache-control", f"public, immutable, max-age={_YEAR_S}".encode()),
    ]
    return headers, body


def _folder() -> Path:
    return Path(file_util.get_static_dir()) / "static"


@lru_cache(maxsize=1)
def announced() -> str:
    """Give the ``Link`` header that names the widgets' modules and all they import."""
    folder = _folder() / "js"
    page = (_folder().parent / "index.html").read_text(encoding="utf-8")
    named = {path.name: path for path in folder.glob("*.js")}
    waiting = [name for name in named if name.split(".")[0] in WIDGETS]
    found: dict[str, None] = {}
    while waiting:
        name = waiting.pop(0)
        if name in found or name not in named:
            continue
        found[name] = None
        waiting += _IMPORTED.findall(named[name].read_text(encoding="utf-8"))
    late = [name for name in found if name not in page]
    return ", ".join(f"</static/js/{name}>; rel=modulepreload; crossorigin" for name in late)
