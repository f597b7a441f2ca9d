"""Starting the phone page: a certificate, an address on the local network, a one-time code."""

from __future__ import annotations

import io
import ipaddress
import os
import socket
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import segno

from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog
from fieldnote.review.web.capture_app import capture_app
from fieldnote.review.web.certificate import make
from fieldnote.review.web.guard import OneTimeCodes
from fieldnote.review.web.hand import Hands
from fieldnote.review.web.inbox import Inbox
from fieldnote.review.web.serve import bind, run

PORT = 8443  # the same each time: what a phone has not sent yet is kept for this address
ELSEWHERE = "192.0.2.1"  # RFC 5737, documentation only: nothing is sent there


@dataclass(frozen=True, slots=True)
class Invitation:
    """What a person needs to open the page on a phone.

    address: with a code that lets one device in. fingerprint: of the certificate, SHA-256, to be
    compared with what the phone shows before it is trusted. another: makes the next address.
    """

    address: str
    fingerprint: str
    another: Callable[[], str]

    @property
    def qr(self) -> str:
        """The address as a QR code (ISO/IEC 18004) for a terminal."""
        drawn = io.StringIO()
        segno.make_qr(self.address, error="m").terminal(drawn, compact=True, border=2)
        return drawn.getvalue()


def serve_phone(
    log: JobLog,
    ref: str,
    *,
    hands: Hands,
    ready: Callable[[Invitation], None],
    port: int = PORT,
    address: str | None = None,
    locale: str | None = None,
) -> None:
    """Serve the phone page of one job on the local network until interrupted.

    Args:
        hands: who reads and judges what is sent.
        ready: is given the invitation once the page can be opened.
        port: 0 takes a free one.
        address: this machine's IP address to serve on; None finds the one that faces the network.

    Raises:
        BadInputError: no such job or address, or the port is taken.
        StoreError: there is no room for what the phone will send.
    """
    log.job(ref)
    host = address or facing_network()
    inbox = Inbox(log, ref, hands, locale=locale)
    codes = OneTimeCodes()
    listening = bind(host, port)
    root = f"https://{f'[{host}]' if ':' in host else host}:{listening.getsockname()[1]}"
    certificate = make([host])
    with tempfile.TemporaryDirectory(prefix="fieldnote-") as folder:  # only we may look inside
        cert, key = Path(folder) / "cert.pem", Path(folder) / "key.pem"
        cert.write_bytes(certificate.cert)
        with os.fdopen(os.open(key, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(certificate.key)

        def another() -> str:
            return f"{root}/enter/{codes.fresh()}"

        ready(Invitation(another(), certificate.fingerprint, another))
        app = capture_app(inbox, keys=codes, hosts=[host], locale=locale)
        run(app, listening, cert=str(cert), key=str(key))


def facing_network() -> str:
    """The address by which others on the local network reach this machine.

    Raises:
        BadInputError: there is no network.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((ELSEWHERE, 9))  # chooses the way out; no packet leaves
            found = str(probe.getsockname()[0])
        except OSError:
            found = "127.0.0.1"
    if ipaddress.ip_address(found).is_loopback:
        raise BadInputError(
            "This machine is on no network that a phone could reach it by.",
            "Join the phone's network, or name this machine's address.",
        )
    return found
