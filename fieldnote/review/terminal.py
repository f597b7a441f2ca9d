"""The same review in the terminal: the log of one job as a table with its times."""

from __future__ import annotations

from collections.abc import Iterable

from rich import box
from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from fieldnote.joblog import JobLog
from fieldnote.review.phrases import Phrases
from fieldnote.review.report import meter_name, open_points
from fieldnote.review.story import Line, Story, tell
from fieldnote.review.texts import Texts, zone

MOST_ROOM = 15  # columns; longer readings and windows wrap
# A shape as well as a colour: terminals differ, and so do eyes.
SIGNS = {
    "pass": ("✓", "green"),
    "fail": ("✗", "bold red"),
    "indeterminate": ("≈", "yellow"),
    "unclear": ("?", "magenta"),
    "unchecked": ("·", ""),
    "withdrawn": ("⌀", "dim"),
}


def table(log: JobLog, ref: str, *, locale: str | None = None) -> RenderableType:
    """The log of a job as a rich renderable: times, readings, windows, verdicts, how taken.

    Raises:
        BadInputError: there is no such job. StoreError: the log cannot be read.
    """
    texts = Texts(locale)
    story = tell(log, ref)
    phrases = Phrases(texts, story.steps)
    return Group(_head(story, texts), _rows(story, phrases), _foot(story, phrases))


def _head(story: Story, t: Texts) -> Text:
    head = Text()
    head.append(story.ref, style="bold")
    head.append(f"  {story.facts.get('asset') or t('Machine without a name')}", style="bold")
    if story.facts.get("complaint"):
        head.append(f"\n“{story.facts['complaint']}”", style="italic")
    about = [t.day(story.started), zone(story.started)]
    about += [str(story.facts[name]) for name in ("technician",) if story.facts.get(name)]
    about += [name for name in (meter_name(story),) if name]
    head.append("\n" + " · ".join(about), style="dim")
    return head


def _rows(story: Story, p: Phrases) -> Table:
    """Fits 80 columns: only what was measured or remarked wraps, and that between words."""
    t = p.t
    values = (p.guess(line) for line in story.lines if line.kind in ("reading", "question"))
    windows = (p.limits(line.now.window) for line in story.lines if line.now.window)
    made = Table(
        box=box.SIMPLE_HEAD,
        show_edge=False,
        header_style="bold",
        padding=(0, 0, 0, 1),
        pad_edge=False,
    )
    made.add_column(t("No."), justify="right", no_wrap=True)
    made.add_column(t("Time"), no_wrap=True)
    made.add_column(t("Measured"), overflow="fold")
    made.add_column(
        t("Reading"), justify="right", overflow="fold", width=_room(values, t("Reading"))
    )
    made.add_column(t("Window"), overflow="fold", width=_room(windows, t("Window")))
    made.add_column(t("Verdict"), no_wrap=True)
    made.add_column(t("Taken"), no_wrap=True)
    for line in story.lines:
        made.add_row(*_cells(line, p))
    return made


def _room(texts: Iterable[str], head: str) -> int:
    """Width at which neither the head nor any of the usual texts breaks before its unit."""
    return max([cell_len(head), *(n for n in map(cell_len, texts) if n <= MOST_ROOM)])


def _cells(line: Line, p: Phrases) -> tuple[RenderableType, ...]:
    now, t = line.now, p.t
    value = Text()
    if not _is_words(line):
        for change in line.changes:
            value.append(p.value(change.before.entry), style="strike dim")
            value.append("\n")
        value.append(p.guess(line), style=_style(line))
    return (
        Text(str(line.number), style="dim"),
        Text(t.time(line.at, seconds=True)),
        _what(line, p),
        value,
        Text(p.limits(now.window) if now.window else ""),
        _verdict(line, p),
        Text(p.how_short(now.how)),
    )


def _is_words(line: Line) -> bool:
    """Free text, which gets the widest column; a choice made is a value."""
    return line.kind == "photo" or (line.kind == "remark" and not line.now.body.get("choice"))


def _style(line: Line) -> str:
    return "strike dim" if line.withdrawn else "bold" if line.kind == "reading" else "italic"


def _what(line: Line, p: Phrases) -> Text:
    """What an entry is about, and under it why it was changed or does not count."""
    what = Text(p.kind(line.kind).capitalize() if _is_words(line) else p.point(line.now))
    if _is_words(line):
        what.append("\n")
        for change in line.changes:
            what.append(f"{p.value(change.before.entry)}\n", style="strike dim")
        words = line.now.caption if line.kind == "photo" else p.value(line.now.entry)
        what.append(words, style=_style(line))
    reasons = [change.why for change in line.changes]
    reasons += [line.withdrawn.why] if line.withdrawn else []
    reasons += [
        f"{p.kind(claim.kind)} {claim.said.number}: {p.value(claim.said.entry)}"
        for claim in line.claims
    ]
    for reason in filter(None, reasons):
        what.append(f"\n{reason}", style="dim italic")
    return what


def _verdict(line: Line, p: Phrases) -> Text:
    if line.withdrawn:
        sign, style = SIGNS["withdrawn"]
        return Text(f"{sign} {p.t('withdrawn')}", style=style)
    if line.kind == "question":
        sign, style = SIGNS["unclear"]
        if line.answered:
            return Text(p.t("answered by %(number)s", number=line.answered), style="dim")
        return Text(f"{sign} {p.result('unclear')}", style=style)
    if not line.judged and not line.conflict:
        return Text(p.t("not checked") if line.kind == "remark" else "", style="dim")
    sign, style = SIGNS[line.result]
    return Text(f"{sign} {p.result(line.result)}", style=style)


def _foot(story: Story, p: Phrases) -> Text:
    t = p.t
    foot = Text()
    tally = [f"{SIGNS[result][0]} {number} {p.result(result)}" for result, number in p.tally(story)]
    foot.append("   ".join(tally) or t("No readings were taken."))
    for sign, words, detail in open_points(story, p):
        mark, style = SIGNS[sign]
        foot.append(f"\n{mark} {words}", style=style)
        if detail:
            foot.append(f" ({detail})", style="dim")
    if not story.faults:
        unbroken = t.count(
            "chain of %(num)s record, unbroken", "chain of %(num)s records, unbroken", story.records
        )
        foot.append(f"\n{t('Verification code')} {story.code}, {unbroken}", style="dim")
    return foot
