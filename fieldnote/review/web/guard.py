"""Who may ask, how much, and what a browser may do with the answer."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Iterable

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
SAFE = frozenset({"GET", "HEAD"})


class Guard:
    """Lets a request through only with the secret, from this site, and of a bounded size.

    - The Host must be one that we serve: a foreign name pointed at this address is refused.
    - ``/enter/<secret>`` trades the secret for a cookie that scripts cannot read and that other
      sites' pages cannot send; nothing else answers without it.
    - What changes something must come from our own page (Origin and Sec-Fetch-Site, where the
      browser sends them) and carry the form's own token or, for scripts, our header.
    - A body larger than ``largest`` bytes is refused before it is read, or while it is.

    Args:
        secret: at least 128 random bits, as URL-safe text.
        hosts: names and addresses we serve under, without the port; None leaves the check out.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        secret: str,
        hosts: Iterable[str] | None,
        largest: int = 64 * 1024,
        cookie: str = "fieldnote",
    ) -> None:
        self.app = app
        self.secret = secret
        self.hosts = None if hosts is None else frozenset(hosts)
        self.largest = largest
        self.cookie = cookie

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
        scope["form_token"] = form_token(self.secret)
        try:
            await self.app(scope, _bounded(receive, self.largest), guarded)
        except TooLargeError:
            await _refuse(413, "That is too large.")(scope, receive, guarded)

    def _refusal(self, request: Request) -> Response | None:
        headers = request.headers
        if self.hosts is not None and _host(headers) not in self.hosts:
            return _refuse(421, "This address is not served here.")
        if request.url.path.startswith("/enter/"):
            return None if request.method in SAFE else _refuse(405, "Open this with a browser.")
        if not self._knows(request):
            return _refuse(403, "Open the address that was printed when the server started.")
        length = headers.get("content-length")
        if length is not None and (not length.isdecimal() or int(length) > self.largest):
            return _refuse(413, "That is too large.")
        if request.method not in SAFE and not _from_here(request):
            return _refuse(403, "This came from another site and was not carried out.")
        return None

    def _knows(self, request: HTTPConnection) -> bool:
        given = request.cookies.get(self.cookie, "")
        return hmac.compare_digest(given.encode(), session_of(self.secret).encode())

    def _enter(self, given: str, request: Request) -> Response:
        if not hmac.compare_digest(given.encode(), self.secret.encode()):
            return _refuse(403, "Open the address that was printed when the server started.")
        response = RedirectResponse("/", status_code=303)
        response.set_cookie(
            self.cookie,
            session_of(self.secret),
            httponly=True,
            samesite="strict",
            secure=request.url.scheme == "https",
            path="/",
        )
        return response


class TooLargeError(Exception):
    """The body grew over what is allowed."""


def session_of(secret: str) -> str:
    """What the cookie holds: not the secret itself, which stands in the address."""
    return _derived(secret, "cookie")


def form_token(secret: str) -> str:
    """What our own forms carry."""
    return _derived(secret, "form")


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
