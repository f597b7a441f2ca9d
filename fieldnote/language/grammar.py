"""What the recogniser may hear, derived from the same vocabulary that the parser reads."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, cached_property

from fieldnote.language import vocabulary as v
from fieldnote.language.automaton import Net, Pattern, alt, minimal, opt, seq, words
from fieldnote.language.entry import NO_CONTEXT, Context
from fieldnote.language.examples import example
from fieldnote.language.numbers import STARTERS
from fieldnote.language.speak import speak_number
from fieldnote.language.text import DASH, PAUSE, UNIT_MARK, words_of
from fieldnote.language.units import PREFIXED_NUMBER, UNITS, Unit, kind_of

Arc = tuple[int, str, int]

_TRIES = 1000
"""Examples drawn in search of one that a narrow grammar takes."""


@dataclass(frozen=True)
class Grammar:
    """A minimal deterministic word automaton, and its other forms.

    start: the first state (0). arcs: (state, word, state), sorted. finals: where a sentence may
    end. labels: the step's names, as they are said.
    """

    arcs: tuple[Arc, ...]
    finals: frozenset[int]
    start: int = 0
    labels: tuple[str, ...] = ()

    @classmethod
    def build(
        cls,
        context: Context = NO_CONTEXT,
        kinds: Iterable[str] | None = None,
        *,
        wide: bool = False,
    ) -> Grammar:
        """The grammar of a step.

        Args:
            context: its labels may stand alone or before a value, its choices alone; its ``kind``
                or ``unit`` narrows the units where ``kinds`` is not given; ``question`` adds what
                answers one.
            kinds: kinds of quantity whose units may be heard ("resistance", "angle"); None: all, or
                the step's. "Degrees" without a scale stays in wherever temperature is.
            wide: every name, filler and command that the parser knows, names in any order (twice
                the size, and more that noise can be taken for); else the common ones and the step's
                labels.
        """
        if kinds is None:
            wanted = kind_of(context.unit or "") or kind_of(context.kind or "")
            kinds = (wanted,) if wanted else None
        chosen = None if kinds is None else tuple(dict.fromkeys(kinds))
        return _built(chosen, context.labels, context.choices, wide, context.question)

    @cached_property
    def words(self) -> frozenset[str]:
        """Every word that can be heard: the decoder needs a pronunciation for each."""
        return frozenset(word for _, word, _ in self.arcs)

    @cached_property
    def chains(self) -> tuple[tuple[str, int, tuple[int, ...]], ...]:
        """Arcs that share word and target, as (word, target, sources): a decoder needs the phones
        of
        such arcs only once, entered with the best of the sources."""
        sources: dict[tuple[str, int], list[int]] = defaultdict(list)
        for source, word, target in self.arcs:
            sources[word, target].append(source)
        return tuple((word, target, tuple(states)) for (word, target), states in sources.items())

    @cached_property
    def moves(self) -> dict[int, dict[str, int]]:
        """Where each word leads from each state."""
        moves: dict[int, dict[str, int]] = defaultdict(dict)
        for source, word, target in self.arcs:
            moves[source][word] = target
        return dict(moves)

    def accepts(self, text: str) -> bool:
        """Whether the automaton takes the words of ``text`` (pauses aside) from start to a
        final."""
        state = self.start
        for word in spoken_words(text):
            following = self.moves.get(state, {}).get(word)
            if following is None:
                return False
            state = following
        return state in self.finals

    def sample(self, rng: random.Random) -> str:
        """A random sentence of the grammar, with what people say often coming often.

        The same for the same state of ``rng``. For tests, benchmarks and training a recogniser.
        """
        for _ in range(_TRIES):
            sentence = example(rng, self.labels)
            if self.accepts(sentence):
                return sentence
        return self.walk(rng)

    def walk(self, rng: random.Random, length: int = 24) -> str:
        """A random sentence of the grammar, every way through it as likely as any other."""
        state = self.start
        said: list[str] = []
        while True:
            moves = self.moves.get(state, {})
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
            for word, following in self.moves.get(here, {}).items():
                if following not in seen:
                    seen.add(following)
                    fringe.append((following, [*path, word]))
        return " ".join(said)

    def phrases(self) -> list[str]:
        """For a recogniser that takes a list of phrases and joins them freely (vosk): every word on
        its own, and the phrases whose inner order matters."""
        forms = [
            *(form for unit in UNITS.values() for form in unit.spoken),
            *(form for forms in v.COMMANDS.values() for form in forms),
            *v.OPEN, *v.SHORT, *v.CORRECTIONS, *v.NOUNS, *v.STATES, *v.POSITIONS, *v.HEDGES,
        ]  # fmt: skip
        several = {form for form in forms if " " in form and self.words.issuperset(form.split())}
        numbers = {
            f"{tens} {one}"
            for tens in v.TENS
            for one, digit in v.DIGITS.items()
            if digit != "0" and {tens, one} <= self.words
        }
        return sorted(self.words) + sorted(several | numbers)

    def jsgf(self, name: str = "readings") -> str:
        """The automaton as JSGF 1.0 text (W3C note, 5 June 2000): one rule a state,
        right-recursive."""
        by_target: dict[int, dict[int, list[str]]] = defaultdict(lambda: defaultdict(list))
        for source, word, target in self.arcs:
            by_target[source][target].append(word)
        going_on = set(by_target)
        lines = ["#JSGF V1.0;", f"grammar {name};", f"public <utterance> = <s{self.start}>;"]
        for source in sorted(going_on):
            choices = []
            for target, said in sorted(by_target[source].items()):
                group = " | ".join(said) if len(said) == 1 else f"({' | '.join(said)})"
                if target in self.finals:
                    choices.append(f"{group} [<s{target}>]" if target in going_on else group)
                else:
                    choices.append(f"{group} <s{target}>")
            lines.append(f"<s{source}> = {' | '.join(choices)};")
        return "\n".join(lines) + "\n"

    def prompt(self) -> str:
        """A line of examples in the writing wanted, for a recogniser that takes a text to lean on
        (whisper); made of the units in this grammar, never of expected values."""
        symbols = [
            unit.symbol for unit in UNITS.values()
            if self.words.issuperset(unit.spoken[0].split()) and unit.ucum != "[pH]"
        ]  # fmt: skip
        picked = symbols[:24]
        shown = ", ".join(
            f"{number} {sign}" for number, sign in zip(_EXAMPLES, picked, strict=False)
        )
        return (
            f"Instrument readings: {shown}. Pin 3 black brown. Open. Over limit. "
            "Note connector corroded. Next step. Scratch that."
        )


def spoken_words(text: str) -> list[str]:
    """The words of ``text`` without pauses; digits and symbols as they are said."""
    said: list[str] = []
    for word in words_of(text):
        if word[0] == UNIT_MARK and word[1:] in UNITS:
            said += UNITS[word[1:]].spoken[0].split()
        elif word.replace(".", "", 1).isdecimal():
            said += speak_number(word).split()
        elif word not in (PAUSE, DASH):
            said.append(word)
    return said


_EXAMPLES = (
    "10.6", "0.47", "3000", "-5", "1.2", "21", "101.3", "45", "12.6", "400", "2.05", "85",
    "6.20", "115", "0.025", "220", "32", "1604", "7.5", "98.6", "14.4", "60", "5.1", "28",
)  # fmt: skip


@cache
def _built(
    kinds: tuple[str, ...] | None,
    labels: tuple[str, ...],
    choices: tuple[str, ...],
    wide: bool,
    question: bool,
) -> Grammar:
    """Built once for each kind and set of labels: it takes a second."""
    automaton = minimal(*_net(_units(kinds), labels, choices, wide, question))
    names = tuple(" ".join(spoken_words(label)) for label in labels)
    return Grammar(automaton.arcs, automaton.finals, labels=names)


def _units(kinds: Iterable[str] | None) -> list[Unit]:
    if kinds is None:
        return list(UNITS.values())
    wanted = set(kinds)
    units = [unit for unit in UNITS.values() if unit.kind in wanted]
    if "temperature" in wanted:
        units.append(UNITS["deg"])
    return units


# -- the rules -----------------------------------------------------------------------------------
def _number() -> tuple[Pattern, Pattern, Pattern, Pattern]:
    """Patterns without sign: a whole number, a fraction, a decimal, and its places alone."""
    one = words(_ONE)
    zero = words(_ZERO)
    digit = words([*_ONE, *_ZERO])
    two = alt(words(v.TEENS), seq(words(v.TENS), opt(one)))
    below_hundred = alt(one, two)
    hundreds = seq("hundred", opt(opt("and"), below_hundred))
    below_thousand = alt(below_hundred, seq(opt(alt(one, "a")), hundreds))
    rest = opt(opt("and"), alt(below_hundred, seq(one, hundreds)))
    cardinal = alt(
        below_thousand,
        seq(two, hundreds),
        seq(opt(alt(below_thousand, "a")), "thousand", rest),
        seq(below_thousand, "million"),
    )
    repeated = seq(words(v.REPEATS), digit)
    six = seq(digit, digit, opt(digit, opt(digit, opt(digit, opt(digit)))))
    digits = alt(six, seq(opt(one), repeated, opt(digit)))
    oh = words(["oh", "zero"])
    pair = alt(seq(one, two), seq(two, two), seq(two, oh, one), seq(two, "double", oh))
    whole = alt(cardinal, digits, pair, zero, "nil")
    some = seq(digit, opt(digit, opt(digit, opt(digit))))
    places = seq(words(v.POINT), alt(some, two, seq(repeated, opt(digit, opt(digit)))))
    parts = [word for word in v.DENOMINATORS if word.endswith("s")]
    part = alt(
        seq(opt("a"), words(word for word in v.DENOMINATORS if word not in parts)),
        seq("an", "eighth"),
        seq(alt(one, words(v.TEENS)), words([*parts, "quarter", *v.INEXACT])),
    )
    scale = words(["thousand", "million"])
    fraction = seq(opt(below_thousand, "and"), part, opt(scale))
    return whole, fraction, seq(opt(whole), places, opt(scale)), places


_ONE = [word for word, digit in v.DIGITS.items() if digit != "0"]
_ZERO = ["zero", "oh", "nought"]
_LOOSE = [*v.DIGITS, *v.TEENS, *v.TENS, *v.SCALES, *v.REPEATS, *v.DENOMINATORS]
_LETTERS = [*v.LETTERS, *(word for word in v.SPELLING_ALPHABET if " " not in word)]
_PHASES = ["l one", "l two", "l three"]
_CURRENTS = ["d c", "a c", "direct current", "alternating current"]
_NUMBER_JOINTS = ("a", "an", "and", "no")
_HESITATIONS = {"um", "uh", "er", "okay", "so", "yes", "yeah"}
"""At the beginning or before a value; expected inside a name, they would take a syllable of any
noise."""


def _single(forms: Iterable[str], but: Iterable[str] = ()) -> list[str]:
    """The words of ``forms`` one by one: in a loop their order is left to the parser. Words that
    begin a number are left out: they have their own places."""
    barred = {*STARTERS, *_NUMBER_JOINTS, *but}
    return list(
        dict.fromkeys(
            word for form in forms for word in form.split() if word not in barred and len(word) > 1
        )
    )


def _net(
    units: list[Unit],
    labels: Iterable[str],
    choices: Iterable[str],
    wide: bool,
    question: bool,
) -> tuple[Net, int, list[int]]:
    """The sentences as a net: (net, start, ends).

    Two things keep it small. What may follow a number does not depend on what came before it. And a
    number right behind a name ("cylinder two one forty") is any run of number words: where the name
    ends and the value begins is left to the parser.
    """
    net = Net()
    start, opening, names, named, run, pin, other_end = (net.state() for _ in range(7))
    number, unsigned, places, value, fraction, decimal = (net.state() for _ in range(6))
    linked, after, where, there, whereto, lettered = (net.state() for _ in range(6))
    circuit, colour, tracer, ends, first_end, last_end = (net.state() for _ in range(6))
    whole_pattern, fraction_pattern, decimal_pattern, places_pattern = _number()
    unit_forms = [form for unit in units for form in unit.spoken]
    numbered = {form.split()[-1] for form in v.NUMBERED} - STARTERS
    alone = net.state()
    choices = [name for choice in choices if (name := " ".join(spoken_words(choice)))]
    labels = [name for label in labels if (name := " ".join(spoken_words(label)))]
    corrections = [
        form for form in v.CORRECTIONS if form not in v.BOUNDS and form.split()[0] not in STARTERS
    ]
    # what the parser refuses must be heard as what it is, or something else would be heard in it
    results = [*v.OPEN, *v.SHORT, *v.NOTHING_READ]
    colours = [*v.COLOURS, *v.UNCODED_COLOURS, *(f"{s} {c}" for s in v.SHADES for c in v.COLOURS)]
    bounds = [form for form in v.BOUNDS if form not in ("within", "outside", "plus or minus")]

    # names and the words around a value
    net.jump(start, opening)
    positions = [*v.POSITIONS, *(f"{place} side" for place in v.POSITIONS if place != "back")]
    if wide:
        name_words = _single(
            [*v.NOUNS, *v.NUMBERED, *positions, *v.STATES, *v.PIN_PLACES, *labels, *v.FILLERS,
             *v.HEDGES, "at", "on"],
            but={*numbered, *v.PIN_WORDS, *v.COLOURS, "to"},
        )  # fmt: skip
        name_words += [
            form
            for form in (*v.FILLERS, *v.HEDGES)
            if form.startswith("i ") or " one " in form or form.endswith((" one's", " one"))
        ]
        trailing = _single([*v.NOUNS, *numbered, *v.PIN_PLACES, *labels])
    else:
        several = [
            *v.SPOKEN_NAMES,
            *positions,
            *v.STATES,
            *v.PIN_PLACES,
            *labels,
            *v.SPOKEN_FILLERS,
        ]
        name_words = [
            form for form in several
            if form not in numbered and form.split()[0] not in {*STARTERS, *_NUMBER_JOINTS}
        ]  # fmt: skip
        trailing = sorted({*numbered, *v.PIN_PLACES, *labels})
    begun = {form.split()[0] for form in [*unit_forms, *corrections]}
    for state in (opening, names, named, run):
        barred = begun if state == run else set()
        if not wide:
            barred = barred | _HESITATIONS
        net.arcs(state, [form for form in name_words if form.split()[0] not in barred], names)
        net.arcs(state, numbered, named)
        if not wide:
            net.arcs(state, v.LETTERED, lettered)
        net.arcs(state, [*v.PIN_WORDS, "between", "across", "from"], pin)
        net.arcs(state, results, circuit)
        net.arcs(
            state, (f"{article} {result}" for article in ("a", "an") for result in results), circuit
        )
        net.arcs(state, colours, colour)
    if not wide:
        net.arcs(opening, sorted(_HESITATIONS), opening)
        net.arcs(names, ["um", "uh", "er"], number)
    net.jump(opening, number)
    net.jump(names, number)
    net.arcs(names, ["to"], names)
    for state in (opening, names):
        net.arcs(state, _PHASES, run)
    net.arcs(named, ["number"], named)
    net.arcs(named, ["to"], names)
    net.arcs(run, ["has", "has a", "is", "is a"], names)
    net.arcs(other_end, numbered, named)
    net.arcs(other_end, v.LETTERED, lettered)
    net.arcs(other_end, _PHASES, run)
    net.arcs(pin, ["number", *v.PIN_WORDS], pin)
    for state in (named, pin, run):
        net.arcs(state, _LOOSE, run)
        net.arcs(state, v.SIGNS, unsigned)
        net.jump(state, places)
    # a letter is over in a moment, and heard into any noise: only where one is likely
    for state in (named, pin, other_end) if wide else (lettered, pin):
        net.arcs(state, _LETTERS, run)
    net.arcs(run, ["and", "to"], other_end)
    net.arcs(other_end, [*_LOOSE, *v.PIN_PLACES], run)
    net.arcs(other_end, v.PIN_WORDS, pin)

    # a value
    net.arcs(number, v.SIGNS, unsigned)
    net.jump(number, unsigned)
    net.jump(net.add(whole_pattern, unsigned), value)
    net.jump(net.add(fraction_pattern, unsigned), fraction)
    net.jump(fraction, value)
    net.jump(net.add(decimal_pattern, unsigned), decimal)
    net.jump(net.add(places_pattern, places), decimal)
    net.jump(decimal, value)
    net.arcs(decimal, ["and"], number)
    two_digits = alt(words(v.TEENS), seq(words(v.TENS), opt(words(_ONE))))
    net.jump(net.add(seq(two_digits, places_pattern), decimal), decimal)  # a series without "and"
    for state in (value, run):
        net.arcs(state, unit_forms, after)
        net.arcs(state, corrections, number)
    net.arcs(value, ["to", "or"], number)
    net.arcs(value, PREFIXED_NUMBER, after)
    for state in (value, after):
        net.arcs(state, ["plus or minus"], number)
    for state in (opening, names, named, run):
        net.arcs(state, bounds, number)
    for state in (opening, names):
        net.arcs(state, ["not"], number)
    net.arcs(fraction, ["a", "an", "of a", "of an"], linked)
    net.arcs(value, ["ish", *_CURRENTS], linked)
    net.arcs(linked, unit_forms, after)

    # behind it
    net.arcs(
        after,
        [*_CURRENTS, "please", *_single([*v.STATES, *v.POSITIONS, *v.HEDGES])]
        if wide
        else [*_CURRENTS, *v.STATES, *positions, "or so", "please"],
        after,
    )
    net.arcs(after, ["exactly"], after)
    net.arcs(after, ["between", "across", "from"], ends)
    names_of_pins = [*_ONE, *v.TEENS, *v.LETTERS]
    if wide:
        names_of_pins = [*_LOOSE, *_LETTERS]
        net.arcs(first_end, _LOOSE, first_end)
    net.arcs(ends, v.PIN_WORDS, ends)
    net.arcs(ends, names_of_pins, first_end)
    net.arcs(first_end, ["and", "to"], last_end)
    net.arcs(last_end, v.PIN_WORDS, last_end)
    net.arcs(last_end, [*names_of_pins, *v.PIN_PLACES], after)
    net.arcs(after, corrections, number)
    net.arcs(after, ["at", "on", "across", "in"], where)
    net.arcs(after, ["to"], whereto)
    net.arcs(whereto, v.PIN_PLACES, after)
    net.arcs(whereto, v.PIN_WORDS, last_end)
    net.arcs(where, ["the"], where)
    net.arcs(where, trailing, there)
    net.arcs(there, trailing, there)
    for state in (where, there):
        net.arcs(
            state,
            [f"{word} {name}" for word in v.PIN_WORDS for name in [*_ONE, *v.TEENS, *v.LETTERS]],
            after,
        )

    # open and short, and wires
    net.jump(circuit, after)
    net.arcs(circuit, [*v.PIN_WORDS, *(f"{word} number" for word in v.PIN_WORDS)], ends)
    net.arcs(circuit, names_of_pins if wide else [*_ONE, *v.TEENS], first_end)
    net.jump(first_end, after)
    net.arcs(colour, colours, tracer)
    net.arcs(colour, [*v.WIRE_WORDS, "with", "and", "a"], colour)
    net.arcs(colour, (f"{mark} on" for mark in v.TRACER_WORDS), colour)
    for state in (colour, tracer):
        net.jump(state, number)
    net.arcs(tracer, [*v.TRACER_WORDS, *v.WIRE_WORDS], tracer)

    # commands and remarks
    told, thanked, remark, described, asked, timed, minutes = (net.state() for _ in range(7))
    known = v.COMMANDS if wide else v.HEARD
    commands = [
        form
        for name, forms in known.items()
        for form in forms
        if wide or question or name not in v.ANSWERS
    ]
    net.arcs(
        start, ["okay", "please", "can you", "could you"] if wide else ["okay", "please"], asked
    )
    for state in (start, asked):
        net.arcs(state, commands, told)
    net.arcs(told, ["please"], thanked)
    net.arcs(start, ["set a timer", "start a timer", "set the timer"], timed)
    net.arcs(timed, ["for"], minutes)
    timer_number = net.add(
        alt(words(_ONE), words(v.TEENS), seq(words(v.TENS), opt(words(_ONE)))), minutes
    )
    net.arcs(
        timer_number, [form for code in ("min", "s", "h") for form in UNITS[code].spoken], told
    )
    net.arcs(start, corrections, number)
    net.arcs(start, v.REMARK_WORDS, remark)
    about = _single([*v.REMARK_NOUNS, *v.REMARK_ADJECTIVES, "is", "on", "the", "at"])
    for state in (remark, described):
        net.arcs(state, about, described)
    net.arcs(start, [*labels, *choices, *(f"it's {choice}" for choice in choices)], alone)
    if question:
        net.arcs(start, unit_forms, alone)
    ends_of_sentences = [
        value,
        run,
        after,
        there,
        circuit,
        colour,
        tracer,
        told,
        thanked,
        described,
        alone,
    ]
    return net, start, ends_of_sentences
