"""Recording into a job: evidence kept first, then read, judged and written down.

Its state (which step is next, what was last) is derived from the log's own records, so that
stopping and starting again loses nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldnote.errors import BadInputError, FieldnoteError
from fieldnote.joblog import Evidence, JobLog, Record, Standing
from fieldnote.language import Context, Entry, parse, speak
from fieldnote.procedure import Instrument, Procedure, Register, Step
from fieldnote.session.judging import SHOWN, context_of, value_in, verdict_of, window_for
from fieldnote.session.place import TAKEN, place
from fieldnote.session.start import followed, register
from fieldnote.session.wording import entry_text, verdict_text

if TYPE_CHECKING:
    from fieldnote.session.interpret import Listener

VERDICT_WORDS = {"pass": "inside", "fail": "outside", "indeterminate": "undecided"}
"""What the read-back says after a value; an unchecked value is read back alone."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one thing taken.

    message: one line for the person. record: what was written, if anything was.
    asked: it was unclear and should be said or shown again. ended: the person said "stop".
    spoken, tone: what the read-back says, and the tone before it.
    """

    message: str
    record: Record | None = None
    asked: bool = False
    ended: bool = False
    spoken: str = ""
    tone: str | None = None


class Recorder:
    """Takes what is typed, spoken or shown into one open job.

    Args:
        log: the job log. ref: the job. clock: gives an aware datetime.
    """

    def __init__(self, log: JobLog, ref: str, *, clock: Callable[[], datetime]) -> None:
        self.log, self.ref, self._clock = log, ref, clock
        job = log.job(ref)
        self.facts: Mapping[str, Any] = job.facts
        self.procedure: Procedure | None = followed(log, ref)
        self._register: Register = register(log.home)
        self.steps: Sequence[Step] = (
            self.procedure.steps_for(self.facts) if self.procedure is not None else ()
        )

    # ------------------------------------------------------------ where we are

    @property
    def step(self) -> Step | None:
        """The step that is next; None without a procedure or at its end."""
        here = place(self.log.standing(self.ref), self.steps)
        return self.steps[here] if here < len(self.steps) else None

    @property
    def labels(self) -> tuple[str, ...]:
        """Names that the procedure adds to the vocabulary."""
        return tuple(label for step in self.steps for label in step.labels)

    def _last(self) -> Standing | None:
        """The newest entry or question that still stands."""
        for item in reversed(self.log.standing(self.ref)):
            if item.original.kind in {*TAKEN, "question"} and item.state in {"stands", "corrected"}:
                return item
        return None

    # ------------------------------------------------------------ taking

    def take_text(self, text: str) -> Outcome:
        """A typed entry or command."""
        source = {"how": "typed", "heard": text}
        return self._take(lambda context: parse(text, context), source)

    def take_sound(self, path: Path, engine: str | None = None) -> Iterator[Outcome]:
        """The readings in a sound file; each utterance's clip is kept before it is read."""
        from fieldnote.speech import read_sound, utterances

        read_sound(path)  # a file that is no sound is refused before an engine is loaded
        listener = self._listener(engine)
        found = False
        for utterance in utterances(path):
            found = True
            yield self._hear(utterance, listener, str(path.name))
        if not found:
            yield Outcome(f"{path.name}: nothing was said that could be heard.", asked=True)

    def listen(
        self, *, device: str | None = None, engine: str | None = None, aloud: bool = True
    ) -> Iterator[Outcome]:
        """The readings spoken into the microphone, until "stop"."""
        from fieldnote.speech import Microphone, say, tone, utterances

        listener = self._listener(engine)
        with Microphone(device=device) as microphone:
            for utterance in utterances(microphone):
                outcome = self._hear(utterance, listener, "microphone")
                if aloud and (outcome.spoken or outcome.tone):
                    with microphone.deaf():  # the recogniser must not hear its own voice
                        if outcome.tone:
                            tone(outcome.tone)
                        if outcome.spoken:
                            say(outcome.spoken)
                yield outcome
                if outcome.ended:
                    return

    def take_photo(self, path: Path) -> Outcome:
        """The likeliest display in a picture; the picture is kept before it is read."""
        from fieldnote.photo import crop_bytes, look, read_picture
        from fieldnote.session.seen import entry_of

        read_picture(path)  # a file that is no picture is refused before anything is stored
        kept = [self.log.keep(path, path.suffix.lower())]
        displays = look(path)
        source: dict[str, Any] = {"how": "photo", "file": path.name}
        if not displays:
            return self._write(
                "question",
                Entry("unclear", reason="no display was found in the picture"),
                self.step,
                source,
                kept,
            )
        display = displays[0]
        kept.append(self.log.keep(crop_bytes(path, display), ".jpg"))
        source |= {
            "engine": display.reader,
            "confidence": f"{display.confidence:.2f}",
            "display": display.characters,
            "box": [[f"{x:.1f}", f"{y:.1f}"] for x, y in display.box],
        }
        return self._take(lambda context: entry_of(display, context), source, kept)

    def keep_photo(self, path: Path, caption: str) -> Outcome:
        """A picture that is kept as it is, for the record."""
        from fieldnote.photo import read_picture

        read_picture(path)
        kept = self.log.keep(path, path.suffix.lower())
        step = self.step
        body = {
            "step": step.id if step is not None else None,
            "source": {"how": "photo", "file": path.name},
            "caption": caption,
        }
        record = self.log.append(self.ref, "photo", body, at=self._clock(), evidence=[kept])
        return Outcome(f"no. {record.number}  picture kept: {caption}", record)

    # ------------------------------------------------------------ changing

    def correct(self, number: int, text: str, why: str) -> Outcome:
        """Say anew what an entry says; the old value stays on record."""
        old = self.log.record(self.ref, number)
        if old.kind not in {*TAKEN, "question", "correction"}:
            raise BadInputError(
                f"No. {number} is no entry but a {old.kind}.", "Only entries can be corrected."
            )
        step = self._step_of_record(old)
        entry = parse(text, context_of(step, self.labels))
        if entry.kind in {"none", "unclear", "command"}:
            raise BadInputError(
                f"“{text}” cannot stand as a correction: {entry.reason or 'it is no entry'}.",
                'Write the whole reading, for instance "ten point four ohms".',
            )
        body = self._body(entry, step, {"how": "typed", "heard": text}) | {"why": why}
        record = self.log.append(self.ref, "correction", body, at=self._clock(), refers_to=old)
        return self._told(record, entry, body["verdict"], f"corrects no. {number}: ")

    def withdraw(self, number: int, why: str) -> Outcome:
        """Mark an entry as not counting; it stays on record."""
        record = self.log.append(
            self.ref, "withdrawal", {"why": why}, at=self._clock(), refers_to=number
        )
        return Outcome(
            f"no. {record.number}  withdraws no. {number}: {why}", record, spoken="withdrawn"
        )

    # ------------------------------------------------------------ inside

    def _listener(self, engine: str | None) -> Listener:
        from fieldnote.language import Grammar
        from fieldnote.session.interpret import Listener
        from fieldnote.speech import engines

        grammar = Grammar.build(Context(labels=self.labels))
        return Listener(engines(grammar, names=[engine] if engine else None))

    def _hear(self, utterance: Any, listener: Listener, file: str) -> Outcome:
        from fieldnote.speech.sound import clip_bytes

        clip = self.log.keep(clip_bytes(utterance.samples), ".flac")
        heard = listener.interpret(utterance.samples, context_of(self.step, self.labels))
        source: dict[str, Any] = {
            "how": "voice",
            "file": file,
            "engine": heard.engine,
            "heard": heard.heard,
            "confidence": f"{heard.confidence:.2f}",
            "start": f"{utterance.start:.2f}",
            "end": f"{utterance.end:.2f}",
        }
        if heard.second is not None:
            source["second"] = {key: str(value) for key, value in heard.second.items()}

        def read(context: Context) -> Entry:
            if heard.entry.kind in {"unclear", "none"}:
                return heard.entry
            return parse(heard.heard, context)

        return self._take(read, source, [clip])

    def _take(
        self,
        read: Callable[[Context], Entry],
        source: Mapping[str, Any],
        kept: Sequence[Evidence] = (),
    ) -> Outcome:
        """Read with what the step tells, find the step it answers, judge, write down."""
        here = self.step
        entry = read(context_of(here, self.labels))
        named = self._step_named(read(Context(labels=self.labels)), here)
        if named is not here:
            here = named
            entry = read(context_of(here, self.labels))
        if entry.kind == "command" and entry.command is not None:
            return self._command(entry.command, entry)
        if entry.kind == "none":
            return Outcome(f"not a reading, not kept: “{entry.text}”")
        if here is not None and here.kind == "observe" and entry.kind == "remark":
            entry = replace(entry, label=_choice(entry.text, here.labels))
        kind = {"unclear": "question", "remark": "remark", "wire": "wire"}.get(
            entry.kind, "reading"
        )
        return self._write(kind, entry, here, source, kept)

    def _step_named(self, entry: Entry, here: Step | None) -> Step | None:
        """The step that an entry answers: the one its words name, else the one we are at.

        None where it names something that is no measuring point of this procedure, or several:
        it is then kept for what it is, and judged by no step's window.
        """
        names = _names(entry)
        if entry.kind not in SHOWN | {"series"} or not self.steps:
            return here
        if here is not None and (not names or names & set(here.labels)):
            pins = set(getattr(here, "pins", ()))
            return here if not pins or not entry.pins or pins == set(entry.pins) else None
        named = [step for step in self.steps if step.unit is not None and names & set(step.labels)]
        return named[0] if len(named) == 1 else None

    def _write(
        self,
        kind: str,
        entry: Entry,
        step: Step | None,
        source: Mapping[str, Any],
        kept: Sequence[Evidence],
    ) -> Outcome:
        try:
            body = self._body(entry, step, source)
        except (
            FieldnoteError
        ) as error:  # beyond the meter's range, or a limit that is not known yet
            entry = replace(entry, kind="unclear", reason=str(error))
            kind, body = "question", self._body(entry, step, source)
        asked = self._last() if kind == "reading" else None
        answers = (
            asked.record.number
            if asked is not None
            and asked.original.kind == "question"
            and asked.record.body.get("step") == body["step"]
            else None
        )
        record = self.log.append(
            self.ref, kind, body, at=self._clock(), evidence=kept, refers_to=answers
        )
        return self._told(record, entry, body["verdict"])

    def _told(
        self, record: Record, entry: Entry, verdict: Mapping[str, Any] | None, lead: str = ""
    ) -> Outcome:
        said = f"no. {record.number}  {lead}{entry_text(entry.to_json())}"
        if record.kind == "question":
            return Outcome(said, record, asked=True, spoken="say again", tone="unclear")
        result = str(verdict["result"]) if verdict else "unchecked"
        spoken = ", ".join(filter(None, [speak(entry), VERDICT_WORDS.get(result, "")]))
        if verdict:
            window = record.body.get("window")
            said += "  " + verdict_text(verdict, window)
        return Outcome(said, record, spoken=spoken, tone=result if result != "unchecked" else None)

    def _body(self, entry: Entry, step: Step | None, source: Mapping[str, Any]) -> dict[str, Any]:
        window = verdict = None
        meter = self._meter(step)
        if step is not None and entry.kind in {"reading", "open", "short"}:
            window = window_for(step, entry, self.facts, self._values())
            verdict = verdict_of(entry, window, meter)
        return {
            "entry": entry.to_json(),
            "step": step.id if step is not None else None,
            "source": dict(source),
            "window": window.to_json() if window is not None else None,
            "verdict": verdict.to_json() if verdict is not None else None,
            "meter": meter.id if meter is not None else None,
        }

    def _values(self) -> dict[str, Fraction]:
        """Earlier readings by step id, in their steps' units, for limits that depend on them."""
        found = {}
        for item in self.log.standing(self.ref):
            step = self._step_of_record(item.record)
            if item.counts and item.record.kind in {"reading", "correction"} and step is not None:
                value = value_in(step, Entry(**_tuples(item.record.body["entry"])))
                if value is not None:
                    found[step.id] = value
        return found

    def _meter(self, step: Step | None) -> Instrument | None:
        own = getattr(step, "meter", None)
        jobs = self.facts.get("meter") or {}
        name = own or (jobs.get("id") if isinstance(jobs, Mapping) else jobs)
        return self._register.instrument(name) if name else None

    def _step_of_record(self, record: Record) -> Step | None:
        return next((step for step in self.steps if step.id == record.body.get("step")), None)

    # ------------------------------------------------------------ commands

    def _command(self, command: str, entry: Entry) -> Outcome:
        here = self.step
        match command:
            case "withdraw":
                last = self._last()
                if last is None:
                    return Outcome("There is nothing to withdraw.", spoken="nothing to withdraw")
                return self.withdraw(last.record.number, f"said: {entry.text}")
            case "next" | "yes":
                return self._move("next", here, +1)
            case "skip":
                return self._move("skip", here, +1, why=f"said: {entry.text}")
            case "back":
                return self._move("back", here, -1)
            case "limit":
                return self._say_limit(here)
            case "last":
                last = self._last()
                if last is None:
                    return Outcome("Nothing was taken yet.", spoken="nothing yet")
                text = entry_text(last.record.body.get("entry") or {"kind": "none"})
                return Outcome(f"Last: no. {last.record.number}  {text}", spoken=text)
            case "repeat" | "where":
                return self._announce(here)
            case "stop":
                return Outcome("Stopped.", ended=True)
            case _:
                return Outcome(f"“{entry.text}” does nothing while recording.", spoken="not here")

    def _move(self, move: str, here: Step | None, by: int, why: str | None = None) -> Outcome:
        if not self.steps:
            return Outcome("This job follows no procedure, so there are no steps.")
        at = len(self.steps) if here is None else self.steps.index(here)
        to = min(max(at + by, 0), len(self.steps))
        target = self.steps[to] if to < len(self.steps) else None
        body = {"step": target.id if target is not None else None, "move": move, "why": why}
        if here is not None:
            body["from"] = here.id
        record = self.log.append(self.ref, "step", body, at=self._clock())
        return replace(self._announce(target), record=record)

    def _announce(self, step: Step | None) -> Outcome:
        if step is None:
            return Outcome("All steps are done.", spoken="all steps are done")
        number = self.steps.index(step) + 1
        return Outcome(f"Step {number} of {len(self.steps)}: {step.ask}", spoken=step.say)

    def _say_limit(self, step: Step | None) -> Outcome:
        if step is None or step.unit is None:
            return Outcome("This step has no limit.", spoken="no limit")
        window = window_for(step, Entry("none"), self.facts, self._values())
        text = window.describe() if window is not None else "no limit"
        return Outcome(f"Limit: {text}", spoken=text)


def _names(entry: Entry) -> set[str]:
    """What an entry says it belongs to, in every order a measuring point may be called."""
    label, position = entry.label, entry.position
    both = {f"{position} {label}", f"{label} {position}"} if label and position else set()
    return both | {name for name in (label, position) if name}


def _choice(text: str, choices: Sequence[str]) -> str | None:
    """The one choice of an observe step that a remark names."""
    named = [choice for choice in choices if choice.lower() in text.lower().split()]
    return named[0] if len(named) == 1 else None


def _tuples(entry: Mapping[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in entry.items()}
