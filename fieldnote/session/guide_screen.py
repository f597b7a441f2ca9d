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

from fieldnote.acceptance.exact import with_unit
from fieldnote.procedure.steps import Timed
from fieldnote.session.guide import View
from fieldnote.session.guide_events import Effect, Say, Stored
from fieldnote.session.wording import CHOSEN, WIRED, entry_text

_VERDICTS: Mapping[str, tuple[str, str, str]] = {
    "pass": ("✓", "INSIDE", "green"),
    "fail": ("✗", "OUTSIDE", "bold red"),
    "indeterminate": ("?", "UNDECIDED", "bold yellow"),
    "unchecked": ("·", "no limit", "default"),
}


SHOWN_LINES = 3
"""Answers that are listed; all of them are in `fieldnote show`."""


_TITLE = 50
"""Characters of the procedure's title that the step's frame has room for."""


class Board:
    """The screen of one guided job, drawn anew for each turn.

    What was said last stays until something else is said, and the clock counts in place, so that
    a line that is being typed is not wiped away.
    """

    def __init__(self, console: Console) -> None:
        self._console = console
        self._said: Sequence[Effect] = ()
        self._rows = 0

    def show(self, view: View, effects: Sequence[Effect]) -> None:
        console, counting = self._console, not effects
        self._said = effects or self._said
        if not console.is_terminal:
            if not counting:
                console.print(screen(view, self._said, width=console.width))
            return
        drawn = screen(view, self._said, width=console.width, height=console.height)
        with console.capture() as captured:
            console.print(drawn)
        text = captured.get()
        rows = text.count("\n")
        if counting and rows == self._rows:
            in_place = text.replace("\n", "\x1b[K\n")
            console.file.write(f"\x1b7\x1b[H{in_place}\x1b8")
        else:
            console.clear()
            console.file.write(f"{text}> ")
        console.file.flush()
        self._rows = rows


def screen(
    view: View, said: Sequence[Effect] = (), *, width: int = 80, height: int | None = None
) -> RenderableType:
    """The whole screen. said: the latest effects, of which the words are shown.

    height: lines that there are. The step with its cautions stands last, just above where the
    answer is typed, and never scrolls off: what is less needed gives way to it.
    """
    words = "\n".join(each.text for each in said if isinstance(each, Say) and not each.of_step)
    speech = [Panel(words, title="said", title_align="left")] if words else []
    latest = view.lines[-1] if view.lines else None
    timer = None
    if view.timer is not None:
        timer, latest = f"{view.timer:.0f} s", None  # the clock is what matters now
        if isinstance(view.step, Timed):
            timer = f"{view.timer:.0f} of {view.step.seconds} s"
    fullest: RenderableType = Group()
    for font, table in (("standard", True), ("standard", False), ("small", False), (None, False)):
        large = [_large(latest, font, width)] if latest is not None else []
        clock = [Text(_letters(timer, font, width), style="bold")] if timer is not None else []
        lines = [_lines(view.lines[-SHOWN_LINES:])] if table and view.lines else []
        fullest = Group(*lines, *large, *speech, *clock, _step(view))
        if height is None or _rows(fullest, width) < height:
            return fullest
    assert height is not None  # without one the fullest was given
    # A small window: the words of the step give way next, then what was said; never a caution.
    short = _step(view, width - 4)
    for fewer in (Group(*speech, short), short):
        if _rows(fewer, width) < height:
            return fewer
    return Group(short, Text("⚠ This window is too small: make it taller.", style="bold reverse"))


def _rows(parts: RenderableType, width: int) -> int:
    console = Console(width=width, file=io.StringIO())
    return len(console.render_lines(parts, pad=False))


def _step(view: View, shortened: int | None = None) -> RenderableType:
    """The step's panel. shortened: columns that its words may take, one line each."""
    paused = [Text("PAUSED. Say resume.", style="bold reverse")] if view.paused else []
    if view.step is None:
        done = Text("All steps are done. Say stop to end.", style="bold")
        return Panel(Group(*paused, done), title=_cut(view.title), title_align="left")
    cautions = [Text(f"⚠ CAUTION: {each}", style="bold") for each in view.step.cautions]
    ask = Text(view.step.ask, style="bold")
    answer = Text(f"→ {view.wanted}")
    if view.asking is not None:
        asked = "Why is this step skipped?" if view.asking == "why" else f"{view.asking}: right?"
        answer = Text(asked, style="reverse")
    if shortened is not None:
        ask.truncate(shortened, overflow="ellipsis")
        answer.truncate(shortened, overflow="ellipsis")
    title = f"step {view.number} of {view.of} · {_cut(view.title)}"
    return Panel(Group(*paused, *cautions, ask, answer), title=title, title_align="left")


def _cut(title: str) -> str:
    return title if len(title) <= _TITLE else f"{title[: _TITLE - 1].rstrip()}…"


def _large(record: Stored, font: str | None, width: int) -> RenderableType:
    entry, verdict = record.body.get("entry") or {}, record.body.get("verdict")
    parts = [Text(_letters(_value(entry), font, width), style="bold")] if _value(entry) else []
    if verdict:
        mark, word, style = _verdict(record)
        drawn = f"{mark if mark == '?' or font is None else ''} {word}".strip()
        parts.append(Text(_letters(drawn, font, width), style))
    if parts:
        parts.insert(0, Text(f"no. {record.number}  {record.body.get('step') or ''}".rstrip()))
    return Group(*parts)


def _verdict(record: Stored) -> tuple[str, str, str]:
    verdict = record.body.get("verdict")
    if not verdict:
        return "", "", "default"
    result = verdict["result"]
    mark, word, style = _VERDICTS[result]
    if record.body.get("choice"):
        word = CHOSEN.get(result, "").upper()
    if record.kind == "wire":
        word = WIRED.get(result, "").upper()
    return (mark, word, style) if word else ("", "", "default")


def _value(entry: Mapping[str, Any]) -> str:
    if entry.get("kind") == "reading":
        return with_unit(entry["value"], entry["unit"])
    if entry.get("kind") in {"open", "short"}:
        return str(entry["kind"]).upper()
    return str(entry.get("colour") or "")


def _letters(text: str, font: str | None, width: int) -> str:
    if font is None or not text:
        return text
    # The font holds no Greek letters or degree sign; a word that it lacks is spelled.
    spelled = text.replace("Ω", "Ohm").replace("µ", "u").replace("°", "deg ").replace("·", ".")
    return str(pyfiglet.figlet_format(spelled, font=font, width=width)).rstrip() + "\n"


def _lines(records: Sequence[Stored]) -> Table:
    table = Table(expand=True)
    table.add_column("no.", width=4)
    table.add_column("step", ratio=1)
    table.add_column("entry", ratio=2)
    table.add_column("verdict", width=12)
    for record in records:
        mark, word, style = _verdict(record)
        table.add_row(
            str(record.number),
            Text(str(record.body.get("step") or "")),
            Text(entry_text(record.body.get("entry") or {"kind": "remark", "text": ""})),
            Text(f"{mark} {word}".strip(), style=style),
        )
    return table
