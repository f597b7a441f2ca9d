"""What was recorded as plain rows, for a spreadsheet or a script; docs/exports.md has the columns.

Values keep their digits as text. In CSV, text that a spreadsheet would take for a formula gets an
apostrophe before it (OWASP, "CSV injection"); JSON lines keep every character.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from fieldnote.joblog.index import extract
from fieldnote.joblog.record import Job, Record
from fieldnote.joblog.standing import Standing

COLUMNS = (
    "job",
    "asset",
    "serial",
    "number",
    "at",
    "kind",
    "state",
    "label",
    "value",
    "decimals",
    "unit",
    "verdict",
    "margin",
    "text",
    "evidence",
    "hash",
)
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def rows(job: Job, items: Sequence[Standing], *, replaced: bool) -> Iterator[dict[str, Any]]:
    """One row a record that stands; with ``replaced``, also those that no longer count."""
    for item in items:
        shown = [(record, "replaced") for record in item.replaced] if replaced else []
        if replaced or item.state not in ("withdrawn", "answered"):
            shown.append((item.record, item.state))
        for record, state in sorted(shown, key=lambda pair: pair[0].number):
            yield _row(job, record, state)


def _row(job: Job, record: Record, state: str) -> dict[str, Any]:
    found = extract(record.body)
    entry = record.body.get("entry")
    verdict = record.body.get("verdict")
    said = entry.get("text") if isinstance(entry, dict) else record.body.get("caption")
    number = _NUMBER.fullmatch(found.value or "")
    return {
        "job": job.ref,
        "asset": job.facts.get("asset"),
        "serial": job.facts.get("serial"),
        "number": record.number,
        "at": record.at.isoformat(),
        "kind": record.kind,
        "state": state,
        "label": found.label,
        "value": found.value,
        "decimals": len((number[1] or ".")[1:]) if number else None,
        "unit": found.unit,
        "verdict": found.verdict,
        "margin": verdict.get("margin") if isinstance(verdict, dict) else None,
        "text": said,
        "evidence": [item.sha256 for item in record.evidence],
        "hash": record.hash,
    }


def as_json_lines(table: Iterable[dict[str, Any]]) -> Iterator[bytes]:
    for row in table:
        yield json.dumps(row, ensure_ascii=False).encode() + b"\n"


def as_csv(table: Iterable[dict[str, Any]]) -> Iterator[bytes]:
    """RFC 4180 in UTF-8, with a line of column names."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    for row in table:
        writer.writerow({name: _cell(value) for name, value in row.items()})
        yield _taken(out)
    yield _taken(out)


def _taken(out: io.StringIO) -> bytes:
    data = out.getvalue().encode()
    out.seek(0)
    out.truncate()
    return data


def _cell(value: object) -> object:
    if isinstance(value, list):
        return " ".join(map(str, value))
    if isinstance(value, str) and value.startswith(_FORMULA) and not _NUMBER.fullmatch(value):
        return f"'{value}"
    return value
