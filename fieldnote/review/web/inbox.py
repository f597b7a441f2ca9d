"""What a phone sent, each item exactly once, whatever the connection did."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

from fieldnote.errors import FieldnoteError, StoreError
from fieldnote.joblog import JobLog
from fieldnote.review.report import write_whole
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
    """Takes items into one job, one after the other.

    An item's file is named by its id, and that name goes into the record's source. The answer is
    kept under the id as well. So an item that is sent twice, even across a crash between storing it
    and answering, is stored once and answered alike.
    """

    def __init__(self, log: JobLog, ref: str, hands: Hands) -> None:
        self.log, self.ref, self._hands = log, ref, hands
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

    def known(self, item: str) -> Answer | None:
        """The answer to an item that came before."""
        kept = self._answer_file(item)
        if kept.is_file():
            told = json.loads(kept.read_text("utf-8"))
            return Answer(tuple(told["messages"]), told["spoken"], told["tone"], told["refused"])
        for record in self.log.records(self.ref):
            source = record.body.get("source") or {}
            if str(source.get("file") or "").startswith(item):
                return Answer((f"no. {record.number}",))
        return None

    def take(self, item: str, kind: str, arrived: Path) -> Answer:
        """Store one item, or give the answer of the first time.

        Args:
            item: its id. kind: one of ``KINDS``. arrived: its bytes; the file stays the caller's.

        Raises:
            StoreError: it could not be stored now and should be sent again later.
        """
        with self._turn:
            before = self.known(item)
            if before is not None:
                return before
            try:
                outcomes = self._write(self._hands(self.ref), kind, arrived)
            except StoreError:
                raise
            except FieldnoteError as error:
                answer = Answer((str(error),), refused=True)
            else:
                last = outcomes[-1] if outcomes else None
                answer = Answer(
                    tuple(outcome.message for outcome in outcomes),
                    spoken=", ".join(filter(None, (outcome.spoken for outcome in outcomes))),
                    tone=last.tone if last else None,
                )
            write_whole(self._answer_file(item), json.dumps(asdict(answer)).encode())
            return answer

    def _write(self, hand: Hand, kind: str, arrived: Path) -> list[Outcome]:
        if kind == "text/plain":
            return [hand.take_text(arrived.read_text("utf-8", "replace").strip())]
        if kind == "audio/wav":
            return list(hand.take_sound(arrived))
        return [hand.take_photo(arrived)]

    def _answer_file(self, item: str) -> Path:
        return self.folder / f"{item}.json"
