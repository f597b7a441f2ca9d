"""Who may ask, how much, and what a browser may do with the answer."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from collections import deque
from collections.abc import Iterable
from typing import Protocol

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection, Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "; ".join(
    (
        "default-src 'none'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "media-src 'self' data: blob:",
        "script-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # "no-referrer" would make the Origin of our own forms null
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}
NO_ENTRY = "Open the address that was shown when the pages were started."
WRONG, WRONG_IN = 20, 60.0  # so many wrong codes in so many s, then guessing is turned away
SAFE = frozenset({"GET", "HEAD"})


class Keys(Protocol):
    """Who may enter, and who is inside."""

    def admit(self, given: str) -> str | None:
        """The cookie for somebody who brings this secret; None where it does not fit."""

    def knows(self, cookie: str) -> bool: ...


class StandingKey:
    """One secret for as long as the server runs.

    Args:
        secret: at least 128 random bits, as URL-safe text.
    """

    def __init__(self, secret: str) -> None:
        self._secret = secret
        self._cookie = _derived(secret, "cookie")  # not the secret, which stands in the address

    def admit(self, given: str) -> str | None:
        return self._cookie if _same(given, self._secret) else None

    def knows(self, cookie: str) -> bool:
        return _same(cookie, self._cookie)


class OneTimeCodes:
    """Codes that each let one device in, once."""

    def __init__(self) -> None:
        self._codes: set[str] = set()
        self._cookies: set[str] = set()
        self._turn = threading.Lock()

    def fresh(self) -> str:
        """A new code of 128 random bits; the ones not used so far become void."""
        code = secrets.token_urlsafe(16)
        with self._turn:
            self._codes = {code}
        return code

    def admit(self, given: str) -> str | None:
        with self._turn:
            code = next((code for code in self._codes if _same(given, code)), None)
            if code is None:
                return None
            self._codes.discard(code)
            cookie = secrets.token_urlsafe(24)
            self._cookies.add(cookie)
            return cookie

    def knows(self, cookie: str) -> bool:
        with self._turn:
            return any(_same(cookie, known) for known in self._cookies)


class Guard:
    """Lets a request through only with the secret, from this site, and of a bounded size.

    - The Host must be one that we serve: a foreign name pointed at this address is refused.
    - ``/enter/<secret>`` trades the secret for a cookie that scripts cannot read and that other
      sites' pages cannot send; nothing else answers without it. Guessing is slowed down.
    - What changes something must come from our own page: Origin and Sec-Fetch-Site, where the
      browser sends them, and the form's own token or, from our scripts, a header of ours, which
      another site's page cannot set.
    - A body larger than ``largest`` bytes is refused before it is read, or while it is.

    Args:
        hosts: names and addresses we serve under, without the port.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        keys: Keys,
        hosts: Iterable[str],
        largest: int = 64 * 1024,
        cookie: str = "fieldnote",
    ) -> None:
        self.app = app
        self.keys = keys
        self.hosts = frozenset(hosts)
        self.largest = largest
        self.cookie = cookie
        self._wrong: deque[float] = deque(maxlen=WRONG)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        refusal = self._refusal(request)
        guarded = _with_headers(send)
        if refusal is not None:
            await refusal(scope, receive, guarded)
            return
        entering = request.url.path.removeprefix("/enter/")
        if entering != request.url.path:
            await self._enter(entering, request)(scope, receive, guarded)
            return
        scope["form_token"] = form_token(request.cookies.get(self.cookie, ""))
        try:
            await self.app(scope, _bounded(receive, self.largest), guarded)
        except TooLargeError:
            await _refuse(413, "That is too large.")(scope, receive, guarded)

    def _refusal(self, request: Request) -> Response | None:
        headers = request.headers
        if _host(headers) not in self.hosts:
            return _refuse(421, "This address is not served here.")
        if request.url.path.startswith("/enter/"):
            return None if request.method in SAFE else _refuse(405, "Open this with a browser.")
        if not self._knows(request):
            return _refuse(403, NO_ENTRY)
        length = headers.get("content-length")
        if length is not None and (not length.isdecimal() or int(length) > self.largest):
            return _refuse(413, "That is too large.")
        if request.method not in SAFE and not _from_here(request):
            return _refuse(403, "This came from another site and was not carried out.")
        return None

    def _knows(self, request: HTTPConnection) -> bool:
        return self.keys.knows(request.cookies.get(self.cookie, ""))

    def _enter(self, given: str, request: Request) -> Response:
        cookie = self.keys.admit(given)
        if cookie is None:
            now = time.monotonic()
            busy = len(self._wrong) == WRONG and now - self._wrong[0] < WRONG_IN
            self._wrong.append(now)
            return _refuse(429, "Too many wrong codes; wait.") if busy else _refuse(403, NO_ENTRY)
        response = RedirectResponse("/", status_code=303)
        response.set_cookie(
            self.cookie,
            cookie,
            httponly=True,
            samesite="strict",
            secure=request.url.scheme == "https",
            path="/",
        )
        return response


class TooLargeError(Exception):
    """The body grew over what is allowed."""


def form_token(cookie: str) -> str:
    """What our own forms carry: it belongs to the cookie, which no other site can read."""
    return _derived(cookie, "form")


def _same(one: str, other: str) -> bool:
    return hmac.compare_digest(one.encode(), other.encode())


def _derived(secret: str, use: str) -> str:
    return hmac.new(secret.encode(), use.encode(), hashlib.sha256).hexdigest()


def _host(headers: Headers) -> str:
    host = headers.get("host", "")
    return host.rpartition("]")[0].lstrip("[") if host.startswith("[") else host.partition(":")[0]


def _from_here(request: Request) -> bool:
    site = request.headers.get("sec-fetch-site")
    if site is not None and site != "same-origin":
        return False
    origin = request.headers.get("origin")
    return origin is None or origin == f"{request.url.scheme}://{request.headers.get('host')}"


def _refuse(status: int, words: str) -> Response:
    return PlainTextResponse(words, status_code=status)


def _bounded(receive: Receive, largest: int) -> Receive:
    taken = 0

    async def receive_some() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > largest:
            raise TooLargeError
        return message

    return receive_some


def _with_headers(send: Send) -> Send:
    async def send_guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return send_guarded
