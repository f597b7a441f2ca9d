"""The guided job on a terminal: the step, the last verdict in letters to be read from two metres.

No colour carries a meaning alone: each verdict has its own word and mark.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pyfiglet
from rich.console import Group, RenderableType
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from fieldnote.language import symbol
from fieldnote.session.guide import View
from fieldnote.session.guide_events import Effect, Say, Stored
from fieldnote.session.wording import entry_text

_VERDICTS: Mapping[str, tuple[str, str, str]] = {
    "pass": ("✓", "INSIDE", "green"),
    "fail": ("✗", "OUTSIDE", "bold red"),
    "indeterminate": ("?", "UNDECIDED", "bold yellow"),
    "unchecked": ("·", "no limit", "default"),
}


def screen(view: View, said: Sequence[Effect] = (), *, width: int = 80) -> RenderableType:
    """The whole screen. said: the latest effects, of which the words are shown."""
    parts: list[RenderableType] = [_step(view)]
    latest = view.lines[-1] if view.lines else None
    if latest is not None:
        parts.append(_large(latest, width))
    if view.timer is not None:
        parts.append(Text(_letters(f"{view.timer:.0f} s", width), style="bold"))
    words = " ".join(effect.text for effect in said if isinstance(effect, Say))
    if words:
        parts.append(Panel(words, title="said", title_align="left"))
    if view.lines:
        parts.append(_lines(view.lines))
    return Group(*parts)


def _step(view: View) -> RenderableType:
    if view.paused:
        return Panel(Text("PAUSED. Say resume.", style="bold reverse"))
    if view.step is None:
        return Panel(Text("All steps are done. Say stop to end.", style="bold"))
    title = f"step {view.number} of {view.of}"
    ask = Text(view.step.ask, style="bold")
    cautions = [Text(f"⚠ CAUTION: {each}", style="bold") for each in view.step.cautions]
    question = []
    if view.asking is not None:
        asked = "Why is this step skipped?" if view.asking == "why" else f"{view.asking}: right?"
        question = [Text(asked, style="reverse")]
    return Panel(Group(*cautions, ask, *question), title=title, title_align="left")


def _large(record: Stored, width: int) -> RenderableType:
    entry, verdict = record.body.get("entry") or {}, record.body.get("verdict")
    parts = [Text(_letters(_value(entry), width), style="bold")] if _value(entry) else []
    if verdict:
        mark, word, style = _VERDICTS[verdict["result"]]
        parts.append(Text(_letters(f"{mark if mark == '?' else ''} {word}".strip(), width), style))
    return Group(*parts)


def _value(entry: Mapping[str, Any]) -> str:
    if entry.get("kind") == "reading":
        return f"{entry['value']} {symbol(entry['unit'])}"
    if entry.get("kind") in {"open", "short"}:
        return str(entry["kind"]).upper()
    return str(entry.get("colour") or "")


def _letters(text: str, width: int) -> str:
    # The font holds no Greek letters or degree sign; a word that it lacks is spelled.
    spelled = text.replace("Ω", "Ohm").replace("µ", "u").replace("°", "deg ").replace("·", ".")
    return str(pyfiglet.figlet_format(spelled, font="standard", width=width)).rstrip() + "\n"


def _lines(records: Sequence[Stored]) -> Table:
    table = Table("no.", "entry", "verdict", expand=True)
    for record in records:
        verdict = record.body.get("verdict")
        mark, word, style = _VERDICTS[verdict["result"]] if verdict else ("", "", "default")
        table.add_row(
            str(record.number),
            Text(entry_text(record.body.get("entry") or {"kind": "remark", "text": ""})),
            Text(f"{mark} {word}".strip(), style=style),
        )
    return table
