"""The page in a bundle that tells a reader without Fieldnote what it holds."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from html import escape

from fieldnote.joblog.index import extract
from fieldnote.joblog.record import Record
from fieldnote.joblog.standing import Standing, standing

_HEAD = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Job log</title>
<style>
body { font: 16px/1.4 system-ui, sans-serif; margin: 2rem auto; max-width: 60rem; padding: 0 1rem }
table { border-collapse: collapse; width: 100% } td, th { border: 1px solid #bbb; padding: .3rem }
th { text-align: left } .fail { background: #fbdad7 } .indeterminate { background: #fdf1c7 }
.withdrawn td { text-decoration: line-through; color: #666 } code { overflow-wrap: anywhere }
</style>
<h1>Job log</h1>
<p>These are records as they were made, with their corrections. The file <code>records.jsonl</code>
holds them whole; <code>record.schema.json</code> describes it. Each record's hash is the SHA-256 of
its canonical JSON (RFC 8785) and covers the records before it, so a changed one no longer fits.</p>
"""


def page(
    jobs: Sequence[Sequence[Record]],
    evidence: Mapping[str, str | None],
    leave_out: Collection[str] = (),
) -> str:
    """One HTML page; ``evidence`` gives the file in the bundle for each hash that has one."""
    return _HEAD + "".join(_job(records, evidence, leave_out) for records in jobs)


def _job(
    records: Sequence[Record], evidence: Mapping[str, str | None], leave_out: Collection[str]
) -> str:
    items = standing([_without(record, leave_out) for record in records])
    facts = items[0].record.body
    shown = "".join(
        f"<tr><th>{escape(name)}<td>{escape(_said(value))}" for name, value in facts.items()
    )
    rows = "".join(_row(item, evidence) for item in items[1:])
    return (
        f"<h2>{escape(records[0].ref or '')}</h2><p>started {escape(records[0].at.isoformat())},"
        f" <code>{records[0].hash}</code></p><table>{shown}</table>"
        "<table><tr><th>No.<th>time<th>kind<th>what<th>verdict<th>state<th>evidence"
        f"{rows}</table>"
    )


def _without(record: Record, leave_out: Collection[str]) -> Record:
    body = {name: value for name, value in record.body.items() if name not in leave_out}
    return replace(record, body=body)


def _row(item: Standing, evidence: Mapping[str, str | None]) -> str:
    record = item.record
    found = extract(record.body)
    value = " ".join(filter(None, (found.label, found.value, found.unit))) or found.words
    links = " ".join(
        f'<a href="{escape(name)}">{escape(name.rsplit(".", 1)[-1])}</a>'
        if (name := evidence.get(file.sha256))
        else "left out"
        for file in record.evidence
    )
    state = "" if item.state == "stands" else item.state
    cells = (str(record.number), record.at.isoformat(), record.kind, value, found.verdict or "")
    return (
        f'<tr class="{escape(found.verdict or "")} {item.state}">'
        + "".join(f"<td>{escape(cell)}" for cell in (*cells, state))
        + f"<td>{links}"
    )


def _said(value: object) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_said(item)}" for name, item in value.items())
    if isinstance(value, list):
        return "; ".join(_said(item) for item in value)
    return "" if value is None else str(value)
