"""The report: one HTML file that carries its sounds, its pictures and its looks inside itself."""

from __future__ import annotations

import os
import secrets
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal

from markupsafe import Markup

from fieldnote.acceptance import UNITS, Quantity
from fieldnote.errors import BadInputError, FieldnoteError, StoreError
from fieldnote.joblog import JobLog
from fieldnote.review import bar, picture, rule, sound
from fieldnote.review.connector import colours, faces
from fieldnote.review.pages import environment
from fieldnote.review.pdf import pdf
from fieldnote.review.phrases import Phrases
from fieldnote.review.points import later, repeats
from fieldnote.review.story import Change, File, Line, Said, Story, tell
from fieldnote.review.texts import Texts
from fieldnote.review.travel import travels
from fieldnote.review.units import Preferred

MOST_FOUND, MOST_OPEN = 3, 6  # readings and open points on the first sheet
Variant = Literal["service", "customer", "warranty"]
VARIANTS: tuple[Variant, ...] = ("service", "customer", "warranty")


def report(
    log: JobLog,
    ref: str,
    out: Path,
    *,
    locale: str | None = None,
    variant: str = "service",
    paper: str = "A4",
    units: str | None = None,
) -> Path:
    """Write the report of a job to ``out``, whole or not at all, and give ``out`` back.

    Args:
        out: ``.pdf`` makes a PDF, ``.html`` or ``.htm`` one self-contained HTML file.
        locale: of dates, decimals and words, such as ``de``; None takes the environment's.
        variant: ``service`` for the workshop's own file; ``customer`` in plain words and without
            the working evidence; ``warranty`` with every record and all evidence listed.
        paper: of a PDF, ``A4`` or ``Letter``; HTML takes the paper of the printer.
        units: those of the customer: ``SI``, ``US`` or UCUM codes with commas (``N.m,Cel``); what
            was taken stands beside in brackets. None shows readings as taken.

    Raises:
        BadInputError: there is no such job, variant, paper, locale or unit, or ``out`` is of
            another type.
        StoreError: ``out`` cannot be written, or the log cannot be read.
        MissingPartError: a PDF was asked for and WeasyPrint is not installed.
    """
    as_pdf = out.suffix.lower() == ".pdf"
    if not as_pdf and out.suffix.lower() not in (".html", ".htm"):
        raise BadInputError(
            f"A report cannot be written as {out.name}.", "Name a file that ends in .html or .pdf."
        )
    texts, wanted = Texts(locale), Preferred(units)
    page = html(tell(log, ref), texts, variant, for_paper=as_pdf, units=wanted)
    data = pdf(page, paper) if as_pdf else page.encode("utf-8")
    write_whole(out, data)
    return out


def html(
    story: Story,
    texts: Texts,
    variant: str = "service",
    *,
    for_paper: bool = False,
    units: Preferred | None = None,
) -> str:
    """The report as one HTML document that asks for nothing from outside.

    Args:
        for_paper: leave out what paper cannot do: sound, and charts that follow light and dark.

    Raises:
        BadInputError: the variant is not known.
    """
    if variant not in VARIANTS:
        raise BadInputError(
            f"The report variant {variant!r} is not known.", f"Use one of {', '.join(VARIANTS)}."
        )
    contents = _Contents(story, texts, variant, for_paper, units)
    return environment(texts).get_template("report.html").render(**contents.all())


def write_whole(out: Path, data: bytes) -> None:
    """Write a file whole or not at all.

    Raises:
        StoreError: the folder is missing, read-only or full.
    """
    part = out.with_name(f".{out.name}.{secrets.token_hex(4)}.part")
    try:
        with part.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(out)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise StoreError(
            f"The report {out} could not be written: {error.strerror or error}.",
            "Name a file in a folder that exists, is writable and has room.",
        ) from error


@dataclass(frozen=True, slots=True)
class Overall:
    """The job in one line."""

    result: str
    words: str
    detail: str


@dataclass(frozen=True, slots=True)
class Shown:
    """A picture on the page."""

    image: picture.Picture | None
    words: str
    caption: str


class _Contents:
    """What the template needs, worked out from the story."""

    def __init__(
        self, story: Story, texts: Texts, variant: str, for_paper: bool, units: Preferred | None
    ) -> None:
        self.story = story
        self.for_paper = for_paper
        self.variant = variant
        self.t = texts
        self.p = Phrases(texts, story.steps, units)
        self.evidence_page = environment(texts).get_template("evidence.html")

    def all(self) -> dict[str, Any]:
        story, t = self.story, self.t
        questions = {line.number for line in story.questions}
        readings = [line for line in story.of("reading") if line.number not in questions]
        marks = [line for line in story.lines if line.kind in ("reading", "remark", "question")]
        laid = rule.lay([line.at for line in marks], story.started, story.closed or story.last_at)
        return {
            "story": story,
            "facts": story.facts,
            "asset": story.facts.get("asset") or t("Machine without a name"),
            "p": self.p,
            "overall": overall(story, t),
            "fact_rows": self.facts(),
            "rule": laid,
            "rule_results": [self._sign(line) for line in marks],
            "rule_labels": [
                t.short_day(tick.at) if laid.by_day else t.time(tick.at) for tick in laid.ticks
            ],
            "rule_words": t(
                "Time line of the job from %(start)s to %(end)s with %(number)s entries; "
                "the same entries are in the tables below.",
                start=t.time(story.started),
                end=t.time(story.closed or story.last_at),
                number=len(marks),
            ),
            "tally": self.p.tally(story),
            **self.summary(),
            "confirmed": [
                (event.at, self.p.steps.get(str(event.body.get("from"))) or "")
                for event in story.events
                if event.kind == "step" and event.body.get("acknowledged")
            ],
            "readings": readings,
            "bars": {line.now.number: reading_bar(line.now) for line in readings},
            "wires": story.of("wire"),
            "remarks": story.of("remark"),
            "questions": story.questions,
            "pictures": self.pictures(),
            "changes": changes(story),
            "variant": self.variant,
            "plain": self.variant == "customer",
            "torques": [line for line in readings if is_torque(line)],
            "rounds": self.rounds(),
            "in_other_units": any(
                self.p.units.instead_of(unit)
                for line in readings
                for unit in (_unit_of(line), line.now.window.unit if line.now.window else "")
            ),
            "repeats": repeats(story),
            "travels": travels(readings, t, for_paper=self.for_paper),
            "faces": faces(story.of("wire")),
            "instrument_rows": self.instrument(),
            "evidence_rows": self.evidence_rows(),
            "evidence": self.evidence,
            "record_rows": story.chain if self.variant == "warranty" else (),
            "swatches": colours,
            "made": datetime.now().astimezone(),
        }

    def summary(self) -> dict[str, Any]:
        """What must fit one sheet: the gravest first, and how many more there are."""
        outside = sorted(
            self.story.with_result("fail", "indeterminate"), key=lambda line: line.result != "fail"
        )
        points = open_points(self.story, self.p)
        return {
            "outside": outside[:MOST_FOUND],
            "more_outside": max(0, len(outside) - MOST_FOUND),
            "open_points": points[:MOST_OPEN],
            "more_points": points[MOST_OPEN:],
        }

    def rounds(self) -> list[tuple[str, str, datetime]]:
        """Step, number and time of each round of tightening that was done before the last."""
        return [
            (
                self.p.steps.get(str(event.body.get("step")))
                or self.p.step(event.body.get("step")),
                str(event.body["round"]),
                event.at,
            )
            for event in self.story.events
            if event.kind == "step" and event.body.get("move") == "begin" and "round" in event.body
        ]

    def facts(self) -> list[tuple[str, str, str]]:
        """Name, value and small print of what is known about the job."""
        story, t, facts = self.story, self.t, self.story.facts
        rows = [
            (t("Serial"), facts.get("serial"), ""),
            (t("Running hours"), self._hours(facts.get("hours")), ""),
            (t("Customer"), facts.get("customer"), ""),
            (t("Place"), facts.get("site") or facts.get("place"), ""),
            (t("Technician"), facts.get("technician"), ""),
            (t("Instrument"), meter_name(story), self._calibrated()),
            (
                t("Procedure"),
                story.procedure.get("title") or story.procedure.get("name"),
                self._version(),
            ),
            (t("Date"), t.day(story.started), self._span()),
        ]
        return [(name, str(value), small) for name, value, small in rows if value]

    def instrument(self) -> list[tuple[str, str]]:
        story, t, meter, procedure = self.story, self.t, self.story.meter, self.story.procedure
        unknown = t("not on record")
        rows = [
            (t("Instrument"), meter_name(story) or unknown),
            (t("Serial of the instrument"), meter.get("serial")),
            (t("Calibrated"), t.written_day(meter.get("calibrated") or unknown)),
            (t("Calibration due"), t.written_day(meter.get("due") or "")),
            (t("Calibration certificate"), meter.get("certificate")),
            (t("Stated accuracy"), meter.get("accuracy")),
            (t("Procedure"), procedure.get("title") or procedure.get("name") or t("none used")),
            (t("Procedure version"), procedure.get("version")),
            (t("Procedure digest"), procedure.get("digest")),
        ]
        return [
            (name, value if isinstance(value, str) else str(value)) for name, value in rows if value
        ]

    def pictures(self) -> list[Shown]:
        """Each photo once, however many readings were taken from it."""
        shown: dict[str, Shown] = {}
        for line in self.story.lines:
            for file in _pictures(line)[:1]:
                if file.sha256 in shown:
                    continue
                what = self.p.point(line.now)
                words = line.now.caption or self.t(
                    "Photo for entry %(number)s, %(what)s", number=line.number, what=what
                )
                caption = f"{words} · {self.t.time(line.at, seconds=True)} · {file.sha256[:12]}…"
                image = picture.whole(file.path) if file.path else None
                shown[file.sha256] = Shown(image, words, caption)
        return list(shown.values())

    def evidence_rows(self) -> list[tuple[int, str, str, str]]:
        """Entry, what, size and digest of each piece of evidence, the first entry that names it."""
        rows: dict[str, tuple[int, str, str, str]] = {}
        for line in self.story.lines:
            for file in (*line.original.files, *line.now.files):
                what = self.t("sound") if file.suffix in sound.SUFFIXES else self.t("picture")
                size = f"{self.t.number(f'{file.size / 1000:.1f}')}\N{NO-BREAK SPACE}kB"
                rows.setdefault(file.sha256, (line.number, what, size, file.sha256))
        return list(rows.values())

    def evidence(self, line: Line) -> Markup:
        """How one line was taken, with its sound to play or its display to see."""
        now = line.now
        plain = self.variant == "customer"
        clip, digest, missing = (None, "", False) if plain else self._clip(line)
        second = now.source.get("second") or {}
        return Markup(  # the template escapes what it is given
            self.evidence_page.render(
                now=now,
                number=line.number,
                p=self.p,
                sure="" if plain else self.p.share(now.source.get("confidence")),
                heard="" if plain else self.p.heard(line),
                second="" if plain else second.get("heard") or second.get("value") or "",
                value=self.p.value(now.entry),
                sound=sound.data_uri(clip) if clip and not self.for_paper else None,
                kept=bool(clip),
                digest=digest,
                sound_missing=missing,
                image=self._crop(line),
            )
        )

    def _clip(self, line: Line) -> tuple[bytes | None, str, bool]:
        """Sound to play, its digest, and whether there was one that is gone."""
        source = line.now.source if line.now.files else line.original.source
        for file in line.files:
            if file.suffix in sound.SUFFIXES:
                data = file.path and sound.clip(file.path, source.get("start"), source.get("end"))
                return data or None, file.sha256, not data
        return None, "", False

    def _crop(self, line: Line) -> picture.Picture | None:
        source = line.now.source if line.now.files else line.original.source
        pictures = _pictures(line)
        if len(pictures) > 1 and pictures[1].path:  # the reader kept its own cut
            return picture.whole(pictures[1].path, picture.CROP)
        if pictures and pictures[0].path and source.get("box"):
            return picture.crop(pictures[0].path, source["box"])
        return None

    def _sign(self, line: Line) -> str:
        if line.withdrawn:
            return "withdrawn"
        return line.result if line.judged else line.kind

    def _hours(self, hours: Any) -> str:
        return f"{self.t.number(str(hours))}\N{NO-BREAK SPACE}h" if hours not in (None, "") else ""

    def _version(self) -> str:
        version = self.story.procedure.get("version")
        return self.t("version %(version)s", version=version) if version else ""

    def _calibrated(self) -> str:
        date = self.story.meter.get("calibrated")
        return self.t("calibrated %(date)s", date=self.t.written_day(date)) if date else ""

    def _span(self) -> str:
        start, end = self.story.started, self.story.closed
        if end is None:
            return self.t("from %(start)s, still open", start=self.t.time(start))
        last = self.t.time(end) if end.date() == start.date() else self.t.moment(end)
        return f"{self.t.time(start)} – {last}"


def overall(story: Story, t: Texts) -> Overall:
    """The worst of each point's last reading decides; a fault of the record outweighs them all."""
    judged = story.with_result("pass", "fail", "indeterminate")
    again = later(story)
    last = [line for line in judged if line.number not in again]
    detail = t.count("%(num)s reading judged", "%(num)s readings judged", len(judged))
    fails = sum(line.result == "fail" for line in last)
    doubts = sum(line.result == "indeterminate" for line in last)
    if story.faults:
        return Overall("fail", t("The record does not verify"), t("see the end of this report"))
    if fails:
        words = t.count(
            "%(num)s reading outside its window", "%(num)s readings outside their windows", fails
        )
        if any(line.result == "fail" and line.kind != "reading" for line in last):
            words = t.count(
                "%(num)s finding not as it should be",
                "%(num)s findings not as they should be",
                fails,
            )
        return Overall("fail", words, detail)
    if doubts:
        words = t.count("%(num)s reading undecided", "%(num)s readings undecided", doubts)
        return Overall("indeterminate", words, detail)
    if not judged:
        return Overall("unchecked", t("No reading was judged"), t("no windows were given"))
    if len(last) < len(judged) and any(line.result != "pass" for line in judged):
        return Overall("pass", t("All last readings inside their windows"), detail)
    return Overall("pass", t("All judged readings inside their windows"), detail)


def open_points(story: Story, p: Phrases) -> list[tuple[str, str, str]]:
    """Sign, words and detail of what is not settled, the gravest first."""
    t = p.t
    points = [("fail", fault, "") for fault in story.faults]
    for line in story.unanswered:
        words = t("Entry %(number)s was not clear; ask again", number=line.number)
        points.append(("unclear", words, str(line.now.entry.get("reason") or "")))
    again = later(story)
    for line in story.with_result("fail", "indeterminate"):
        words = f"{p.point(line.now)}: {p.value(line.now.entry)}"
        detail = p.meaning(line.result, line)
        if line.number in again:
            last = again[line.number]
            detail += "; " + t(
                "measured again as No. %(number)s: %(value)s, %(result)s",
                number=last.number,
                value=p.value(last.now.entry),
                result=p.result(last.result),
            )
        points.append((line.result, words, detail))
    for event in story.events:
        if event.kind == "step" and event.body.get("move") == "skip":
            # "step" is where the move leads, where "from" tells which one was left out.
            left_out = str(event.body.get("from") or event.body.get("step") or "")
            words = t("Step skipped: %(step)s", step=p.steps.get(left_out) or p.step(left_out))
            points.append(("unchecked", words, str(event.body.get("why") or "")))
    points += [("unclear", words, "") for words in story.conflicts]
    if not meter_name(story):
        points.append(("unchecked", t("No instrument is on record"), ""))
    elif not story.meter.get("calibrated"):
        points.append(("unchecked", t("No calibration date of the instrument is on record"), ""))
    elif story.meter.get("due") and str(story.meter["due"]) < story.started.date().isoformat():
        words = t(
            "The instrument was overdue for calibration since %(due)s", due=story.meter["due"]
        )
        points.append(("fail", words, ""))
    if story.closed is None:
        points.append(("unchecked", t("The job is not closed"), ""))
    return points


def changes(story: Story) -> list[tuple[Line, Change]]:
    """Corrections, re-readings and withdrawals in the order they were made."""
    found = [(line, change) for line in story.lines for change in line.changes]
    found += [(line, line.withdrawn) for line in story.lines if line.withdrawn]
    return sorted(found, key=lambda item: item[1].number)


def meter_name(story: Story) -> str:
    meter = story.meter
    return str(meter.get("name") or meter.get("title") or meter.get("id") or "")


def reading_bar(said: Said) -> bar.Bar | None:
    """The window of a reading as a bar in the window's unit; None where there is no window."""
    if said.window is None:
        return None
    lower, upper = said.window.limits
    if said.kind == "open":
        return bar.beyond(lower, upper)
    value, uncertainty = reading_numbers(said, said.window.unit) or (None, None)
    return bar.draw(lower, upper, value, uncertainty)


def reading_numbers(said: Said, unit: str | None) -> tuple[Fraction, Fraction] | None:
    """Value and expanded uncertainty of a reading in ``unit``; None where it has no number."""
    verdict, entry = said.verdict, said.entry
    if verdict.get("value") is not None and verdict.get("unit") == unit:
        return Fraction(verdict["value"]), Fraction(verdict.get("uncertainty") or 0)
    if said.kind == "short":
        return Fraction(0), Fraction(0)
    if said.kind == "reading" and entry.get("value") and unit and entry.get("unit"):
        try:
            return Quantity(str(entry["value"]), str(entry["unit"])).to(unit), Fraction(0)
        except FieldnoteError:
            return None  # of another kind than the window: nothing to draw
    return None


def is_torque(line: Line) -> bool:
    unit = UNITS.get(_unit_of(line))
    return unit is not None and unit.kind == "torque"


def _unit_of(line: Line) -> str:
    return str(line.now.entry.get("unit") or "")


def _pictures(line: Line) -> list[File]:
    return [file for file in line.files if file.suffix in picture.SUFFIXES]
