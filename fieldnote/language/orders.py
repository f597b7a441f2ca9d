"""Commands of the session and the opening of a remark, found before anything is read as a value."""

from __future__ import annotations

from functools import cache

from fieldnote.language import vocabulary as v
from fieldnote.language.entry import Entry
from fieldnote.language.lexer import Role, items_of
from fieldnote.language.numbers import Number, read
from fieldnote.language.text import PAUSE
from fieldnote.language.units import kind_of


@cache
def _commands() -> dict[tuple[str, ...], str]:
    return {tuple(form.split()): name for name, forms in v.COMMANDS.items() for form in forms}


@cache
def _courtesies() -> tuple[tuple[str, ...], ...]:
    return tuple(sorted((tuple(form.split()) for form in v.COURTESIES), key=len, reverse=True))


_LONGEST_COMMAND = 12


def command(words: list[str]) -> Entry | None:
    if len(words) > _LONGEST_COMMAND + 4:
        return None
    table = _commands()
    name = table.get(tuple(words))
    if name:
        return Entry("command", command=name)
    half = len(words) // 2
    if words[:half] == words[half:] and tuple(words[:half]) in table:  # "stop, stop"
        return Entry("command", command=table[tuple(words[:half])])
    core = _stripped(words)
    name = table.get(tuple(core))
    if name:
        return Entry("command", command=name)
    if "timer" in core:
        return _timer(core)
    return None


_BESIDE_A_VALUE = ("withdraw", "yes", "no", "pause")
"""Commands whose words also correct or confirm a value in the same breath."""


def command_beside(words: list[str]) -> bool:
    """Whether one part of an utterance with pauses is a command and another holds a number."""
    parts: list[list[str]] = [[]]
    for word in words:
        if word == PAUSE:
            parts.append([])
        else:
            parts[-1].append(word)
    orders = [command(part) if part else None for part in parts]
    told = any(order and order.command not in _BESIDE_A_VALUE for order in orders)
    return told and any(
        Role.NUMBER in item.roles
        for part, order in zip(parts, orders, strict=True)
        if part and not order
        for item in items_of(list(part))
    )


def _stripped(words: list[str]) -> list[str]:
    """The words without courtesies at both ends ("okay, next step please")."""
    core = list(words)
    changed = True
    while changed and core:
        changed = False
        for form in _courtesies():
            size = len(form)
            if size < len(core) and tuple(core[:size]) == form:
                core = core[size:]
                changed = True
            if size < len(core) and tuple(core[-size:]) == form:
                core = core[:-size]
                changed = True
    return core


def _timer(words: list[str]) -> Entry | None:
    """ "Start a timer for five minutes": the command carries the time that was said."""
    table = _commands()
    for cut in range(len(words) - 1, 0, -1):
        name = table.get(tuple(words[:cut]))
        if name != "timer-start":
            continue
        rest = words[cut:]
        if rest[0] in v.TIMER_LINKS:
            rest = rest[1:]
        if not rest:
            return None
        items = items_of(list(rest))
        if len(items) == 2 and Role.NUMBER in items[0].roles and Role.UNIT in items[1].roles:
            number = read(items[0].words)
            if isinstance(number, Number) and kind_of(items[1].payload) == "time":
                return Entry(
                    "command", command=name, value=number.digits, unit=items[1].payload,
                    unit_from="said",
                )  # fmt: skip
        return None
    return None


@cache
def _remark_openings() -> tuple[tuple[str, ...], ...]:
    return tuple(sorted((tuple(form.split()) for form in v.REMARK_WORDS), key=len, reverse=True))


def remark(spoken: list[str], heard: str) -> Entry | None:
    """A remark's words are kept as they were heard, without the word that opens it."""
    lead = 0
    while lead < len(spoken) and spoken[lead] in ("okay", "um", "uh", "er", "so", "please"):
        lead += 1
    for opening in _remark_openings():
        if tuple(spoken[lead : lead + len(opening)]) == opening:
            rest = heard.split()[lead + len(opening) :]
            if spoken[lead + len(opening) :]:
                return Entry("remark", text=" ".join(rest).lstrip(",:;- "))
            return Entry("unclear", text=heard, reason="a remark without words")
    return None
