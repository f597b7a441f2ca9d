"""The log in the terminal, drawn by the real rich."""

from __future__ import annotations

import io
import re

from rich.console import Console

from fieldnote.joblog import JobLog, Record
from fieldnote.review import table
from tests.review import invented_job as invented


def drawn(log: JobLog, width: int = 120, **options: object) -> str:
    out = io.StringIO()
    Console(file=out, width=width, **options).print(table(log, invented.REF, locale="en"))  # type: ignore[arg-type]
    return out.getvalue()


def test_every_entry_stands_there_with_its_time_and_a_shape(log: JobLog, made: dict[str, Record]):
    shown = drawn(log).replace("\xa0", " ")
    for part in ("09:13:40", "10.60 Ω", "✓ pass", "✗ fail", "≈ indeterminate", "⌀ withdrawn",
                 "not checked", "perhaps 15 Ω", "8.2 to 11.8 Ω", "Verification code"):  # fmt: skip
        assert part in shown, part


def test_old_values_are_struck_through(log: JobLog, made: dict[str, Record]):
    shown = drawn(log, force_terminal=True, color_system="standard")
    at = shown.index("18.1")
    assert re_struck(shown[:at])


def re_struck(before: str) -> bool:
    """Whether the last style set before a place strikes through (ECMA-48 SGR 9)."""
    last = before[before.rindex("\x1b[") + 2 :].split("m")[0]
    return "9" in last.split(";")


def test_it_fits_a_narrow_terminal_and_breaks_no_word(log: JobLog, made: dict[str, Record]):
    shown = drawn(log, 80).replace("\xa0", " ")
    assert max(len(line) for line in shown.splitlines()) <= 80
    for whole in (
        "≈ indeterminate",
        "spoken",
        "photo ",
        "at least 1 MΩ",
        "12.61 V DC",
        "starboard",
    ):
        assert whole in shown, whole


def test_a_choice_shows_its_verdict_and_counts(log: JobLog):
    log.start_job({}, at=invented.START, ref=invented.REF)
    told = {"choice": "worn", "verdict": {"result": "fail"}, "step": "coupling"}
    said = invented.body(invented.entry("remark", text="worn"), "typed")
    log.append(invented.REF, "remark", {**said, **told}, at=invented.START)
    shown = drawn(log, 80)
    assert re.search(r"Coupling +worn +✗ fail +typed", shown)
    assert "✗ 1 fail" in shown
    assert "Coupling: worn (not as it should be)" in shown
