"""What the recogniser may hear, derived from the same vocabulary that the parser reads."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from . import vocabulary as v
from .automaton import (
    Alt,
    Automaton,
    Opt,
    Pattern,
    Rule,
    Seq,
    Star,
    Words,
    alt,
    minimal,
    opt,
    rule,
    seq,
    star,
    words,
)
from .entry import Context
from .numbers import STARTERS
from .text import words_of
from .units import UNITS, Unit, kind_of

Arc = tuple[int, str, int]


@dataclass(frozen=True)
class Grammar:
    """A minimal deterministic word automaton, and its other forms.

    start: the first state (0). arcs: (state, word, state), sorted. finals: where a sentence may end.
    pattern: the rules behind it.
    """

    arcs: tuple[Arc, ...]
    finals: frozenset[int]
    pattern: Pattern
    start: int = 0

    @classmethod
    def build(cls, context: Context = Context(), kinds: Iterable[str] | None = None) -> Grammar:
        """The grammar of a step.

        Args:
            context: its labels join the names that may stand before a value; its ``kind`` or ``unit``
                narrows the units where ``kinds`` is not given.
            kinds: kinds of quantity whose units may be heard ("resistance", "angle"); None: all, or
                the step's. "degrees" without a scale stays in wherever temperature is.
        """
        if kinds is None:
            wanted = kind_of(context.unit or "") or kind_of(context.kind or "")
            kinds = (wanted,) if wanted else None
        pattern = _sentence(_units(kinds), context)
        automaton: Automaton = minimal(pattern)
        return cls(automaton.arcs, automaton.finals, pattern)

    @cached_property
    def words(self) -> frozenset[str]:
        """Every word that can be heard: the decoder needs a pronunciation for each."""
        return frozenset(word for _, word, _ in self.arcs)

    @cached_property
    def chains(self) -> tuple[tuple[str, int, tuple[int, ...]], ...]:
        """Arcs that share word and target, as (word, target, sources): a decoder needs the phones of
        such arcs only once, entered with the best of the sources."""
        sources: dict[tuple[str, int], list[int]] = defaultdict(list)
        for source, word, target in self.arcs:
            sources[word, target].append(source)
        return tuple((word, target, tuple(states)) for (word, target), states in sources.items())

    @cached_property
    def _moves(self) -> dict[int, dict[str, int]]:
        moves: dict[int, dict[str, int]] = defaultdict(dict)
        for source, word, target in self.arcs:
            moves[source][word] = target
        return dict(moves)

    def accepts(self, text: str) -> bool:
        """Whether the automaton takes the words of ``text`` (pauses aside) from start to a final."""
        state = self.start
        for word in words_of(text):
            if word == ",":
                continue
            following = self._moves.get(state, {}).get(word)
            if following is None:
                return False
            state = following
        return state in self.finals

    def sample(self, rng: random.Random, length: int = 24) -> str:
        """A random sentence of the grammar, for tests and for training a recogniser."""
        state = self.start
        said: list[str] = []
        while True:
            moves = self._moves.get(state, {})
            if state in self.finals and (not moves or rng.random() < 0.3):
                return " ".join(said)
            if len(said) >= length:
                return self._shortest_end(state, said)
            word = rng.choice(sorted(moves))
            said.append(word)
            state = moves[word]

    def _shortest_end(self, state: int, said: list[str]) -> str:
        seen = {state}
        fringe: list[tuple[int, list[str]]] = [(state, said)]
        while fringe:
            here, path = fringe.pop(0)
            if here in self.finals:
                return " ".join(path)
            for word, following in self._moves.get(here, {}).items():
                if following not in seen:
                    seen.add(following)
                    fringe.append((following, [*path, word]))
        return " ".join(said)

    def phrases(self) -> list[str]:
        """For a recogniser that takes a list of phrases and joins them freely (vosk): every word on
        its own, and the phrases whose inner order matters."""
        several = {
            " ".join(form)
            for form in _forms(self.pattern)
            if len(form) > 1 and self.words.issuperset(form)
        }
        numbers = {
            f"{tens} {one}"
            for tens in v.TENS
            for one, digit in v.DIGITS.items()
            if digit != "0" and {tens, one} <= self.words
        }
        return sorted(self.words) + sorted(several | numbers)

    def jsgf(self, name: str = "readings") -> str:
        """The rules as JSGF 1.0 text (W3C note 5 June 2000)."""
        rules: dict[str, str] = {}
        top = _jsgf(self.pattern, rules)
        lines = ["#JSGF V1.0;", f"grammar {name};"]
        lines += [f"<{rule_name}> = {text};" for rule_name, text in rules.items()]
        lines.append(f"public <utterance> = {top};")
        return "\n".join(lines) + "\n"

    def prompt(self) -> str:
        """A line of examples in the writing wanted, for a recogniser that takes a text to lean on
        (whisper); made of the units in this grammar, never of expected values."""
        symbols = [
            unit.symbol for unit in UNITS.values()
            if self.words.issuperset(unit.spoken[0].split()) and unit.ucum != "[pH]"
        ]  # fmt: skip
        picked = symbols[:24]
        shown = ", ".join(f"{number} {sign}" for number, sign in zip(_EXAMPLES, picked, strict=False))
        return (
            f"Instrument readings: {shown}. Pin 3 black brown. Open. Over limit. "
            "Note connector corroded. Next step. Scratch that."
        )


_EXAMPLES = (
    "10.6", "0.47", "3000", "-5", "1.2", "21", "101.3", "45", "12.6", "400", "2.05", "85",
    "6.20", "115", "0.025", "220", "32", "1604", "7.5", "98.6", "14.4", "60", "5.1", "28",
)  # fmt: skip


def _units(kinds: Iterable[str] | None) -> list[Unit]:
    if kinds is None:
        return list(UNITS.values())
    wanted = set(kinds)
    units = [unit for unit in UNITS.values() if unit.kind in wanted]
    if "temperature" in wanted:
        units.append(UNITS["deg"])
    return units


# -- the rules -----------------------------------------------------------------------------------
# Kept so that what may follow a number does not depend on what came before it: the automaton then
# needs the states of the number only once.
def _number() -> tuple[Pattern, Pattern]:
    """A number, and several decimals in a row."""
    one = words(word for word, digit in v.DIGITS.items() if digit != "0" )
    zero = words(["zero", "oh", "nought"])
    digit = alt(one, zero)
    teen = words(v.TEENS)
    tens = words(v.TENS)
    two = rule("two_digits", alt(teen, seq(tens, opt(one))))
    below_hundred = rule("below_hundred", alt(one, two))
    hundreds = seq("hundred", opt(opt("and"), below_hundred))
    below_thousand = rule("below_thousand", alt(below_hundred, seq(opt(alt(one, "a")), hundreds)))
    rest = opt(opt("and"), alt(below_hundred, seq(one, hundreds)))
    cardinal = rule(
        "cardinal",
        alt(
            below_thousand,
            seq(two, hundreds),
            seq(opt(alt(below_thousand, "a")), "thousand", rest),
            seq(below_thousand, "million"),
        ),
    )
    repeated = seq(words(v.REPEATS), digit)
    digits = rule(
        "digit_by_digit",
        alt(
            seq(one, digit, opt(digit, opt(digit))),
            seq(opt(one), repeated, opt(digit)),
        ),
    )
    oh = words(["oh", "zero"])
    pair = rule("pair", alt(seq(one, two), seq(two, two), seq(two, oh, one), seq(two, "double", oh)))
    whole = rule("whole", alt(cardinal, digits, pair, zero, "nil"))
    point = words(v.POINT)
    places = rule(
        "places",
        alt(seq(digit, opt(digit, opt(digit, opt(digit)))), two, seq(repeated, opt(digit, opt(digit)))),
    )
    part = rule(
        "fraction",
        alt(
            seq(opt("a"), words(w for w in v.DENOMINATORS if not w.endswith("s") and w != "eighth")),
            seq("an", "eighth"),
            seq(alt(one, teen), words(w for w in v.DENOMINATORS if w.endswith("s") or w == "quarter")),
        ),
    )
    decimal = seq(point, places)
    scale = words(["thousand", "million"])
    number = rule(
        "number",
        opt(words(v.SIGNS)),
        alt(
            whole,
            seq(opt(whole), decimal, opt(scale)),
            seq(opt(below_thousand, "and"), part, opt(scale)),
        ),
    )
    following = alt(seq("and", below_hundred), two)
    series = rule("series", opt(below_hundred), point, digit, opt(digit),
                  star(seq(following, point, digit, opt(digit))))  # fmt: skip
    return number, series


_NUMBER_JOINTS = ("a", "an", "and", "no")


def _single(forms: Iterable[str]) -> Pattern:
    """The words of ``forms`` one by one: inside a loop their order is left to the parser."""
    return words(
        dict.fromkeys(
            word for form in forms for word in form.split()
            if word not in STARTERS and word not in _NUMBER_JOINTS
        )
    )  # fmt: skip


def _sentence(units: list[Unit], context: Context) -> Pattern:
    number, series = _number()
    one = words(word for word, digit in v.DIGITS.items() if digit != "0")
    index = rule("index", alt(one, words(v.TEENS), seq(words(v.TENS), opt(one))))
    letters = words([*v.LETTERS, *(word for word in v.SPELLING_ALPHABET if " " not in word)])
    name = rule("name", alt(index, letters))
    unit = rule("unit", words(form for unit in units for form in unit.spoken))
    current = words(["d c", "a c"])
    place = words(v.PIN_PLACES)
    pin_word = words(v.PIN_WORDS)
    terminal = rule("terminal", pin_word, name)
    pins = rule(
        "pins",
        alt(
            seq(terminal, opt(words(["to", "and"]), alt(terminal, place, name))),
            seq(words(["between", "across", "from"]), opt(pin_word), name,
                words(["to", "and"]), alt(terminal, place, name)),
        ),
    )  # fmt: skip
    names = _single(
        [*v.NOUNS, *v.POSITIONS, "side", *v.STATES, *v.PIN_PLACES, *v.FILLERS, *v.HEDGES, "at", "on",
         *(label.lower() for label in context.labels)]
    )  # fmt: skip
    label = rule("label", alt(names, seq(words(v.NUMBERED), opt(name)), pins, seq(place, "to", place)))
    measured = rule("measured", opt(words(["a", "an", "of a", "of an"])), unit, opt(current))
    trailing = _single([*v.STATES, *v.POSITIONS, "side", *v.HEDGES, *v.NOUNS, *v.NUMBERED, "at", "on", "across", "the",
                        "for", "in", *v.PIN_PLACES])
    after = rule("after", star(alt(trailing, seq("on", terminal), seq("to", place))))
    correction = rule("correction", words(form for form in v.CORRECTIONS if form not in v.BOUNDS))
    circuit = rule(
        "circuit",
        words([*v.OPEN, *v.SHORT]),
        opt(words(["to", "between", "on", "at", "across"]),
            alt(place, seq(terminal, opt(words(["to", "and"]), alt(place, terminal, name))))),
    )  # fmt: skip
    colour = words(v.COLOURS)
    stripe = words(v.TRACER_WORDS)
    wire_word = words(v.WIRE_WORDS)
    colours = rule(
        "colours",
        colour, opt(wire_word),
        opt(words(["with", "and", "with a", "and a"])), opt(colour, opt(alt(stripe, wire_word))),
    )  # fmt: skip
    wire = rule("wire", opt(alt(seq(terminal, opt("is")), seq(alt(wire_word, "connector"), index))),
                colours)  # fmt: skip
    statement = rule(
        "statement",
        star(label),
        alt(
            seq(number, measured, after),
            seq(number, opt(measured), star(seq(correction, number, opt(measured)))),
            seq(series, measured),
            circuit,
        ),
    )
    described = _single([*v.REMARK_NOUNS, *v.REMARK_ADJECTIVES, "is", "on", "the", "and", "at", "a"])
    remark = rule("remark", words(v.REMARK_WORDS), described, star(described))
    command = rule(
        "command",
        words(" ".join(words_of(form)) for forms in v.COMMANDS.values() for form in forms),
    )
    return alt(command, remark, statement, wire)


# -- other forms -----------------------------------------------------------------------------------
def _forms(pattern: Pattern) -> Iterable[tuple[str, ...]]:
    if isinstance(pattern, Words):
        yield from pattern.forms
    elif isinstance(pattern, Seq | Alt):
        for part in pattern.parts:
            yield from _forms(part)
    else:
        yield from _forms(pattern.part)


def _jsgf(pattern: Pattern, rules: dict[str, str]) -> str:
    if isinstance(pattern, Rule):
        if pattern.name not in rules:
            rules[pattern.name] = _jsgf(pattern.part, rules)
            rules[pattern.name] = rules.pop(pattern.name)  # after the rules it refers to
        return f"<{pattern.name}>"
    if isinstance(pattern, Words):
        return "(" + " | ".join(" ".join(form) for form in pattern.forms) + ")"
    if isinstance(pattern, Seq):
        return " ".join(_jsgf(part, rules) for part in pattern.parts)
    if isinstance(pattern, Alt):
        return "(" + " | ".join(_jsgf(part, rules) for part in pattern.parts) + ")"
    if isinstance(pattern, Opt):
        return "[" + _jsgf(pattern.part, rules) + "]"
    if isinstance(pattern, Star):
        return "(" + _jsgf(pattern.part, rules) + ")*"
    raise TypeError(pattern)


__all__ = ["Grammar"]
