"""The guided job on a terminal: the step, the last verdict in letters to be read from two metres.

No colour carries a meaning alone: each verdict has its own word and mark.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from typing import Any

import pyfiglet
from rich.console import Console, Group, RenderableType
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from fieldnote.language import symbol
from fieldnote.session.guide import View
from fieldnote.session.guide_events import Effect, Say, Stored
from fieldnote.session.wording import CHOSEN, entry_text

_VERDICTS: Mapping[str, tuple[str, str, str]] = {
    "pass": ("✓", "INSIDE", "green"),
    "fail": ("✗", "OUTSIDE", "bold red"),
    "indeterminate": ("?", "UNDECIDED", "bold yellow"),
    "unchecked": ("·", "no limit", "default"),
}


SHOWN_LINES = 3
"""Answers that are listed; all of them are in `fieldnote show`."""


def screen(
    view: View, said: Sequence[Effect] = (), *, width: int = 80, height: int | None = None
) -> RenderableType:
    """The whole screen. said: the latest effects, of which the words are shown.

    height: lines that there are. The step with its cautions stands last, just above where the
    answer is typed, and never scrolls off: what is less needed gives way to it.
    """
    words = "\n".join(effect.text for effect in said if isinstance(effect, Say))
    speech = [Panel(words, title="said", title_align="left")] if words else []
    latest = view.lines[-1] if view.lines else None
    timer = None if view.timer is None else f"{view.timer:.0f} s"
    fullest: RenderableType = Group()
    for font, table in (("standard", True), ("standard", False), ("small", False), (None, False)):
        large = [_large(latest, font, width)] if latest is not None else []
        clock = [Text(_letters(timer, font, width), style="bold")] if timer is not None else []
        lines = [_lines(view.lines[-SHOWN_LINES:])] if table and view.lines else []
        fullest = Group(*lines, *large, *speech, *clock, _step(view))
        if height is None or _rows(fullest, width) < height:
            break
    return fullest


def _rows(parts: RenderableType, width: int) -> int:
    console = Console(width=width, file=io.StringIO())
    return len(console.render_lines(parts, pad=False))


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


def _large(record: Stored, font: str | None, width: int) -> RenderableType:
    entry, verdict = record.body.get("entry") or {}, record.body.get("verdict")
    parts = [Text(_letters(_value(entry), font, width), style="bold")] if _value(entry) else []
    if verdict:
        mark, word, style = _verdict(record)
        drawn = f"{mark if mark == '?' or font is None else ''} {word}".strip()
        parts.append(Text(_letters(drawn, font, width), style))
    return Group(*parts)


def _verdict(record: Stored) -> tuple[str, str, str]:
    verdict = record.body.get("verdict")
    if not verdict:
        return "", "", "default"
    mark, word, style = _VERDICTS[verdict["result"]]
    if record.body.get("choice"):
        word = CHOSEN.get(verdict["result"], "").upper()
    return mark, word, style


def _value(entry: Mapping[str, Any]) -> str:
    if entry.get("kind") == "reading":
        return f"{entry['value']} {symbol(entry['unit'])}"
    if entry.get("kind") in {"open", "short"}:
        return str(entry["kind"]).upper()
    return str(entry.get("colour") or "")


def _letters(text: str, font: str | None, width: int) -> str:
    if font is None:
        return text
    # The font holds no Greek letters or degree sign; a word that it lacks is spelled.
    spelled = text.replace("Ω", "Ohm").replace("µ", "u").replace("°", "deg ").replace("·", ".")
    return str(pyfiglet.figlet_format(spelled, font=font, width=width)).rstrip() + "\n"


def _lines(records: Sequence[Stored]) -> Table:
    table = Table(expand=True)
    table.add_column("no.", width=4)
    table.add_column("entry", ratio=1)
    table.add_column("verdict", width=12)
    for record in records:
        mark, word, style = _verdict(record)
        table.add_row(
            str(record.number),
            Text(entry_text(record.body.get("entry") or {"kind": "remark", "text": ""})),
            Text(f"{mark} {word}".strip(), style=style),
        )
    return table
