"""Which of two displays a picture is of, and a photo against a voice: asked, never merged."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from fieldnote.language import Context, parse
from fieldnote.photo import Display, look
from fieldnote.session.guide_events import Said
from fieldnote.session.seen import entry_shown
from fieldnote.session.two_sources import differing
from tests.photo.panels import LCD, meter, photograph
from tests.session.test_guide import at_step, readings


def _display(characters: str, height: float, kind: str = "bare") -> Display:
    box = ((0.0, 0.0), (3 * height, 0.0), (3 * height, height), (0.0, height))
    return Display(characters, 0.99, box, "nets", kind, characters)


def test_two_displays_alike_are_asked_about() -> None:
    entry, shown = entry_shown([_display("5.155", 80), _display("20.00", 82)], Context(unit="L"))
    assert (entry.kind, entry.value, entry.alternatives) == ("unclear", "5.155", ("20.00",))
    assert entry.reason == "two displays show 5.155 L or 20.00 L?"
    assert shown.characters == "5.155"


@pytest.mark.parametrize(
    "other",
    [_display("12.40", 40), _display("20.00", 82, "unclear"), _display("5.155", 82)],
    ids=["much smaller", "not read", "the same again"],
)
def test_others_are_no_rivals(other: Display) -> None:
    entry, _ = entry_shown([_display("5.155", 80), other], Context(unit="L"))
    assert (entry.kind, entry.value) == ("reading", "5.155")


def test_what_is_unclear_by_itself_keeps_its_own_reason() -> None:
    first = replace(_display("5.155", 80, "unclear"), reason="uncertain: the decimal point")
    entry, _ = entry_shown([first, _display("20.00", 82)])
    assert entry.reason == "uncertain: the decimal point"


def test_a_picture_of_two_lines_of_the_same_size(tmp_path: Path) -> None:
    rows = [meter("39.99", height=80, face=LCD), meter("10.00", height=80, face=LCD)]
    width = max(row.shape[1] for row in rows)
    rows = [cv2.copyMakeBorder(r, 0, 0, 0, width - r.shape[1], cv2.BORDER_REPLICATE) for r in rows]
    path = tmp_path / "pump.png"
    cv2.imwrite(str(path), photograph(np.vstack(rows), 17, fill=0.4))
    entry, _ = entry_shown(look(path))
    assert entry.kind == "unclear"
    assert {entry.value, *entry.alternatives} == {"39.99", "10.00"}


def _spoken(words: str) -> dict[str, object]:
    return {"entry": parse(words).to_json(), "source": {"how": "voice"}}


@pytest.mark.parametrize(
    ("said", "seen", "differ"),
    [
        ("12.4 volts", "12.9 V", True), ("12.4 volts", "12.4 V", False),
        ("12.4 volts", "12.40 V", False), ("1.2 kilohms", "1200 ohms", False),
        ("12.4 volts", "12.4 mV", True), ("open circuit", "12.4 ohms", True),
        ("open circuit", "open circuit", False), ("12.4 volts", "12.4 ohms", True),
    ],
)  # fmt: skip
def test_a_photo_against_a_voice(said: str, seen: str, differ: bool) -> None:
    doubt = differing(_spoken(said), parse(seen), {"how": "photo"})
    assert (doubt is not None) is differ
    if doubt is not None:
        assert doubt.startswith("two sources differ: you said")
        assert "the photo shows" in doubt


def test_the_same_way_again_is_a_new_measurement() -> None:
    assert differing(_spoken("12.4 volts"), parse("12.9 volts"), {"how": "voice"}) is None
    derived = {"entry": parse("3 ohms").to_json(), "source": {"how": "derived"}}
    assert differing(derived, parse("4 ohms"), {"how": "photo"}) is None


def test_a_photo_that_differs_from_what_was_said_is_flagged_and_never_merged(
    tmp_path: Path,
) -> None:
    job = at_step(tmp_path, "relay", "coil", meter="none")
    job.say("90 ohms")
    while job.here != "coil":
        job.say("back")
    asked = job.send(Said(parse("98 ohms"), job.now, {"how": "photo"}))
    assert "Two sources differ: you said 90 Ω, the photo shows 98 Ω" in asked
    assert readings(job) == [("90", "Ohm")]
    job.again()  # the question is in the log, and the first answer stands
    question = job.log.records(job.ref)[-1]
    assert question.kind == "question"
    job.say("98 ohms")
    assert readings(job) == [("90", "Ohm"), ("98", "Ohm")]
    assert job.log.records(job.ref)[-1].kind != "question"
    settled = next(r for r in job.log.records(job.ref) if r.refers_to == question.hash)
    assert settled.body["entry"]["value"] == "98"


def test_a_photo_that_bears_out_what_was_said_is_kept_as_a_reading(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil", meter="none")
    job.say("90 ohms")
    while job.here != "coil":
        job.say("back")
    job.send(Said(parse("90.0 ohms"), job.now, {"how": "photo"}))
    assert readings(job) == [("90", "Ohm"), ("90.0", "Ohm")]


def test_of_two_displays_the_one_chosen_is_taken(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil", meter="none")
    shown = [replace(_display(text, 80), unit="Ohm", kind="reading") for text in ("90", "120")]
    entry, _ = entry_shown(shown, job.guide.context(job.state))
    job.send(Said(entry, job.now, {"how": "photo"}))
    assert readings(job) == []
    job.say("the second one")
    assert readings(job) == [("120", "Ohm")]
