"""How an entry and its verdict read as words, for the terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fieldnote.acceptance import Window
from fieldnote.joblog import Record
from fieldnote.language import symbol

VERDICTS = {
    "pass": "inside",
    "fail": "OUTSIDE",
    "indeterminate": "UNDECIDED (the meter's uncertainty reaches over the limit)",
    "unchecked": "no limit",
}


def entry_text(entry: Mapping[str, Any]) -> str:
    """An entry's content in the trade's own symbols, for instance "pin 4–ground  10.6 Ω"."""
    kind, parts = entry["kind"], []
    if entry.get("label"):
        parts.append(str(entry["label"]))
    if entry.get("position"):
        parts.append(str(entry["position"]))
    if entry.get("pins"):
        parts.append("pin " + "–".join(entry["pins"]))
    unit = symbol(entry["unit"]) if entry.get("unit") else ""
    match kind:
        case "reading" | "series":
            values = ", ".join(entry.get("values") or [entry["value"]])
            parts.append(f"{values} {unit}".strip() + _current(entry))
        case "bare":
            parts.append(f"{entry['value']} (no unit)")
        case "open" | "short":
            parts.append(f"{kind} circuit")
        case "wire":
            parts.append(str(entry["colour"] or ""))
        case "remark":
            parts.append(f"“{entry['text']}”")
        case "command":
            parts.append(f"command: {entry['command']}")
        case "unclear":
            parts.append(f"unclear: {entry['reason']}")
            if entry.get("value"):
                others = ", ".join([entry["value"], *entry.get("alternatives", [])])
                parts.append(f"(perhaps {others} {unit}".rstrip() + ")")
        case _:
            parts.append(entry.get("reason") or "no reading")
    if entry.get("state"):
        parts.append(f"({entry['state']})")
    if entry.get("hedge"):
        parts.append(f"({entry['hedge']})")
    parts += entry.get("notes", [])
    return "  ".join(part for part in parts if part)


def _current(entry: Mapping[str, Any]) -> str:
    return f" {entry['current']}" if entry.get("current") else ""


CHOSEN = {"pass": "good", "fail": "NOT GOOD"}
"""A choice is good or not; nothing was measured that could lie inside or outside."""


WIRED = {"pass": "same", "fail": "DIFFERENT"}
"""A wire is the same as it should be, or as it was before, or it is not."""


def verdict_text(verdict: Mapping[str, Any], window: Mapping[str, Any] | None) -> str:
    """A verdict with its window, for instance "inside 96 to 104 Ω"."""
    words = VERDICTS[verdict["result"]]
    return f"{words}: {Window.from_json(window).describe()}" if window else words


def record_text(record: Record) -> str:
    """A record with its number: what it says, and how that was judged."""
    body, entry = record.body, record.body.get("entry")
    if record.kind == "withdrawal":
        return f"no. {record.number}  withdrawn: {body['why']}"
    text = entry_text(entry) if entry else str(body.get("caption") or record.kind)
    if record.kind == "photo":
        text = f"picture kept: {body.get('caption') or 'no caption'}"
    if record.kind == "correction":
        text = f"corrected: {text}"
    if body.get("choice"):
        text += f"  {CHOSEN.get(body['verdict']['result'], '')}".rstrip()
    elif record.kind == "wire" and body.get("verdict"):
        text += f"  {WIRED.get(body['verdict']['result'], '')}".rstrip()
    elif body.get("verdict"):
        text += "  " + verdict_text(body["verdict"], body.get("window"))
    return f"no. {record.number}  {text}"


def hit_text(ref: str, record: Record) -> str:
    """A record found by a search, with its place: job, number, time, content."""
    text = record_text(record)
    if record.kind == "start":
        words = (record.body.get(key) for key in ("asset", "serial", "complaint"))
        text = f"no. {record.number}  " + ", ".join(str(word) for word in words if word)
    return f"{ref}  {record.at:%Y-%m-%d %H:%M}  {text}"
