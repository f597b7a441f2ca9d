"""A hand for the pages under test."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from fieldnote.joblog import JobLog
from tests.review import invented_job as invented


class Written:
    """A hand that writes what it is told straight into the real log; reading is not tested here."""

    message = "written"

    def __init__(self, log: JobLog, ref: str) -> None:
        self.log, self.ref = log, ref

    def correct(self, number: int, text: str, why: str) -> Written:
        said = invented.entry(value=text, unit="Ohm", text=text)
        body = {**invented.body(said, "typed"), "why": why}
        self.log.append(self.ref, "correction", body, at=now(), refers_to=number)
        return self

    def withdraw(self, number: int, why: str) -> Written:
        self.log.append(self.ref, "withdrawal", {"why": why}, at=now(), refers_to=number)
        return self

    def answer(self, number: int, text: str) -> Written:
        said = invented.entry(value=text.split()[-2], unit="Ohm", text=text)
        self.log.append(
            self.ref, "reading", invented.body(said, "typed"), at=now(), refers_to=number
        )
        return self

    def take_text(self, text: str) -> Written:
        raise NotImplementedError

    take_sound: Any = take_text
    take_photo: Any = take_text


def now() -> datetime:
    return datetime.now().astimezone()
