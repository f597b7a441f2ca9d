"""The review pages in a browser, and the page for a phone."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fieldnote.cli.job import HOME, JOB, chosen, now, open_log

if TYPE_CHECKING:
    from fieldnote.review.web.phone import Invitation
    from fieldnote.session.record import Recorder

_LOCALE = typer.Option(None, metavar="LANGUAGE", help="Language and number style, for instance de.")


def register(app: typer.Typer) -> None:
    app.command()(review)
    app.command()(phone)


def review(
    port: int = typer.Option(0, help="Port on this machine; 0 takes a free one."),
    locale: str | None = _LOCALE,
    home: Path | None = HOME,
) -> None:
    """Look through all jobs in a browser.

    Play sounds, see pictures, correct, withdraw, answer what was unclear.
    Prints the address; it works on this machine only. Ctrl-C ends it.
    """
    from fieldnote.review.web import serve_review
    from fieldnote.session.record import Recorder

    log = open_log(home)

    def hands(ref: str) -> Recorder:
        return Recorder(log, ref, clock=now)

    serve_review(
        log, hands=hands, port=port, locale=locale, ready=lambda a: print(f"Open {a}", flush=True)
    )


def phone(
    port: int = typer.Option(8443, help="Port; 0 takes a free one."),
    address: str | None = typer.Option(None, help="This machine's address on the local network."),
    locale: str | None = _LOCALE,
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Let a phone speak and photograph into a job.

    The phone must be in the same network (its own hotspot will do).
    Prints a code to scan; nothing can be reached without it. Ctrl-C ends it.
    """
    from fieldnote.review.web.phone import serve_phone
    from fieldnote.session.record import Recorder

    log = open_log(home)

    def hands(ref: str) -> Recorder:
        return Recorder(log, ref, clock=now)

    def ready(invitation: Invitation) -> None:
        print(invitation.qr)
        print(f"Open {invitation.address}")
        print(f"The certificate's fingerprint is {invitation.fingerprint}", flush=True)

    serve_phone(
        log,
        chosen(log, job),
        hands=hands,
        ready=ready,
        port=port,
        address=address,
        locale=locale,
    )
