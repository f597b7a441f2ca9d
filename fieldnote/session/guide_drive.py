"""Drives a guided job: each thing taken becomes an event, each record goes to the log at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, Protocol

from fieldnote.language import Context, parse
from fieldnote.procedure import Procedure, Register, read_series
from fieldnote.procedure.steps import Part, Photo
from fieldnote.session.guide import Guide, View
from fieldnote.session.guide_events import (
    Effect,
    Event,
    LogRecord,
    Measured,
    Pictured,
    Said,
    Say,
    Scanned,
    Snap,
    State,
    Store,
    Stored,
    Ticked,
    stored,
)
from fieldnote.session.sources import shown, spoken

if TYPE_CHECKING:
    from fieldnote.session.interpret import Heard


class Kept(Protocol):
    """Evidence that the log keeps."""

    @property
    def sha256(self) -> str: ...


class Log(Protocol):
    """What is needed of the job log (`fieldnote.joblog.JobLog`)."""

    def keep(self, content: Any, suffix: str) -> Any: ...
    def records(self, ref: str) -> Sequence[LogRecord]: ...
    def append(
        self,
        ref: str,
        kind: str,
        body: Mapping[str, Any],
        *,
        at: datetime,
        evidence: Iterable[Any] = (),
        refers_to: Any = None,
    ) -> Any: ...


class Drive:
    """One guided job over its log.

    Args:
        log: the job log. ref: the open job. guide: made for its procedure and facts.
        clock: gives an aware datetime. camera: takes a picture into a folder (`camera.Camera`).
    """

    camera: Callable[[Path], Path] | None = None

    def __init__(self, log: Log, ref: str, guide: Guide, *, clock: Callable[[], datetime]) -> None:
        self.log, self.ref, self.guide, self._clock = log, ref, guide, clock
        self.state: State = guide.replay(stored(log.records(ref)))
        # A serial number that was spoken is stored when it is confirmed, an utterance later.
        self._kept: dict[str, Kept] = {}

    def begin(self) -> tuple[Effect, ...]:
        """What is to be said at the start, or when the job is taken up again."""
        return self.guide.announce(self.state, self._clock())

    def view(self) -> View:
        """What a screen shows now."""
        return self.guide.view(self.state, self._clock())

    def context(self) -> Context:
        """What the ear may know of the current step."""
        return self.guide.context(self.state)

    def text(self, words: str) -> tuple[Effect, ...]:
        """Something typed: an entry or a command."""
        entry = parse(words, self.guide.context(self.state))
        before = len(self.log.records(self.ref))
        effects = self._send(Said(entry, self._clock(), {"how": "typed", "heard": words}))
        if effects or not words.strip() or len(self.log.records(self.ref)) != before:
            return effects
        # Talk that is overheard is let pass; what somebody typed is not.
        return _not_understood(words, self.guide, self.state)

    def heard(
        self, heard: Heard, clip: Kept, *, start: str, end: str, file: str = "microphone"
    ) -> tuple[Effect, ...]:
        """Something spoken. clip: its sound, kept already; start, end: seconds in its recording."""
        source = spoken(heard, file, start, end)
        return self._send(Said(heard.entry, self._clock(), source, (clip.sha256,)), [clip])

    def picture(self, path: Path, caption: str = "") -> tuple[Effect, ...]:
        """A picture: kept as such with a caption or where the step wants one; for a part its code
        is read, else a meter's display.

        Raises:
            BadInputError: the file is no picture. Nothing was stored.
        """
        from fieldnote.photo import look, read_picture
        from fieldnote.session.codes import read_codes
        from fieldnote.session.meter_face import display_profile
        from fieldnote.session.seen import entry_shown

        read_picture(path)
        kept = self.log.keep(path, path.suffix.lower())
        step = self.view().step
        if isinstance(step, Part):
            codes = read_codes(path)
            if len(codes) == 1:
                return self._send(Scanned(codes[0], self._clock(), (kept.sha256,)), [kept])
        displays = []
        if not caption and step is not None and not isinstance(step, Photo | Part):
            displays = look(path, display_profile(self.guide.meter(self.state)))
        if not displays:
            source = {"how": "photo", "file": path.name}
            event = Pictured(self._clock(), (kept.sha256,), caption, source)
            return self._send(event, [kept])
        entry, best = entry_shown(displays, self.guide.context(self.state))
        source = shown(path, best)
        return self._send(Said(entry, self._clock(), source, (kept.sha256,)), [kept])

    def code(self, text: str) -> tuple[Effect, ...]:
        """The text of a bar code or QR code."""
        return self._send(Scanned(text, self._clock()))

    def series(self, path: Path) -> tuple[Effect, ...]:
        """A travel from a CSV file or from a video of the display.

        Raises:
            BadInputError: the file cannot be read as a series. Nothing was stored.
        """
        step = self.view().step
        if path.suffix.lower() == ".csv" or step is None or step.unit is None:
            points, how = tuple(read_series(path)), "typed"
        else:
            from fieldnote.session.meter_face import display_profile
            from fieldnote.session.travel_video import travel_of_video

            profile = display_profile(self.guide.meter(self.state))
            points, how = travel_of_video(path, step.unit, profile), "photo"
        kept = self.log.keep(path, path.suffix.lower())
        source = {"how": how, "file": path.name}
        return self._send(Measured(points, self._clock(), source, (kept.sha256,)), [kept])

    def tick(self) -> tuple[Effect, ...]:
        """Let the clock count; a few times a second while a timer runs."""
        return self._send(Ticked(self._clock()))

    def _send(self, event: Event, evidence: Sequence[Kept] = ()) -> tuple[Effect, ...]:
        # Another hand may have written to the job meanwhile (a correction on the review page).
        records = stored(self.log.records(self.ref))
        if len(records) != len(self.state.stored):
            self.state = self.guide.replay(records)
        state, effects = self.guide.take(self.state, event)
        self._kept = {each.sha256: each for each in (*self._kept.values(), *evidence)}
        for effect in effects:
            if isinstance(effect, Store):
                self.log.append(
                    self.ref,
                    effect.kind,
                    effect.body,
                    at=event.at,
                    evidence=[self._kept[each] for each in effect.evidence],
                    refers_to=effect.refers_to,
                )
        self.state = state
        if self.camera is not None and any(isinstance(effect, Snap) for effect in effects):
            with TemporaryDirectory() as folder:
                taken = self.picture(self.camera(Path(folder)))
            return (*(e for e in effects if not isinstance(e, Store | Snap)), *taken)
        return tuple(_told(effects))


def rehearse(
    procedure: Procedure,
    facts: Mapping[str, Any],
    lines: Iterable[str],
    *,
    start: datetime,
    register: Register | None = None,
) -> Iterator[tuple[str, str]]:
    """Play a procedure silently with typed answers; nothing is stored anywhere.

    "picture" answers a photo step, "wait 30" lets 30 seconds pass; other lines take 5 seconds.

    Yields:
        (what was typed, what would be said, a line a sentence); the first with nothing typed.
    """
    guide = Guide(procedure, facts, register)
    now = start
    state = guide.replay([Stored(1, "start", facts, now)])
    yield "", _words(guide.announce(state, now))
    for line in lines:
        typed = line.strip()
        seconds = typed.lower().removeprefix("wait ")
        waits = typed.lower().startswith("wait ") and seconds.isdecimal()
        now += timedelta(seconds=int(seconds) if waits else 5)
        event: Event
        if waits:
            event = Ticked(now)
        elif typed.lower() == "picture":
            event = Pictured(now, ())
        else:
            event = Said(parse(typed, guide.context(state)), now, {"how": "typed", "heard": typed})
        state, effects = guide.take(state, event)
        if typed and not effects and isinstance(event, Said):
            effects = _not_understood(typed, guide, state)
        yield typed, _words(_told(effects))


def _words(effects: Iterable[Effect]) -> str:
    return "\n".join(effect.text for effect in effects if isinstance(effect, Say))


def _not_understood(words: str, guide: Guide, state: State) -> tuple[Effect, ...]:
    return (
        Say(f"Not understood: “{words}”. Nothing was kept.", "ask"),
        Say(guide.wanted(state), "ask"),
    )


def _told(effects: Iterable[Effect]) -> Iterator[Effect]:
    """What is left to the person: all but what was stored, and how to take a picture."""
    for effect in effects:
        if isinstance(effect, Store):
            continue
        yield effect
        if isinstance(effect, Snap):
            yield Say("Take it on the phone page, or hand it over: picture, and the file's name.")
