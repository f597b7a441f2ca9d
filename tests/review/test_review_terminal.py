"""The log in the terminal, drawn by the real rich."""

from __future__ import annotations

import io

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
                 "unchecked text", "8.2 to 11.8 Ω", "Verification code"):  # fmt: skip
        assert part in shown, part


def test_old_values_are_struck_through(log: JobLog, made: dict[str, Record]):
    shown = drawn(log, force_terminal=True, color_system="standard")
    at = shown.index("18.1")
    assert re_struck(shown[:at])


def re_struck(before: str) -> bool:
    """Whether the last style set before a place strikes through (ECMA-48 SGR 9)."""
    last = before[before.rindex("\x1b[") + 2 :].split("m")[0]
    return "9" in last.split(";")


def test_it_fits_a_narrow_terminal(log: JobLog, made: dict[str, Record]):
    assert max(len(line) for line in drawn(log, 80).splitlines()) <= 80
