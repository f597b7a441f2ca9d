"""Words → one entry. The order of questions: command, remark, then value, result or wire; else
talk.

Every answer that is a value rests on words that were said.
"""

from __future__ import annotations

from dataclasses import replace

from fieldnote.language.commands import ANSWERS
from fieldnote.language.correction import corrected
from fieldnote.language.entry import NO_CONTEXT, Context, Entry
from fieldnote.language.lexer import items_of
from fieldnote.language.orders import command, command_beside, remark
from fieldnote.language.text import DASH, PAUSE, words_of


def parse(text: str, context: Context = NO_CONTEXT) -> Entry:
    """The entry that ``text`` says; never raises, whatever the text.

    Args:
        text: words as heard or typed, with or without punctuation and symbols.
        context: what the step tells (unit of bare numbers, kind, labels); never a limit.
    """
    heard = " ".join(text.split())
    words = words_of(text)
    if context.start_word:
        words = _without_start_word(words, context.start_word)
    spoken = [word for word in words if word != PAUSE and word != DASH]
    if not spoken:
        return Entry("none", text=heard, reason="nothing was said")
    order = command(spoken)
    if order and (context.question or order.command not in ANSWERS):
        return replace(order, text=heard)
    note = remark(spoken, heard)
    if note:
        return note
    if PAUSE in words and command_beside(words):
        return Entry("unclear", text=heard, reason="a value and a command; say them one by one")
    labels = tuple(label.lower() for label in context.labels)
    items = items_of(words, labels)
    entry = replace(corrected(items, context), text=heard)
    if entry.kind in ("none", "unclear"):
        return _choice(spoken, heard, context.choices) or entry
    return entry


_LEADS = ("it's", "it is", "that's", "looks", "it looks", "they are", "i'd say")


def _choice(spoken: list[str], heard: str, choices: tuple[str, ...]) -> Entry | None:
    """The answer to an observation: one of its choices alone, or after "it's" and the like."""
    said = " ".join(spoken)
    for choice in choices:
        name = " ".join(word for word in words_of(choice) if word not in (PAUSE, DASH))
        if name and (said == name or said in (f"{lead} {name}" for lead in _LEADS)):
            return Entry("remark", label=choice, text=heard)
    return None


def _without_start_word(words: list[str], start_word: str) -> list[str]:
    opening = words_of(start_word)
    if words[: len(opening)] == opening:
        return words[len(opening) :]
    return words
