"""Starting the pages: an address with a secret, printed once, on this machine only."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable

import uvicorn
from starlette.types import ASGIApp

from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog
from fieldnote.review.web.hand import Hands
from fieldnote.review.web.review_app import review_app

LOOPBACK = "127.0.0.1"
MOST_AT_ONCE = 32  # connections; one person reviews, a flood is turned away


def serve_review(
    log: JobLog,
    *,
    hands: Hands | None = None,
    port: int = 0,
    locale: str | None = None,
    ready: Callable[[str], None] = print,
) -> None:
    """Serve the review pages on this machine until interrupted.

    Args:
        hands: who corrects, withdraws and answers; without, the pages only show.
        port: 0 takes a free one.
        ready: is given the address, with its secret, once it can be opened.

    Raises:
        BadInputError: the port is taken or not ours to use.
    """
    secret = secrets.token_urlsafe(24)
    listening = bind(LOOPBACK, port)
    ready(f"http://{LOOPBACK}:{listening.getsockname()[1]}/enter/{secret}")
    run(review_app(log, secret=secret, hands=hands, locale=locale), listening)


def bind(host: str, port: int) -> socket.socket:
    """A listening place.

    Raises:
        BadInputError: the port is taken, or needs rights that we do not have.
    """
    try:
        return socket.create_server((host, port))
    except (OSError, OverflowError) as error:
        reason = getattr(error, "strerror", None) or error
        raise BadInputError(
            f"The pages cannot be served on port {port}: {reason}.",
            "Choose another port, or 0 for any free one.",
        ) from error


def run(app: ASGIApp, listening: socket.socket, *, cert: str = "", key: str = "") -> None:
    """Serve until interrupted."""
    server(app, cert=cert, key=key).run(sockets=[listening])


def server(app: ASGIApp, *, cert: str = "", key: str = "") -> uvicorn.Server:
    """A quiet server that takes a bounded number of requests at once.

    Args:
        cert, key: files in PEM, for HTTPS.
    """
    return uvicorn.Server(
        uvicorn.Config(
            app,
            log_level="error",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            limit_concurrency=MOST_AT_ONCE,
            timeout_keep_alive=10,
            timeout_graceful_shutdown=3,
            h11_max_incomplete_event_size=16 * 1024,
            ssl_certfile=cert or None,
            ssl_keyfile=key or None,
        )
    )
