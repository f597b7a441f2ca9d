"""What search knows of a record: words, label, value, verdict, and the value in a base unit.

All of it is derived from records and can be made again; none of it is ever shown as a reading.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from fieldnote.errors import BadInputError
from fieldnote.joblog.private import opened

if TYPE_CHECKING:
    from fieldnote.joblog.database import Database

_WORDS_AT_ONCE = 256


@dataclass(frozen=True, slots=True)
class Index:
    """A reading's value in its quantity's base unit, for range searches and trends only.

    Attributes:
        quantity: kind of quantity, e.g. ``resistance``.
        base_value: the value in ``base_unit``; a binary float, so never a stored value.
        base_unit: UCUM code, e.g. ``Ohm``.
    """

    quantity: str
    base_value: float
    base_unit: str


Indexer = Callable[[Mapping[str, Any]], "Index | None"]
"""Gives the :class:`Index` of a record's body; lent by a part that knows units."""


@dataclass(frozen=True, slots=True)
class Extract:
    """The parts of a body that are searched by."""

    label: str | None
    value: str | None
    unit: str | None
    verdict: str | None
    words: str

    @property
    def is_result(self) -> bool:
        return any((self.label, self.value, self.verdict))


# Keys whose text says how a record came about, not what it is about.
_NOT_WORDS = frozenset(
    {
        "action",
        "box",
        "colour_code",
        "confidence",
        "digest",
        "end",
        "engine",
        "file",
        "how",
        "kind",
        "method",
        "move",
        "reader",
        "rule",
        "seal",
        "sha256",
        "start",
        "steps",
        "verdict",
        "version",
        "window",
    }
)


def extract(body: Mapping[str, Any]) -> Extract:
    """What to search a record by; tolerant, since a bundle may bring any JSON."""
    entry, verdict = _mapping(body.get("entry")), _mapping(body.get("verdict"))
    return Extract(
        label=_text(entry.get("label")),
        value=_text(entry.get("value")),
        unit=_text(entry.get("unit")),
        verdict=_text(verdict.get("result")),
        words=" ".join(dict.fromkeys(_words(body))),
    )


def _words(value: object) -> Iterator[str]:
    if isinstance(value, str):
        if value:
            yield value
    elif isinstance(value, Mapping):
        for key, item in value.items():
            if key not in _NOT_WORDS:
                yield from _words(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _words(item)


def _mapping(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _text(value: object) -> str | None:
    return value if isinstance(value, str) and value else None


def _unconverted(found: Extract) -> tuple[str | None, float | None, str | None]:
    """Without an :class:`Index`, the value in the unit it was given in; no quantity is claimed."""
    try:
        return None, float(Decimal(found.value or "")), found.unit
    except InvalidOperation:
        return None, None, None


def add_to_index(
    db: Database,
    record: int,
    kind: str,
    at: int,
    body: Mapping[str, Any],
    index: Index | None,
    *,
    replaced: bool = False,
) -> None:
    """Make a stored record findable; inside a write transaction.

    Its words follow with those of its neighbours: SQLite's full-text index takes a batch for little
    more than a single one, and a reading should not wait for that.
    """
    if record % _WORDS_AT_ONCE == 0:
        add_words(db)
    found = extract(body)
    if not found.is_result:
        return
    base = (index.quantity, index.base_value, index.base_unit) if index else _unconverted(found)
    if base[1] is not None and base[1] - base[1] != 0:
        raise BadInputError("The value to search by is not finite.")
    counts = not replaced and kind not in ("question", "rereading")
    db.run(
        "INSERT INTO results"
        " (id, at, label, value, unit, verdict, quantity, base_value, base_unit, counts)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (record, at, found.label, found.value, found.unit, found.verdict, *base, counts),
    )


def add_words(db: Database) -> None:
    """Add the words of the records stored since the last time; inside a write transaction."""
    last = db.row("SELECT rowid FROM words ORDER BY rowid DESC LIMIT 1")
    for record, content, openings in db.rows(
        "SELECT id, content, openings FROM records WHERE id > ? ORDER BY id", last or (0,)
    ):
        try:
            body = json.loads(content)["body"] | opened(json.loads(openings or "{}"))
        except (ValueError, KeyError, TypeError, AttributeError):
            continue  # damaged: verify() names it, and the next reading must not suffer for it
        words = extract(body).words
        if words:
            db.run("INSERT INTO words (rowid, text) VALUES (?, ?)", (record, words))


def catch_up(db: Database) -> None:
    """Add words that are still to be added, if any, without troubling writers otherwise."""
    row = db.row(
        "SELECT (SELECT max(id) FROM records)"
        " > coalesce((SELECT rowid FROM words ORDER BY rowid DESC LIMIT 1), 0)"
    )
    if row and row[0]:
        with db.writing():
            add_words(db)


def take_words_away(
    db: Database, record: int, before: Mapping[str, Any], after: Mapping[str, Any]
) -> None:
    """Make the words that only ``before`` holds unfindable; it must be what was added."""
    add_words(db)
    words = extract(before).words
    if words:
        db.run("INSERT INTO words (words, rowid, text) VALUES ('delete', ?, ?)", (record, words))
    kept = extract(after).words
    if kept:
        db.run("INSERT INTO words (rowid, text) VALUES (?, ?)", (record, kept))
