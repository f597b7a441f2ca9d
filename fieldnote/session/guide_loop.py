"""Runs a guided job: typed lines, voice and the clock come in together and are taken in turn."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnote.errors import FieldnoteError
from fieldnote.session.guide import View
from fieldnote.session.guide_drive import Drive
from fieldnote.session.guide_events import Effect, End, Say

if TYPE_CHECKING:
    from fieldnote.session.interpret import Listener
    from fieldnote.speech import Utterance

TICK = 0.25
"""s between looks at the clock while nothing comes in."""

Show = Callable[[View, Sequence[Effect]], None]


def run(
    drive: Drive,
    *,
    lines: Iterable[str] = (),
    voice: Iterable[Utterance] = (),
    listener: Listener | None = None,
    show: Show,
    speak: Callable[[Say], None] = lambda _: None,
) -> None:
    """Lead through the job until "stop", or until lines and voice have both ended.

    A typed line is an entry or a command; "picture FILE", "series FILE" and "code TEXT" hand over
    what cannot be typed. What goes wrong with one of them is said, and the job goes on.

    Args:
        lines: what is typed; read in a thread of its own.
        voice: utterances, from a file or the microphone; likewise. listener: what hears them.
        show: called with the view and the latest effects. speak: called with what is to be spoken.
    """
    inbox: queue.SimpleQueue[str | Utterance | None] = queue.SimpleQueue()
    feeders = [lines] if listener is None else [lines, voice]
    for source in feeders:
        threading.Thread(target=_feed, args=(source, inbox), daemon=True).start()
    _tell(drive, drive.begin(), show, speak)
    running = len(feeders)
    while running:
        try:
            item = inbox.get(timeout=TICK)
        except queue.Empty:
            effects = drive.tick()
            if effects or drive.view().timer is not None:
                _tell(drive, effects, show, speak)
            continue
        if item is None:
            running -= 1
            continue
        effects = _take(drive, item, listener)
        _tell(drive, effects, show, speak)
        if any(isinstance(effect, End) for effect in effects):
            return


def _feed(
    source: Iterable[str | Utterance], inbox: queue.SimpleQueue[str | Utterance | None]
) -> None:
    try:
        for item in source:
            inbox.put(item)
    finally:
        inbox.put(None)


def _take(drive: Drive, item: str | Utterance, listener: Listener | None) -> tuple[Effect, ...]:
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


def _heard(drive: Drive, utterance: Utterance, listener: Listener) -> tuple[Effect, ...]:
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
