"""The machine interface: what scripts rely on."""

from __future__ import annotations

import json

from tests.cli.conftest import SAMPLES, Runner

KEYS = {"kind", "value", "unit", "label", "pins", "colour", "command", "text", "reason"}


def test_parse_gives_one_line_a_text(fieldnote: Runner) -> None:
    texts = ["ten point six zero ohms", "", "hand me the other one", "open", "ten six ohms"]
    done = fieldnote("parse", "-", "--json", stdin="\n".join(texts) + "\n")
    lines = [json.loads(line) for line in done.out.splitlines()]
    assert [line["kind"] for line in lines] == ["reading", "none", "none", "open", "unclear"]
    assert all(set(line) >= KEYS for line in lines)
    assert (lines[0]["value"], lines[0]["unit"]) == ("10.60", "Ohm")
    assert done.status == 1  # something was unclear


def test_parse_statuses(fieldnote: Runner) -> None:
    assert fieldnote("parse", "ten ohms").status == 0
    assert fieldnote("parse", "nothing of note here").status == 1
    assert fieldnote("parse").status == 2
    bare = fieldnote("parse", "10.60", "--unit", "Ohm", "--json")
    assert json.loads(bare.out)["unit_from"] == "step"


def test_hear_gives_words_with_times(fieldnote: Runner) -> None:
    done = fieldnote("hear", SAMPLES / "3-resistance.wav", "--json")
    lines = [json.loads(line) for line in done.out.splitlines()]
    assert all(
        set(line) >= KEYS | {"file", "start", "end", "heard", "confidence", "engine"}
        for line in lines
    )
    assert any((line["value"], line["unit"]) == ("27.4", "Ohm") for line in lines)
    assert any(line["command"] == "withdraw" for line in lines)
    starts = [line["start"] for line in lines]
    assert starts == sorted(starts)


def test_look_gives_displays_with_boxes(fieldnote: Runner) -> None:
    done = fieldnote("look", "-", "--json", stdin=f"{SAMPLES / 'supply.jpg'}\n")
    first = json.loads(done.out.splitlines()[0])
    assert set(first) >= KEYS | {"file", "box", "display", "confidence", "reader"}
    assert first["value"] == "24.6"
    assert len(first["box"]) == 4


def test_one_bad_file_does_not_stop_the_others(fieldnote: Runner) -> None:
    done = fieldnote("look", "missing.jpg", SAMPLES / "supply.jpg", "--json")
    assert done.status == 2
    assert "missing.jpg" in done.err
    kinds = [json.loads(line)["kind"] for line in done.out.splitlines()]
    assert kinds[0] == "none"
    assert len(kinds) > 1


def test_an_unknown_engine_is_named(fieldnote: Runner) -> None:
    for command in ("hear", "look"):
        done = fieldnote(command, SAMPLES / "supply.jpg", "--engine", "nonsense")
        assert done.status == 2
        assert "nonsense" in done.err
