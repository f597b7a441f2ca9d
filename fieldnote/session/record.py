"""Taking things into a job, one at a time: typed, from sound files, the microphone, pictures.

A job that follows a procedure is led by `guide_drive`; one without is taken down freely by `free`.
Evidence is kept before it is read, and all that lasts lies in the log, so that stopping and
starting again loses nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from fieldnote.errors import BadInputError, FieldnoteError
from fieldnote.joblog import Evidence, JobLog, Record
from fieldnote.language import Context
from fieldnote.procedure import Step
from fieldnote.session.free import FreeTaking
from fieldnote.session.guide import Guide
from fieldnote.session.guide_drive import Drive
from fieldnote.session.guide_events import Effect, End, Say, State, stored
from fieldnote.session.guide_wording import sentence
from fieldnote.session.inbox import Inbox
from fieldnote.session.notices import Growing, Listening, Notice
from fieldnote.session.said_anew import follow_up, left_over, said_anew, said_anew_at_step
from fieldnote.session.start import followed, register
from fieldnote.session.wording import record_text

if TYPE_CHECKING:
    from fieldnote.session.guide_loop import Hears
    from fieldnote.session.hearing import Ear, Sound
    from fieldnote.session.interpret import Heard, Listener
    from fieldnote.session.talk_key import TalkKey
    from fieldnote.speech import Microphone, Utterance
    from fieldnote.speech.sound import Samples

CORRECTABLE = {"reading", "remark", "wire", "correction", "question"}


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one thing taken.

    records: what was written. said: what is answered, in words; tone: before it.
    asked: it was unclear and should be said or shown again. ended: the person said "stop".
    """

    records: tuple[Record, ...] = ()
    said: str = ""
    tone: str | None = None
    asked: bool = False
    ended: bool = False

    @property
    def message(self) -> str:
        """For the terminal: a line a record, then what is answered."""
        lines = [record_text(record) for record in self.records if record.kind != "step"]
        return "\n".join([*lines, *([f"  {self.said}"] if self.said else [])])


class Taking(Protocol):
    """How things are taken into a job; each gives what is to be said, and stores by itself."""

    def context(self) -> Context: ...
    def text(self, words: str) -> tuple[Effect, ...]: ...
    def heard(
        self, heard: Heard, clip: Evidence, *, start: str, end: str, file: str = ...
    ) -> tuple[Effect, ...]: ...
    def picture(self, path: Path, caption: str = "") -> tuple[Effect, ...]: ...


class Recorder:
    """One open job, to be taken into.

    Args:
        log: the job log. ref: the job. clock: gives an aware datetime.
    """

    def __init__(self, log: JobLog, ref: str, *, clock: Callable[[], datetime]) -> None:
        self.log, self.ref, self._clock = log, ref, clock
        self._guide: Guide | None = None
        self._taking: Taking
        procedure = followed(log, ref)
        if procedure is None:
            self._taking = FreeTaking(log, ref, register(log.home), clock=clock)
        else:
            self._guide = Guide(procedure, log.job(ref).facts, register(log.home))
            self._taking = Drive(log, ref, self._guide, clock=clock)

    @property
    def drive(self) -> Drive | None:
        """The guided job; None for a job without a procedure."""
        return self._taking if isinstance(self._taking, Drive) else None

    @property
    def step(self) -> Step | None:
        """The step that is next; None without a procedure or at its end."""
        return self.drive.view().step if self.drive is not None else None

    # ------------------------------------------------------------ taking

    def take_text(self, text: str) -> Outcome:
        """A typed entry or command."""
        outcome = self._outcome(lambda: self._taking.text(text))
        if outcome.records or outcome.said:
            return outcome
        # Talk that is overheard is let pass; what somebody typed is not.
        return Outcome(said=f"“{text}” is no answer here; nothing was kept.", asked=True)

    def take_sound(
        self, path: Path, engine: str | None = None, start_word: str | None = None
    ) -> Iterator[Outcome]:
        """The readings in a sound file; each utterance's clip is kept before it is read.

        start_word: with it only what follows this word counts.
        """
        from fieldnote.session.hearing import Ear
        from fieldnote.speech import Utterance, read_sound
        from fieldnote.speech.sound import blocks

        read_sound(path)  # a file that is no sound is refused before an engine is loaded
        found = False
        with Ear(
            blocks(path),
            self.listener(engine),
            self._taking.context,
            live=False,
            start_word=start_word,
        ) as ear:
            for heard in ear:
                if isinstance(heard, Utterance):
                    found = True
                    yield self._hear(heard, ear, path.name)
        if not found:
            yield Outcome(said=f"{path.name}: nothing was said that could be heard.", asked=True)

    def listen(
        self,
        ear: Ear,
        *,
        lines: Iterable[str] = (),
        growing: Callable[[str], None] = lambda _: None,
        name: str = "microphone",
    ) -> Iterator[Outcome]:
        """What an opened ear hears and what is typed meanwhile, until "stop"; answered aloud.

        growing: called with the words of what is being said, as they come. name: of the source.
        """
        inbox: Inbox[str | Sound] = Inbox(lines, ear)
        while inbox.open:
            item = inbox.next()
            match item:
                case None:
                    continue
                case Growing(words):
                    growing(words)
                    continue
                case Listening():
                    growing("listening")
                    continue
                case Notice(text, tone):
                    outcome = Outcome(said=text, tone=tone)
                case str() if not item.strip():
                    continue
                case _:
                    outcome = self._taken(item, ear, name)
            yield outcome
            ear.answer(outcome.said, outcome.tone)
            if outcome.ended:
                return

    def ear(
        self,
        source: Microphone | Iterable[Samples],
        *,
        engine: str | None = None,
        recorded: Iterable[Samples] = (),
        talk_key: TalkKey | None = None,
        start_word: str | None = None,
        aloud: bool = False,
        words: bool = False,
    ) -> Ear:
        """An ear for this job, to be opened; see `Ear`."""
        from fieldnote.session.hearing import Ear

        return Ear(
            source,
            self.listener(engine),
            self._taking.context,
            recorded=recorded,
            talk_key=talk_key,
            start_word=start_word,
            aloud=aloud,
            words=words,
        )

    def take_photo(self, path: Path) -> Outcome:
        """What stands on the display in a picture; the picture is kept before it is read."""
        return self._outcome(lambda: self._taking.picture(path))

    def keep_photo(self, path: Path, caption: str) -> Outcome:
        """A picture that is kept as it is, for the record."""
        return self._outcome(lambda: self._taking.picture(path, caption))

    # ------------------------------------------------------------ changing

    def correct(self, number: int, text: str, why: str) -> Outcome:
        """Say anew what an entry says; the old value stays on record."""
        old = self.log.record(self.ref, number)
        if old.kind not in CORRECTABLE:
            raise BadInputError(
                f"No. {number} is no entry but a {old.kind}.", "Only entries can be corrected."
            )
        _, body = self._said_anew(old, text)
        made = self._append("correction", body | {"why": why}, old)
        return Outcome((*made.records, *self._worked_out_anew(old.number)))

    def answer(self, number: int, text: str) -> Outcome:
        """Say what an unclear entry was; it stays on record as it was heard or seen."""
        question = self.log.record(self.ref, number)
        if question.kind != "question":
            raise BadInputError(f"No. {number} is no open question.", "Correct it instead.")
        kind, body = self._said_anew(question, text)
        made = self._append(kind, body, question)
        return Outcome((*made.records, *self._worked_out_anew(number)))

    def withdraw(self, number: int, why: str) -> Outcome:
        """Mark an entry as not counting; it stays on record, and so does what goes with it."""
        records = list(
            self._append("withdrawal", {"why": why}, self.log.record(self.ref, number)).records
        )
        if self.drive is not None:
            for other in left_over(self.drive.guide, self._state()):
                body = {"why": f"worked out from no. {number}, which was withdrawn"}
                records += self._append("withdrawal", body, self._record(other)).records
            records += self._worked_out_anew(number)
        return Outcome(tuple(records))

    # ------------------------------------------------------------ inside

    def listener(self, engine: str | None = None) -> Listener:
        """The ear, with the words of this job's procedure."""
        from fieldnote.language import Grammar
        from fieldnote.session.interpret import Listener
        from fieldnote.speech import engines

        # The engines are made once: answers to a question are always heard, but only taken for
        # such while one is open.
        grammar = Grammar.build(Context(labels=self._taking.context().labels, question=True))
        return Listener(engines(grammar, names=[engine] if engine else None))

    def _hear(self, utterance: Utterance, listener: Hears, file: str) -> Outcome:
        from fieldnote.speech.sound import clip_bytes

        clip = self.log.keep(clip_bytes(utterance.samples), ".flac")
        heard = listener.interpret(utterance.samples, self._taking.context())
        seconds = f"{utterance.end - utterance.start:.2f}"
        return self._outcome(
            lambda: self._taking.heard(heard, clip, start="0.00", end=seconds, file=file)
        )

    def _taken(self, item: str | Utterance, ear: Hears, name: str) -> Outcome:
        """What goes wrong with one thing is said, and the listening goes on."""
        try:
            if isinstance(item, str):
                return self.take_text(item.strip())
            return self._hear(item, ear, name)
        except FieldnoteError as error:
            return Outcome(said=str(error), tone="ask", asked=True)

    def _outcome(self, take: Callable[[], Sequence[Effect]]) -> Outcome:
        before = self.log.job(self.ref).records
        effects = take()
        written = tuple(self.log.records(self.ref)[before:])
        says = [effect for effect in effects if isinstance(effect, Say)]
        tones = [effect.tone for effect in says if effect.tone]
        asked = any(record.kind == "question" for record in written)
        return Outcome(
            records=written,
            said=" ".join(sentence(effect.text) for effect in says),
            tone=tones[0] if tones else None,
            asked=asked or (not written and "ask" in tones),
            ended=any(isinstance(effect, End) for effect in effects),
        )

    def _append(self, kind: str, body: dict[str, Any], about: Record) -> Outcome:
        record = self.log.append(self.ref, kind, body, at=self._clock(), refers_to=about)
        return Outcome((record,))

    def _said_anew(self, old: Record, text: str) -> tuple[str, dict[str, Any]]:
        """Kind and body of a record that says what an older one should have said, judged anew."""
        if self.drive is None:
            return said_anew(old.body, text, self._taking.context().labels)
        return said_anew_at_step(self.drive.guide, self._state(), old.body, text)

    def _worked_out_anew(self, number: int) -> Iterator[Record]:
        """Correct what was worked out from the entry of that number."""
        while self.drive is not None:
            found = follow_up(self.drive.guide, self._state())
            if found is None:
                return
            about = self._record(found[0])
            body = found[1] | {"why": f"worked out anew: no. {number} was changed"}
            yield from self._append("correction", body, about).records

    def _record(self, number: int) -> Record:
        return self.log.record(self.ref, number)

    def _state(self) -> State:
        return State(stored(self.log.records(self.ref)))
