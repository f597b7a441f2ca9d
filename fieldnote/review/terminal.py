"""The same review in the terminal: the log of one job as a table with its times."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from fieldnote.joblog import JobLog
from fieldnote.review.phrases import Phrases
from fieldnote.review.report import meter_name, open_points
from fieldnote.review.story import Line, Story, tell
from fieldnote.review.texts import Texts, zone

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
    t = p.t
    made = Table(header_style="bold", pad_edge=False, expand=False)
    made.add_column(t("No."), justify="right")
    made.add_column(t("Time"), no_wrap=True)
    made.add_column(t("Measured"), min_width=12, overflow="fold")
    made.add_column(t("Reading"), justify="right", overflow="fold")
    made.add_column(t("Window"), overflow="fold")
    made.add_column(t("Verdict"), overflow="fold")
    made.add_column(t("How taken"), overflow="fold")
    for line in story.lines:
        made.add_row(*_cells(line, p))
    return made


def _cells(line: Line, p: Phrases) -> tuple[RenderableType, ...]:
    now, t = line.now, p.t
    gone = line.withdrawn is not None
    value = Text(justify="left" if line.kind == "remark" else "right")
    for change in line.changes:
        value.append(p.value(change.before.entry), style="strike dim")
        value.append(f"\n{change.why}\n" if change.why else "\n", style="dim italic")
    style = "strike dim" if gone else "bold" if line.kind == "reading" else "italic"
    value.append(now.caption if line.kind == "photo" else p.value(now.entry), style=style)
    if line.withdrawn and line.withdrawn.why:
        value.append(f"\n{line.withdrawn.why}", style="dim italic")
    measured = line.kind in ("reading", "wire", "question")
    sure = p.share(now.source.get("confidence"))
    return (
        Text(str(line.number), style="dim"),
        Text(t.time(line.at, seconds=True)),
        Text(p.point(now) if measured else p.kind(line.kind).capitalize()),
        value,
        Text(p.limits(now.window) if now.window else ""),
        _verdict(line, p),
        Text(p.how(now.how) + (f", {sure}" if sure else "")),
    )


def _verdict(line: Line, p: Phrases) -> Text:
    if line.withdrawn:
        sign, style = SIGNS["withdrawn"]
        return Text(f"{sign} {p.t('withdrawn')}", style=style)
    if line.kind == "remark":
        return Text(p.t("unchecked text"), style="dim")
    if line.kind == "question":
        sign, style = SIGNS["unclear"]
        if line.answered:
            return Text(p.t("answered by %(number)s", number=line.answered), style="dim")
        return Text(f"{sign} {p.result('unclear')}", style=style)
    if line.kind != "reading":
        return Text("")
    sign, style = SIGNS[line.result]
    words = Text(f"{sign} {p.result(line.result)}", style=style)
    if p.margin(line.now):
        words.append(f"\n{p.margin(line.now)}", style="dim")
    return words


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
