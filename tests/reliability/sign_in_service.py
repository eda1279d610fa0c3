"""A sign-in service of the tests' own, on this computer: OpenID Connect's code flow as far as a sign-in goes.

It offers a page with the accounts it knows and signs its tokens with a key made anew (RS256). It refuses an
unknown client or way back, a code used twice, a wrong secret or proof of key, as OpenID Connect Core 1.0 and
RFC 6749 and 7636 say (from memory).
"""

from __future__ import annotations

import base64
import hashlib
import json
import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, quote, urlencode, urlsplit

from joserfc import jwt
from joserfc.jwk import RSAKey

CLIENT, SECRET = "glostbook-tests", "a secret of the tests"

ACCOUNTS = {
    "ana@example.org": True,
    "stranger@example.org": True,
    "ben@example.org": False,
}
"""The accounts, and whether the service has seen to it that the address is theirs."""


class Service(ThreadingHTTPServer):
    """The service; `way_back` is the one address that it sends people back to."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.here = f"http://127.0.0.1:{self.server_port}"
        self.way_back = ""
        self.key = RSAKey.generate_key(2048, {"kid": "tests", "use": "sig", "alg": "RS256"})
        self.asked: dict[str, dict[str, str]] = {}
        self.log: list[str] = []

    def id_token(self, asked: dict[str, str]) -> str:
        now = int(time.time())
        claims = {
            "iss": self.here,
            "aud": CLIENT,
            "sub": hashlib.sha256(asked["email"].encode()).hexdigest(),
            "iat": now,
            "exp": now + 300,
            "nonce": asked.get("nonce"),
            "email": asked["email"],
            "email_verified": ACCOUNTS[asked["email"]],
            "name": asked["email"].partition("@")[0].capitalize(),
        }
        return jwt.encode({"alg": "RS256", "kid": "tests"}, claims, self.key)


class _Handler(BaseHTTPRequestHandler):
    server: Service

    def log_message(self, form: str, *values: object) -> None:
        self.server.log.append(f"{self.command} {urlsplit(self.path).path}")

    def do_GET(self) -> None:
        address = urlsplit(self.path)
        asked = {name: given[0] for name, given in parse_qs(address.query).items()}
        ways = {
            "/.well-known/openid-configuration": self._about,
            "/jwks": self._keys,
            "/authorize": self._page,
            "/chosen": self._chosen,
            "/end": self._end,
        }
        way = ways.get(address.path)
        self._say(404, "text/plain", "nothing here") if way is None else way(asked)

    def do_POST(self) -> None:
        size = int(self.headers.get("Content-Length", 0))
        given = {name: each[0] for name, each in parse_qs(self.rfile.read(size).decode()).items()}
        self._token(given) if self.path == "/token" else self._say(404, "text/plain", "nothing here")

    def _about(self, _asked: dict[str, str]) -> None:
        here = self.server.here
        self._json(
            200,
            {
                "issuer": here,
                "authorization_endpoint": f"{here}/authorize",
                "token_endpoint": f"{here}/token",
                "jwks_uri": f"{here}/jwks",
                "end_session_endpoint": f"{here}/end",
                "response_types_supported": ["code"],
                "subject_types_supported": ["public"],
                "id_token_signing_alg_values_supported": ["RS256"],
                "code_challenge_methods_supported": ["S256"],
            },
        )

    def _keys(self, _asked: dict[str, str]) -> None:
        self._json(200, {"keys": [self.server.key.as_dict(private=False)]})

    def _page(self, asked: dict[str, str]) -> None:
        wanted = (asked.get("client_id"), asked.get("redirect_uri"), asked.get("response_type"))
        if wanted != (CLIENT, self.server.way_back, "code") or asked.get("code_challenge_method") != "S256":
            self._say(400, "text/plain", "this is not a sign-in that I know of")
            return
        links = "".join(
            f'<p><a href="/chosen?{escape(urlencode({**asked, "email": email}))}">{email}</a></p>'
            for email in ACCOUNTS
        )
        self._say(200, "text/html", f"<h1>Choose an account</h1>{links}")

    def _chosen(self, asked: dict[str, str]) -> None:
        code = secrets.token_urlsafe(16)
        self.server.asked[code] = asked
        self._go(f"{self.server.way_back}?{urlencode({'code': code, 'state': asked['state']})}")

    def _token(self, given: dict[str, str]) -> None:
        asked = self.server.asked.pop(given.get("code", ""), None)
        proof = hashlib.sha256(given.get("code_verifier", "").encode()).digest()
        pair = base64.b64encode(f"{quote(CLIENT)}:{quote(SECRET)}".encode()).decode()
        raw = base64.b64encode(f"{CLIENT}:{SECRET}".encode()).decode()
        if self.headers.get("Authorization") not in (f"Basic {pair}", f"Basic {raw}"):
            self._json(401, {"error": "invalid_client"})
        elif (
            asked is None
            or given.get("redirect_uri") != self.server.way_back
            or base64.urlsafe_b64encode(proof).decode().rstrip("=") != asked["code_challenge"]
        ):
            self._json(400, {"error": "invalid_grant"})
        else:
            self._json(
                200,
                {
                    "access_token": secrets.token_urlsafe(16),
                    "token_type": "Bearer",
                    "expires_in": 300,
                    "id_token": self.server.id_token(asked),
                },
            )

    def _end(self, asked: dict[str, str]) -> None:
        self._go(asked.get("post_logout_redirect_uri", self.server.way_back))

    def _go(self, where: str) -> None:
        self.send_response(302)
        self.send_header("Location", where)
        self.end_headers()

    def _json(self, status: int, value: object) -> None:
        self._say(status, "application/json", json.dumps(value))

    def _say(self, status: int, kind: str, words: str) -> None:
        data = words.encode()
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)


@contextmanager
def sign_in_service() -> Iterator[Service]:
    """Run the service while it is needed."""
    with Service() as service:
        thread = threading.Thread(target=service.serve_forever, daemon=True)
        thread.start()
        try:
            yield service
        finally:
            service.shutdown()
            thread.join()


def settings(service: Service, port: int) -> str:
    """Give the settings file by which the app, on that port, uses the service."""
    service.way_back = f"http://127.0.0.1:{port}/oauth2callback"
    return (
        "[auth]\n"
        f'redirect_uri = "{service.way_back}"\n'
        f'cookie_secret = "{secrets.token_urlsafe(32)}"\n'
        f'client_id = "{CLIENT}"\n'
        f'client_secret = "{SECRET}"\n'
        f'server_metadata_url = "{service.here}/.well-known/openid-configuration"\n'
    )
