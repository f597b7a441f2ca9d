"""Reads the labelled utterances of ``corpus.txt`` and ``held_out.txt``, and compares an entry with
what was expected."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fieldnote.language import Entry

VALUELESS = ("none", "unclear")


@dataclass(frozen=True)
class Case:
    text: str
    kind: str
    expected: dict[str, object]


def read(name: str = "corpus.txt") -> list[Case]:
    """All cases of a file, in order; lines marked ``skip`` are kept out."""
    cases = []
    kind = ""
    for line in (Path(__file__).parent / name).read_text(encoding="utf-8").splitlines():
        if not line.strip() or line.startswith("#"):
            continue
        if line.startswith("[") and line.endswith("]"):
            kind = line[1:-1]
            continue
        text, *fields = [part.strip() for part in line.split(" | ")]
        text = text.removesuffix(" |")
        if "skip" in fields:
            continue
        cases.append(Case(text, kind, _expected(kind, fields)))
    return cases


def _expected(kind: str, fields: list[str]) -> dict[str, object]:
    main = fields[0].strip("| ") if fields else ""
    expected: dict[str, object] = {"kind": kind}
    if kind in ("reading", "series"):
        value, unit = main.rsplit(" ", 1)
        expected |= {"value": value, "unit": None if unit == "-" else unit}
        if kind == "series":
            expected["values"] = tuple(value.split())
    elif kind == "bare":
        expected["value"] = main
    elif kind == "wire":
        expected["colour"] = main
    elif kind == "remark":
        expected["text"] = main
    elif kind == "command":
        expected["command"] = main
    for field in fields[1:]:
        for pair in field.split(";"):
            name, _, value = pair.strip().partition("=")
            expected[name] = tuple(value.split()) if name == "pins" else value
    return expected


def differences(entry: Entry, case: Case) -> list[str]:
    """What of ``entry`` is not as expected; empty when all is right."""
    return [
        f"{name}: {getattr(entry, name)!r} instead of {wanted!r}"
        for name, wanted in case.expected.items()
        if getattr(entry, name) != wanted
    ]


def invented(entry: Entry, case: Case) -> bool:
    """Whether the entry is a value that was not said: the worst defect there is."""
    if entry.kind not in ("reading", "bare", "series"):
        return False
    return case.expected.get("value") != entry.value or (
        case.kind == "reading" and case.expected.get("unit") != entry.unit
    )
