"""The lines of ``fieldnote hear`` for sound that comes as it is spoken."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from fieldnote.language import Context, Grammar
from fieldnote.session.hearing import Ear
from fieldnote.session.interpret import NO_CONTEXT, Listener, as_line
from fieldnote.session.notices import Growing, Listening, Notice
from fieldnote.speech import engines


def plain_listener(engine: str | None, models: Path | None) -> Listener:
    """The engines with the whole grammar, as no job narrows it."""
    return Listener(engines(Grammar.build(), [engine] if engine else None, models))


def hear_live(
    ear: Ear, name: str, notice: Callable[[str], None], context: Context = NO_CONTEXT
) -> Iterator[dict[str, Any]]:
    """One dict an utterance, as `interpret.hear_files` has them; where the ear gives growing words,
    also ``{"kind": "partial", "file", "heard"}`` for each new state of them.

    name: of the source, for ``file``. notice: called with what a person should know.
    """
    for sound in ear:
        match sound:
            case Growing(words):
                yield {"kind": "partial", "file": name, "heard": words}
            case Listening():
                pass
            case Notice(text):
                notice(text)
            case _:
                heard = ear.interpret(sound.samples, context)
                yield as_line(name, sound.start, sound.end, heard)
