"""Who may speak to the program: checks before any route runs.

The program listens on the loopback address only. Other pages in the same browser, other
computers that trick a name into pointing here, and other people's programs on this computer
are kept out by four checks: the Host header must be a loopback name; Origin, where the browser
sends one, must be our own; the page must carry the cookie that the one-time token in the
printed address was changed for; bodies may not be larger than the route needs.
"""

from __future__ import annotations

import hmac
import json
import re
import secrets
import time
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK_NAMES = frozenset({"127.0.0.1", "localhost", "[::1]"})
MOST_JSON_BYTES = 8 * 1024 * 1024
MOST_PHOTO_BYTES = 160 * 1024 * 1024
PHOTO_ROUTE = re.compile(r"/api/(surveys/[^/]+/)?photos")

_SAFETY_HEADERS = (
    (
        b"content-security-policy",
        b"default-src 'self'; img-src 'self' blob: data:; object-src 'none'; base-uri 'none'; "
        b"form-action 'self'; frame-ancestors 'none'",
    ),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
)


class Keys:
    """The one-time token of this start, and the cookie's value.

    Parameters
    ----------
    state_folder : Path
        Where the cookie's value is kept from start to start, readable by the user only, so
        that a page left open finds the program again.
    """

    def __init__(self, state_folder: Path) -> None:
        self._token: str | None = secrets.token_urlsafe(24)
        self.cookie_value = _kept_secret(state_folder / "page-key")

    @property
    def token(self) -> str:
        """Token for the printed address; a new one if the last was used."""
        if self._token is None:
            self._token = secrets.token_urlsafe(24)
        return self._token

    def use_token(self, given: str) -> bool:
        """Take the token once; False for a wrong or used one."""
        right = self._token is not None and hmac.compare_digest(
            given.encode(), self._token.encode()
        )
        if right:
            self._token = None
        return right

    def is_cookie(self, given: str) -> bool:
        """Whether this is the cookie's value."""
        return hmac.compare_digest(given.encode(), self.cookie_value.encode())


def _kept_secret(path: Path) -> str:
    try:
        kept = path.read_text(encoding="ascii").strip()
        if len(kept) >= 32:
            return kept
    except (OSError, UnicodeDecodeError):
        pass
    fresh = secrets.token_urlsafe(32)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)
        path.touch(mode=0o600)
        path.write_text(fresh, encoding="ascii")
    except OSError:
        pass  # a computer that keeps nothing still works until the next start
    return fresh


class Guard:
    """ASGI middleware that lets in only our own page.

    Parameters
    ----------
    app : ASGI application
    keys : Keys
    """

    def __init__(self, app: ASGIApp, keys: Keys) -> None:
        self.app = app
        self.keys = keys

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check, then pass on; say how long it took (`server-timing`)."""
        began_s = time.perf_counter()
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        headers = {key.lower(): value for key, value in scope["headers"]}
        host = headers.get(b"host", b"").decode("latin-1")
        if not _is_loopback(host):
            await _refuse(scope, send, 421, "host", "This address is not the program's own.")
            return
        if _comes_from_elsewhere(headers, host, scope["method"]):
            await _refuse(scope, send, 403, "origin", "Another page may not speak to the program.")
            return
        cookie = f"storeyrod-{host.rpartition(':')[2] if ':' in host else '80'}"
        if not self.keys.is_cookie(_cookie_value(headers.get(b"cookie", b""), cookie)):
            await self._let_in(scope, send, cookie)
            return
        most = MOST_PHOTO_BYTES if PHOTO_ROUTE.fullmatch(scope["path"]) else MOST_JSON_BYTES
        length = headers.get(b"content-length", b"0")
        if not length.isdigit() or int(length) > most:
            await _refuse(scope, send, 413, "too-large", _too_large(most))
            return
        meter = _Meter(receive, most)
        started = False

        async def send_unless_over(message: Message) -> None:
            nonlocal started
            if meter.over and not started:
                return  # whatever the route makes of the broken line, the page is told why
            started = True
            await _with_headers(send, began_s)(message)

        try:
            await self.app(scope, meter.receive, send_unless_over)
        except ClientDisconnect:
            if not meter.over:
                raise
        if meter.over and not started:
            await _refuse(scope, send, 413, "too-large", _too_large(most))

    async def _let_in(self, scope: Scope, send: Send, cookie: str) -> None:
        given = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        if scope["path"] == "/" and scope["method"] == "GET" and self.keys.use_token(given):
            value = f"{cookie}={self.keys.cookie_value}; Path=/; HttpOnly; SameSite=Strict"
            await _answer(send, 303, b"", ((b"location", b"/"), (b"set-cookie", value.encode())))
            return
        await _refuse(
            scope,
            send,
            401,
            "key",
            "This page is not known to the program that is running now.",
            "Open the address that storeyrod printed when it started.",
        )


def _is_loopback(host: str) -> bool:
    name, _, port = host.rpartition(":")
    if not name or not port.isdigit():
        name, port = host, "80"
    return name.lower() in LOOPBACK_NAMES and 0 < int(port) < 65536


def _comes_from_elsewhere(headers: dict[bytes, bytes], host: str, method: str) -> bool:
    origin = headers.get(b"origin")
    if origin is not None:
        parts = urlsplit(origin.decode("latin-1"))
        return parts.scheme != "http" or parts.netloc != host
    site = headers.get(b"sec-fetch-site", b"none")
    if site in (b"same-origin", b"none"):
        return False
    # A link in a mail may open the first page; everything else must come from our own page.
    navigates = headers.get(b"sec-fetch-mode") == b"navigate"
    return not (method == "GET" and navigates)


def _cookie_value(raw: bytes, name: str) -> str:
    try:
        found = SimpleCookie(raw.decode("latin-1")).get(name)
    except CookieError:
        return ""
    return found.value if found else ""


def _too_large(most: int) -> str:
    return f"That is more than the program takes at once ({most // (1024 * 1024)} MB)."


class _Meter:
    """Counts a body while it is received; past its limit the route hears of a broken line."""

    def __init__(self, receive: Receive, most: int) -> None:
        self._receive = receive
        self._most = most
        self._seen = 0
        self.over = False

    async def receive(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._seen += len(message.get("body", b""))
            if self._seen > self._most:
                self.over = True
                return {"type": "http.disconnect"}
        return message


def _with_headers(send: Send, began_s: float) -> Send:
    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            took_ms = 1000.0 * (time.perf_counter() - began_s)
            timing = (b"server-timing", f"all;dur={took_ms:.2f}".encode())
            message = {**message, "headers": [*message["headers"], *_SAFETY_HEADERS, timing]}
        await send(message)

    return with_headers


async def _refuse(
    scope: Scope, send: Send, status: int, code: str, message: str, hint: str = ""
) -> None:
    if scope["path"].startswith("/api/"):
        told = {"code": code, "message": message, "hint": hint, "details": {}}
        body, kind = json.dumps(told).encode(), b"application/json"
    else:
        body = (
            '<!doctype html><html lang="en"><title>storeyrod</title>'
            f"<main><h1>storeyrod</h1><p>{message} {hint}</p></main></html>"
        ).encode()
        kind = b"text/html; charset=utf-8"
    await _answer(send, status, body, ((b"content-type", kind),))


async def _answer(
    send: Send, status: int, body: bytes, headers: tuple[tuple[bytes, bytes], ...]
) -> None:
    length = (b"content-length", str(len(body)).encode())
    all_headers = [*headers, length, *_SAFETY_HEADERS]
    await send({"type": "http.response.start", "status": status, "headers": all_headers})
    await send({"type": "http.response.body", "body": body})
