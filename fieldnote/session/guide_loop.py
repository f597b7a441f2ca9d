"""Runs a guided job: typed lines, voice and the clock come in together and are taken in turn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from fieldnote.errors import FieldnoteError
from fieldnote.session.guide import View
from fieldnote.session.guide_drive import Drive
from fieldnote.session.guide_events import Effect, End, Say
from fieldnote.session.inbox import Inbox
from fieldnote.session.notices import Growing, Listening, Notice

if TYPE_CHECKING:
    from fieldnote.language import Context
    from fieldnote.session.hearing import Sound
    from fieldnote.session.interpret import Heard
    from fieldnote.speech import Utterance
    from fieldnote.speech.sound import Samples

TICK = 0.25
"""s between looks at the clock while nothing comes in."""

Show = Callable[[View, Sequence[Effect]], None]


class Hears(Protocol):
    """What understands utterances: a `Listener`, or an `Ear` that has begun to."""

    def interpret(self, samples: Samples, context: Context) -> Heard: ...


def run(
    drive: Drive,
    *,
    lines: Iterable[str] = (),
    voice: Iterable[Sound] = (),
    listener: Hears | None = None,
    show: Show,
    speak: Callable[[Say], None] = lambda _: None,
    growing: Callable[[str], None] = lambda _: None,
) -> None:
    """Lead through the job until "stop", or until lines and voice have both ended.

    A typed line is an entry or a command; "picture FILE", "series FILE" and "code TEXT" hand over
    what cannot be typed. What goes wrong with one of them is said, and the job goes on.

    Args:
        lines: what is typed; read in a thread of its own.
        voice: an `Ear`, or utterances; likewise. listener: what understands them.
        show: called with the view and the latest effects. speak: called with what is to be spoken.
        growing: called with the words of what is being said, as they come.
    """
    inbox: Inbox[str | Sound] = Inbox(*([lines] if listener is None else [lines, voice]))
    _tell(drive, drive.begin(), show, speak)
    while inbox.open:
        item = inbox.next(timeout=TICK)
        if item is None:
            effects = drive.tick()
            if effects or drive.view().timer is not None:
                _tell(drive, effects, show, speak)
            continue
        if isinstance(item, Growing | Listening):
            growing(item.text if isinstance(item, Growing) else "listening")
            continue
        effects = _take(drive, item, listener)
        _tell(drive, effects, show, speak)
        if any(isinstance(effect, End) for effect in effects):
            return


def _take(
    drive: Drive, item: str | Utterance | Notice, listener: Hears | None
) -> tuple[Effect, ...]:
    if isinstance(item, Notice):
        return (Say(item.text, item.tone),)
    try:
        if isinstance(item, str):
            return _typed(drive, item.strip())
        assert listener is not None  # without one no utterance is fed
        return _heard(drive, item, listener)
    except FieldnoteError as error:
        return (Say(str(error), "ask"),)


def _typed(drive: Drive, line: str) -> tuple[Effect, ...]:
    first, _, rest = line.partition(" ")
    match first.lower(), rest.strip():
        case "", _:
            return ()
        case "picture", file if file:
            return drive.picture(Path(file))
        case "series", file if file:
            return drive.series(Path(file))
        case "code", text if text:
            return drive.code(text)
    return drive.text(line)


def _heard(drive: Drive, utterance: Utterance, listener: Hears) -> tuple[Effect, ...]:
    from fieldnote.speech.sound import clip_bytes

    clip = drive.log.keep(clip_bytes(utterance.samples), ".flac")
    heard = listener.interpret(utterance.samples, drive.guide.context(drive.state))
    length = f"{utterance.end - utterance.start:.2f}"
    return drive.heard(heard, clip, start="0.00", end=length)


def _tell(
    drive: Drive, effects: Sequence[Effect], show: Show, speak: Callable[[Say], None]
) -> None:
    show(drive.view(), effects)
    for effect in effects:
        if isinstance(effect, Say):
            speak(effect)
