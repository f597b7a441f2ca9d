"""A job without a procedure: what was not clear is asked about once, and an answer settles it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldnote.joblog import JobLog
from fieldnote.language import Entry
from fieldnote.session.free import FreeTaking
from fieldnote.session.guide_events import Effect, Say
from fieldnote.session.interpret import Heard
from fieldnote.session.start import register

UNCLEAR = Entry(
    "unclear",
    value="13",
    unit="Ohm",
    reason="thirteen ohms or thirty ohms?",
    alternatives=("30",),
)


@pytest.fixture
def log(tmp_path: Path) -> Iterator[JobLog]:
    with JobLog.open(tmp_path / "log") as opened:
        opened.start_job({"asset": "cold store (invented)"}, at=datetime.now(UTC), ref="store")
        yield opened


@pytest.fixture
def taking(log: JobLog) -> FreeTaking:
    return FreeTaking(log, "store", register(log.home), clock=lambda: datetime.now(UTC))


def heard(taking: FreeTaking, log: JobLog, entry: Entry = UNCLEAR) -> str:
    """Something spoken that the ear was not sure of. Gives what is said to it."""
    clip = log.keep(b"fLaC, as far as this test goes", ".flac")
    sound = Heard(entry, "thirteen ohms", 0.6, "phoneme+whisper")
    return said(taking.heard(sound, clip, start="0.00", end="1.00"))


def said(effects: tuple[Effect, ...]) -> str:
    return " ".join(effect.text for effect in effects if isinstance(effect, Say))


def standing(log: JobLog) -> list[tuple[str, str, str | None, str | None]]:
    return [
        (
            item.record.kind,
            item.state,
            item.record.body["entry"]["value"],
            item.record.body["entry"]["unit"],
        )
        for item in log.standing("store")
        if item.record.body.get("entry")
    ]


@pytest.mark.parametrize(
    ("answer", "value"),
    [
        ("thirteen", "13"),
        ("thirty", "30"),
        ("thirty ohms", "30"),
        ("the first one", "13"),
        ("the second", "30"),
        ("second", "30"),
    ],
)
def test_an_answer_chooses(taking: FreeTaking, log: JobLog, answer: str, value: str) -> None:
    assert heard(taking, log) == "thirteen ohms or thirty ohms?"
    taking.text(answer)
    assert standing(log) == [
        ("question", "answered", "13", "Ohm"),
        ("reading", "stands", value, "Ohm"),
    ]


@pytest.mark.parametrize("answer", ["neither", "none of them", "no"])
def test_neither_drops_it(taking: FreeTaking, log: JobLog, answer: str) -> None:
    heard(taking, log)
    assert "anew" in said(taking.text(answer))
    assert standing(log) == [("question", "withdrawn", "13", "Ohm")]


def test_yes_takes_the_only_one(taking: FreeTaking, log: JobLog) -> None:
    only = Entry("unclear", value="30", unit="Ohm", reason="did you say thirty ohms?")
    assert "Say yes" in heard(taking, log, only)
    taking.text("yes")
    assert standing(log)[1] == ("reading", "stands", "30", "Ohm")


def test_a_number_that_was_not_offered_is_no_answer(taking: FreeTaking, log: JobLog) -> None:
    heard(taking, log)
    taking.text("fourteen")
    assert standing(log) == [
        ("question", "stands", "13", "Ohm"),
        ("reading", "stands", "14", None),
    ]


def test_another_reading_leaves_it_open(taking: FreeTaking, log: JobLog) -> None:
    """A question about ohms is in nobody's way who measures volts."""
    heard(taking, log)
    assert said(taking.text("12.5 volts")) == "twelve point five volts."
    assert [state for _, state, _, _ in standing(log)] == ["stands", "stands"]


def test_it_asks_once(taking: FreeTaking, log: JobLog) -> None:
    heard(taking, log)
    again = heard(taking, log)
    assert "or" not in again.split("open question")[0].split()
    assert "open question" in again
    assert [state for _, state, _, _ in standing(log)] == ["withdrawn", "stands"]


def test_nothing_is_chosen_that_the_question_does_not_name(taking: FreeTaking, log: JobLog) -> None:
    """Of "2 volts 3 amps" the other number has another unit."""
    taking.text("2 volts 3 amps")
    taking.text("the first one")
    assert [kind for kind, *_ in standing(log)] == ["question"]


def test_places_mean_nothing_without_a_question(taking: FreeTaking, log: JobLog) -> None:
    for words in ("the first one", "neither", "no"):
        taking.text(words)
    assert standing(log) == []
