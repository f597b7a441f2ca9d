"""What a phone sent, each item exactly once, whatever the connection did."""

from __future__ import annotations

import hashlib
import json
import re
import threading
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

from fieldnote.errors import FieldnoteError, StoreError
from fieldnote.joblog import JobLog
from fieldnote.review.report import write_whole
from fieldnote.review.texts import Texts
from fieldnote.review.web.hand import Hand, Hands, Outcome

ITEM = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
"""An item's name: a random UUID (RFC 9562, version 4) that the phone gives it when it is taken."""

KINDS: dict[str, tuple[str, Callable[[bytes], bool]]] = {
    "audio/wav": (".wav", lambda head: head[:4] == b"RIFF" and head[8:12] == b"WAVE"),
    "image/jpeg": (".jpg", lambda head: head[:3] == b"\xff\xd8\xff"),
    "image/png": (".png", lambda head: head[:8] == b"\x89PNG\r\n\x1a\n"),
    "image/heic": (".heic", lambda head: head[4:8] == b"ftyp"),
    "text/plain": (".txt", lambda head: b"\x00" not in head),
}
"""Media type: suffix, and whether the first bytes are of that kind."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of an item. refused: it was no good and need not be sent again."""

    messages: tuple[str, ...]
    spoken: str = ""
    tone: str | None = None
    refused: bool = False


class Inbox:
    """Takes items into one job, one after the other, each once.

    The answer to an item is kept under the item's id, so an item that comes again is answered alike
    and not stored again. Before an item is stored, the length of the log is noted under its id;
    after a crash in between, that note tells whether it can be stored anew, was stored, or a person
    has to look.
    """

    def __init__(self, log: JobLog, ref: str, hands: Hands, *, locale: str | None = None) -> None:
        self.log, self.ref, self._hands = log, ref, hands
        self.t = Texts(locale)
        self.folder = log.home / "inbox"
        self._turn = threading.Lock()
        try:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise StoreError(
                f"The folder {self.folder} cannot be made: {error.strerror or error}.",
                "Make room, or make the folder writable.",
            ) from error

    def step(self) -> str:
        """What the next step asks; empty without a procedure or at its end."""
        step = self._hands(self.ref).step
        return step.ask if step is not None else ""

    def known(self, item: str, arrived: Path) -> Answer | None:
        """The answer to an item that came before; None where it has to be stored."""
        kept, begun = self._file(item, "json"), self._file(item, "begun")
        if kept.is_file():
            told = json.loads(kept.read_text("utf-8"))
            return Answer(tuple(told["messages"]), told["spoken"], told["tone"], told["refused"])
        if not begun.is_file():
            return None
        later = self.log.records(self.ref)[int(begun.read_text("ascii")) :]
        digest = hashlib.sha256(arrived.read_bytes()).hexdigest()
        for record in later:
            file = str((record.body.get("source") or {}).get("file") or "")
            if file.startswith(item) or digest in (kept.sha256 for kept in record.evidence):
                return Answer((self.t("stored as no. %(number)s", number=record.number),))
        if not later:
            return None
        look = self.t(
            "The machine stopped while it stored this entry. Look at the last entries of the job "
            "before you take it again."
        )
        return Answer((look,), tone="unclear", refused=True)

    def take(self, item: str, kind: str, arrived: Path) -> Answer:
        """Store one item, or give the answer of the first time.

        Args:
            item: its id. kind: one of ``KINDS``. arrived: its bytes; the file stays the caller's.

        Raises:
            StoreError: it could not be stored now and should be sent again later.
        """
        with self._turn:
            before = self.known(item, arrived)
            if before is not None:
                return before
            length = str(self.log.job(self.ref).records)
            write_whole(self._file(item, "begun"), length.encode())
            try:
                outcomes = self._write(self._hands(self.ref), kind, arrived)
            except StoreError:
                raise
            except FieldnoteError as error:
                answer = Answer((str(error),), refused=True)
            else:
                last = outcomes[-1] if outcomes else None
                answer = Answer(
                    tuple(filter(None, (outcome.message for outcome in outcomes))),
                    spoken=", ".join(filter(None, (outcome.said for outcome in outcomes))),
                    tone=last.tone if last else None,
                )
            write_whole(self._file(item, "json"), json.dumps(asdict(answer)).encode())
            self._file(item, "begun").unlink(missing_ok=True)
            return answer

    def _write(self, hand: Hand, kind: str, arrived: Path) -> list[Outcome]:
        if kind == "text/plain":
            return [hand.take_text(arrived.read_text("utf-8", "replace").strip())]
        if kind == "audio/wav":
            return list(hand.take_sound(arrived))
        return [hand.take_photo(arrived)]

    def _file(self, item: str, suffix: str) -> Path:
        return self.folder / f"{item}.{suffix}"
