"""How a line of the machine interface reads for a person."""

from __future__ import annotations

from typing import Any

from fieldnote.session.wording import entry_text


def line_of(line: dict[str, Any]) -> str:
    """One line for a person from a line of the machine interface."""
    where = f"{line['file']}: " if line.get("file") else ""
    if line.get("start") is not None:
        where += f"{float(line['start']):.1f} s: "
    if line["kind"] == "partial":
        return f"{where}… {line['heard']}"
    return where + entry_text(line)
