"""A hand for the pages under test."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog
from tests.review import invented_job as invented


class Written:
    """A hand that writes what it is told straight into the real log; reading is not tested here."""

    message, said, tone = "written", "written", "pass"
    step = None

    def __init__(self, log: JobLog, ref: str) -> None:
        self.log, self.ref = log, ref

    def correct(self, number: int, text: str, why: str) -> Written:
        entry = invented.entry(value=text, unit="Ohm", text=text)
        body = {**invented.body(entry, "typed"), "why": why}
        self.log.append(self.ref, "correction", body, at=now(), refers_to=number)
        return self

    def withdraw(self, number: int, why: str) -> Written:
        self.log.append(self.ref, "withdrawal", {"why": why}, at=now(), refers_to=number)
        return self

    def answer(self, number: int, text: str) -> Written:
        entry = invented.entry(value=text.split()[-2], unit="Ohm", text=text)
        self.log.append(
            self.ref, "reading", invented.body(entry, "typed"), at=now(), refers_to=number
        )
        return self

    def take_text(self, text: str) -> Written:
        entry = invented.entry("remark", text=text)
        self.log.append(self.ref, "remark", invented.body(entry, "typed"), at=now())
        return self

    def take_sound(self, path: Path) -> list[Written]:
        if path.stat().st_size < 100:
            raise BadInputError(f"{path.suffix} is too short.", "Speak longer.")
        kept = self.log.keep(path, path.suffix)
        entry = invented.entry("remark", text="spoken")
        body = invented.body(entry, "voice", file=path.name)
        self.log.append(self.ref, "remark", body, at=now(), evidence=[kept])
        return [self]

    def take_photo(self, path: Path) -> Written:
        kept = self.log.keep(path, path.suffix)
        body = {"step": None, "source": {"how": "photo", "file": path.name}, "caption": "sent"}
        self.log.append(self.ref, "photo", body, at=now(), evidence=[kept])
        return self


def now() -> datetime:
    return datetime.now().astimezone()
