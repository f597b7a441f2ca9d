"""What is wrong with a file that a person wrote: which line and key, and the mend."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from fieldnote.errors import BadInputError

Loc = tuple[int | str, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault. line: 1-based line of the file, None where it has none. key: "steps[2].window"."""

    file: str
    line: int | None
    key: str
    what: str
    mend: str = ""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}, line {self.line}"
        key = f" `{self.key}`:" if self.key else ""
        return f"{place}:{key} {self.what} {self.mend}".strip()


class FileProblemsError(BadInputError):
    """A file with problems; all of them are told, not only the first."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = tuple(problems)


class Fault(ValueError):
    """Raised by our validators: what is wrong, the mend, the key below the model."""

    def __init__(self, what: str, mend: str = "", key: Loc = ()) -> None:
        super().__init__(what)
        self.what, self.mend, self.key = what, mend, key


@contextmanager
def as_fault(*key: int | str) -> Iterator[None]:
    """Tell an error of the acceptance part as a fault of the file."""
    try:
        yield
    except BadInputError as error:
        raise Fault(error.what, error.mend, key) from error


def closest(word: str, known: Iterable[str]) -> str:
    """ "Did you mean …?" where a known word is near, else the list of known words."""
    known = sorted(known)
    near = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    if near:
        return f"Did you mean “{near[0]}”?"
    return f"Known here: {', '.join(known)}." if known else ""


def explained(
    error: ValidationError, file: str, text: str, fields_at: Any, table: str
) -> list[Problem]:
    """The problems behind a pydantic error, told for people.

    fields_at: a function from a location to the names of the fields that may stand there.
    table: the name of the repeated table whose lines are counted ("steps").
    """
    problems = []
    for each in error.errors(include_url=False):
        where = tuple(each["loc"])
        what, mend = _said(each, where, fields_at)
        cause = each.get("ctx", {}).get("error")
        if isinstance(cause, Fault):
            what, mend, where = cause.what, cause.mend, (*where, *cause.key)
        if each["type"] == "union_tag_invalid":
            where = (*where, "", "kind")
        # The tag of a discriminated union stands in the location but not in the file.
        where = _without_tag(where, table)
        problems.append(Problem(file, line_of(text, where, table), _dotted(where), what, mend))
    return problems


def _without_tag(where: Loc, table: str) -> Loc:
    if table == "steps" and len(where) > 2 and where[0] == table and isinstance(where[1], int):
        return (*where[:2], *where[3:])
    return where


def _said(each: Any, where: Loc, fields_at: Any) -> tuple[str, str]:
    name = where[-1] if where else ""
    context = each.get("ctx", {})
    match each["type"]:
        case "missing":
            return f"“{name}” is missing.", f"Add a line {name} = …"
        case "extra_forbidden":
            return f"“{name}” is not known here.", closest(str(name), fields_at(where[:-1]))
        case "union_tag_invalid":
            known = re.findall(r"'([^']+)'", str(context.get("expected_tags", "")))
            tag = str(context.get("tag", ""))
            return f"“{tag}” is not a kind of step.", closest(tag, known)
        case "union_tag_not_found":
            return "“kind” is missing.", 'Add a line such as kind = "measure".'
        case "literal_error":
            known = re.findall(r"'([^']+)'", str(context.get("expected", "")))
            return f"“{each['input']}” cannot stand here.", closest(str(each["input"]), known)
        case "string_type":
            return "This must be text.", "Put it in quotes."
        case "string_pattern_mismatch":
            return (
                f"“{each['input']}” is not a usable name.",
                "Use small letters, digits and hyphens.",
            )
        case "too_short":
            return "This must not be empty.", "Give at least one."
    message = str(each["msg"]).removeprefix("Value error, ")
    return message[:1].upper() + message[1:] + ".", ""


def _dotted(where: Loc) -> str:
    out = ""
    for part in where:
        out += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if out else part
    return out


def line_of(text: str, where: Loc, table: str) -> int | None:
    """The line of a key in the TOML text, as near as headers and keys tell; None where unknown.

    tomllib gives no positions, and the layout we document (one table a step) makes them findable.
    """
    if not where:
        return None
    lines = text.splitlines()
    start, end, keys = 0, len(lines), [p for p in where if isinstance(p, str)]
    if where[0] == table and len(where) > 1 and isinstance(where[1], int):
        heads = [i for i, line in enumerate(lines) if re.match(rf"\s*\[\[\s*{table}\s*]]", line)]
        if where[1] >= len(heads):
            return None
        start = heads[where[1]]
        end = heads[where[1] + 1] if where[1] + 1 < len(heads) else len(lines)
        keys = keys[1:]
    for depth in range(len(keys), 0, -1):
        found = _key_line(lines, start, end, keys[:depth])
        if found is not None:
            return found + 1
    return start + 1 if start else None


def _key_line(lines: Sequence[str], start: int, end: int, keys: Sequence[str]) -> int | None:
    # Inline tables keep all their keys on the line of the outermost one.
    for name in reversed(keys):
        name = re.escape(name)
        pattern = (
            rf"\s*[\"']?{name}[\"']?\s*=|\s*\[+[^]]*\b{name}\s*]+|.*[{{,]\s*[\"']?{name}[\"']?\s*="
        )
        for i in range(start, end):
            if re.match(pattern, lines[i]):
                return i
    return None
