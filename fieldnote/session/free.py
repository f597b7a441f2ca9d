"""Taking down freely: a job without a procedure has no steps, no windows and no verdicts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldnote.joblog import Evidence, JobLog, Standing
from fieldnote.language import Context, Entry, parse, speak
from fieldnote.procedure import Register
from fieldnote.session.guide_candidates import candidates, restored, with_unit
from fieldnote.session.guide_events import Effect, End, Say
from fieldnote.session.sources import shown, spoken
from fieldnote.session.wording import entry_text

if TYPE_CHECKING:
    from fieldnote.session.interpret import Heard

_RECORD = {"unclear": "question", "remark": "remark", "wire": "wire"}
"""Kind of record by kind of entry; every other entry that is kept is a `reading`."""

_PLACES = ("first", "second", "third")


class FreeTaking:
    """One open job without a procedure.

    Args:
        log: the job log. ref: the job. register: the instruments known. clock: gives the time.
    """

    def __init__(
        self, log: JobLog, ref: str, register: Register, *, clock: Callable[[], datetime]
    ) -> None:
        self.log, self.ref, self._clock = log, ref, clock
        meter = log.job(ref).facts.get("meter")
        self._meter = meter.get("id") if isinstance(meter, dict) else meter
        known = {each.id: each for each in register.instruments}
        self._profile_of = known.get(str(self._meter))

    def context(self) -> Context:
        """Nothing is known of what comes next, but a question may have been asked."""
        return Context(question=self._open_question() is not None)

    def text(self, words: str) -> tuple[Effect, ...]:
        """Something typed: an entry or a command."""
        return self._take(parse(words, self.context()), {"how": "typed", "heard": words}, ())

    def heard(
        self, heard: Heard, clip: Evidence, *, start: str, end: str, file: str = "microphone"
    ) -> tuple[Effect, ...]:
        """Something spoken; its sound is kept already."""
        return self._take(heard.entry, spoken(heard, file, start, end), (clip,))

    def picture(self, path: Path, caption: str = "") -> tuple[Effect, ...]:
        """A picture: kept as such with a caption, else read as a meter's display.

        Raises:
            BadInputError: the file is no picture. Nothing was stored.
        """
        from fieldnote.photo import look, read_picture
        from fieldnote.session.meter_face import display_profile
        from fieldnote.session.seen import entry_shown

        read_picture(path)
        kept = self.log.keep(path, path.suffix.lower())
        profile = display_profile(self._profile_of) if self._profile_of is not None else None
        displays = [] if caption else look(path, profile)
        if not displays:
            source = {"how": "photo", "file": path.name}
            body = {"step": None, "source": source, "caption": caption or "no display was found"}
            self.log.append(self.ref, "photo", body, at=self._clock(), evidence=[kept])
            return (Say("Picture kept.", "good"),)
        entry, best = entry_shown(displays, self.context())
        return self._take(entry, shown(path, best), (kept,))

    def _take(
        self, entry: Entry, source: dict[str, Any], kept: Sequence[Evidence]
    ) -> tuple[Effect, ...]:
        asked = self._open_question()
        if asked is not None:
            if entry.command in {"neither", "no"}:
                self._withdraw(asked, f"said: {entry.text}")
                return (Say("Neither. Say the reading anew, please.", "ask"),)
            entry = _chosen(entry, asked) or entry
        if entry.kind == "command":
            return self._command(entry)
        if entry.kind == "none":
            return (Say(f"No reading, not kept: {entry.text or entry.reason}.", "ask"),)
        if entry.command == "withdraw":  # "no, make that five point four bar"
            self._command(entry)
            entry = replace(entry, command=None)
        kind = _RECORD.get(entry.kind, "reading")
        if asked is not None and kind == "question":
            self._withdraw(asked, "asked again")
        body = {
            "entry": entry.to_json(),
            "step": None,
            "source": source,
            "window": None,
            "verdict": None,
            "meter": self._meter,
        }
        # Only what the question names can be chosen: other alternatives may lack their own unit.
        named = kind == "question" and str(entry.reason).endswith("?")
        offered = candidates(entry, None) if named else ()
        if offered:
            body["offered"] = [each.to_json() for each in offered]
        self.log.append(
            self.ref,
            kind,
            body,
            at=self._clock(),
            evidence=kept,
            refers_to=asked.record if asked is not None and _answers(entry, asked) else None,
        )
        if kind == "question":
            return (_asked(str(entry.reason), offered, again=asked is not None),)
        return (Say(f"{speak(entry)}."),)

    def _command(self, entry: Entry) -> tuple[Effect, ...]:
        last = self._last()
        match entry.command:
            case "stop":
                return Say("Stopped. The job stays open."), End()
            case "withdraw" | "last" | "repeat" if last is None:
                return (Say("Nothing has been taken yet."),)
            case "withdraw" if last is not None:
                self._withdraw(last, f"said: {entry.text}")
                return (Say(f"Withdrawn: {entry_text(last.record.body['entry'])}."),)
            case "last" | "repeat" if last is not None:
                return (Say(f"{entry_text(last.record.body['entry'])}."),)
        return (Say("This job follows no procedure; say a reading, scratch that, or stop."),)

    def _withdraw(self, item: Standing, why: str) -> None:
        self.log.append(
            self.ref, "withdrawal", {"why": why}, at=self._clock(), refers_to=item.record
        )

    def _last(self) -> Standing | None:
        """The newest entry or question that still stands."""
        for item in reversed(self.log.standing(self.ref)):
            if item.record.body.get("entry") and item.state in {"stands", "corrected"}:
                return item
        return None

    def _open_question(self) -> Standing | None:
        last = self._last()
        return last if last is not None and last.original.kind == "question" else None


def _asked(reason: str, offered: Sequence[Entry], *, again: bool) -> Say:
    """How a question is put. again: an answer was not clear either; nobody is asked in circles."""
    if again:
        return Say("Not clear again. It stays an open question; type it, or say it later.", "ask")
    if len(offered) > 1:
        return Say(reason, "ask")  # "thirteen ohms or thirty ohms?"
    if offered:
        return Say(f"{reason} Say yes, or say the reading.", "ask")
    return Say(f"{reason.removesuffix('.')}. Say it again, please.", "ask")


def _chosen(entry: Entry, asked: Standing) -> Entry | None:
    """The reading that an answer makes of a question: by its place, by its bare number, by "yes"
    to the only one, or by its unit alone."""
    offered = tuple(restored(each) for each in asked.record.body.get("offered", ()))
    if entry.command in _PLACES:
        place = _PLACES.index(entry.command)
        return offered[place] if place < len(offered) else None
    if entry.command == "yes" and len(offered) == 1:
        return offered[0]
    if entry.kind == "bare":
        same = [each for each in offered if each.value == entry.value]
        unit = asked.record.body["entry"].get("unit")
        if len(same) == 1:
            return same[0]
        return None if offered or unit is None else replace(entry, kind="reading", unit=unit)
    if entry.kind in {"none", "unclear"}:
        return with_unit(asked.record.body, offered, entry.text)
    return None


def _answers(entry: Entry, asked: Standing) -> bool:
    """Whether a clear entry can be what the question was about: the same unit, the same place."""
    question = asked.record.body["entry"]
    places = [(question.get("label"), entry.label), (question.get("pins"), list(entry.pins))]
    return (
        entry.kind == "reading"
        and question.get("unit") in {None, entry.unit}
        and all(not was or not now or was == now for was, now in places)
    )
