"""What a sorted statement amounts to: a reading, a result, a wire, or something to ask about.

Whatever could mean two things is ``unclear``, with a reason that a person can act on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Literal

from fieldnote.language import vocabulary as v
from fieldnote.language.entry import Context, Entry
from fieldnote.language.lexer import Item
from fieldnote.language.numbers import LEADING_ZERO, TWO_NUMBERS, Number, Trouble, read
from fieldnote.language.statement import Statement
from fieldnote.language.text import PAUSE
from fieldnote.language.units import UNITS, kind_of, symbol

Where = Literal["said", "step"] | None
_UnitFound = tuple[str | None, Where, str | None]

EVERYDAY = frozenset(
    {
        "turn",
        "second",
        "minute",
        "hour",
        "day",
        "foot",
        "yard",
        "mile",
        "pound",
        "bar",
        "revolution",
        "lux",
        "thou",
        "gram",
        "meter",
        "inch",
        "degree",
        "days",
        "bars",
    }
)
"""Units in the singular that are everyday words: alone they say nothing of a reading."""


def entry_of(items: list[Item], context: Context) -> Entry:
    """The entry of a statement without corrections."""
    said = Statement(items, context)
    label = " ".join(said.label) or " ".join(said.trailing) or None
    shared: dict[str, Any] = {
        "label": label,
        "pins": tuple(said.pins),
        "position": " ".join(dict.fromkeys(said.positions)) or None,
        "state": " ".join(dict.fromkeys(said.states)) or None,
        "hedge": " ".join(dict.fromkeys(said.hedges)) or None,
    }
    entry = _judge(said, context)
    if entry.kind in ("none", "command"):
        return entry
    shared = {name: value for name, value in shared.items() if not getattr(entry, name)}
    if said.currents and entry.kind in ("reading", "series", "bare", "unclear"):
        shared["current"] = said.currents[-1]
    return replace(entry, **shared)


def _judge(said: Statement, context: Context) -> Entry:
    if said.talk:
        return Entry("none", reason=f'talk: "{said.talk[0]}" is no part of a reading')
    if said.open or said.short:
        return _circuit(said)
    if said.values:
        return _values(said, context)
    if said.colours:
        return _wire(said)
    if said.unknown:
        return Entry("none", reason=f'no number and no result; "{said.unknown[0]}" is not known')
    if said.nothing:
        return Entry("unclear", reason="say what the meter shows: a number, open or short")
    if said.units_alone:
        if not context.question and all(word in EVERYDAY for word in said.unit_words):
            return Entry("none", reason=f'"{said.unit_words[0]}" without a number')
        return Entry("unclear", unit=said.units_alone[0], reason="a unit without a number")
    if said.pins:
        return Entry("unclear", reason="a terminal without a value or a colour")
    return Entry("none", reason="a name without a value" if said.label else "no reading in this")


def _circuit(said: Statement) -> Entry:
    if said.unknown or (said.loose_noun and not said.label):
        return Entry("none", reason=f'"{said.unknown[0]}" is not known' if said.unknown else "talk")
    if said.movable:
        return Entry("none", reason="something stands open; that is no measurement")
    if said.open and said.short:
        return Entry("unclear", reason="open and short at once")
    if said.bound:
        return Entry("none", reason="talk")
    pins: tuple[str, ...] = tuple(said.pins)
    if said.values:
        names = [v_.number for v_ in said.values]
        if (
            ((not pins and len(names) == 2 and "to" in said.joints) or said.between)
            and all(isinstance(n, Number) and n.digits.isdigit() for n in names)
            and not any(v_.unit for v_ in said.values)
        ):
            pins = tuple(n.digits for n in names if isinstance(n, Number))
        else:
            first = names[0]
            return Entry(
                "unclear",
                value=first.digits if isinstance(first, Number) else None,
                reason="a number and an open or short circuit at once",
            )
    if said.colours:
        code = _colour_code(said)
        return Entry("open" if said.open else "short", pins=pins, colour=code)
    return Entry("open" if said.open else "short", pins=pins)


def _colour_code(said: Statement) -> str | None:
    if any(colour[0] == "?" for colour in said.colours) or len(said.colours) > 2:
        return None
    colours = list(said.colours)
    if said.stripe_first:
        colours.reverse()
    return "/".join(colours)


def _wire(said: Statement) -> Entry:
    pins = tuple(said.pins or said.wire_pins)
    uncoded = [colour[1:] for colour in said.colours if colour[0] == "?"]
    if said.unknown:
        return Entry("none", reason=f'"{said.unknown[0]}" is not known')
    if uncoded:
        return Entry(
            "unclear", pins=pins, reason=f"no letter code (IEC 60757) for {uncoded[0]}; note it"
        )
    if len(said.colours) > 2:
        return Entry("unclear", pins=pins, reason="more than two colours")
    code = _colour_code(said)
    if not pins and not said.wire and len(said.colours) == 1:
        return Entry("unclear", colour=code, reason="a colour without a terminal")
    if not pins and len(said.colours) == 1:
        return Entry("unclear", colour=code, reason="a wire without a terminal")
    if said.trouble:
        return Entry("unclear", pins=pins, colour=code, reason=said.trouble)
    if said.order.count("colour") > 1:
        return Entry("unclear", pins=pins, reason="more than one wire; say them one by one")
    return Entry("wire", pins=pins, colour=code)


def _values(said: Statement, context: Context) -> Entry:
    numbers = [value.number for value in said.values]
    good = [n.digits for n in numbers if isinstance(n, Number)]
    unit = next((value.unit for value in reversed(said.values) if value.unit), None)
    shown = unit if unit and unit[0] not in "*?" else None
    best = good[0] if good else None
    others = tuple(good[1:])
    with_unit = unit is not None

    def unclear(reason: str, value: str | None = best, more: tuple[str, ...] = others) -> Entry:
        return Entry("unclear", value=value, unit=shown, reason=reason, alternatives=more)

    if said.unknown and not with_unit:
        return Entry("none", reason=f'"{said.unknown[0]}" is not known')
    if said.loose_noun and not with_unit and all("." not in digits for digits in good):
        return Entry("none", reason="a count of things, not a reading")
    if said.loose_noun and any(value.single for value in said.values):
        return Entry("none", reason="a thing named by its size, not a reading")
    if said.loose_noun and (not with_unit or said.unknown):
        return unclear("words after the value that do not belong to it")
    if len(said.unknown) > 1 and not _label_is_known(said):
        return Entry("none", reason=f'"{said.unknown[0]}" and "{said.unknown[1]}" are not known')
    if said.unknown and not _label_is_known(said):
        return unclear(f'the word "{said.unknown[0]}" is not known')
    if said.loose_noun and (said.unknown or any(value.symbol for value in said.values)):
        return unclear("words after the value that do not belong to it")
    if said.trouble:
        return unclear(said.trouble)
    if said.bound:
        return unclear(f'"{said.bound}" gives a bound, not a value')
    if said.nothing:
        return unclear("say what the meter shows: a number, open or short", None, ())
    for number in numbers:
        if isinstance(number, Trouble):
            more = number.candidates
            return unclear(number.reason, *((more[0], more[1:]) if more else (best, others)))
    if any(joint in ("to", "or", "through", "by") for joint in said.joints) and len(numbers) > 1:
        return unclear("a range or a choice where one value is wanted")
    if said.between and len(numbers) > 1:
        return unclear("a range where one value is wanted")
    if said.items[0].text == "and" or said.items[-1].text == "and":
        return unclear("the number seems to be cut off")
    units = {value.unit for value in said.values if value.unit}
    if len(units) > 1:
        return unclear("more than one unit")
    if said.units_alone:
        return unclear("a unit that stands apart from its number")
    if len(set(said.currents)) > 1:
        return unclear("both AC and DC")
    code, where, problem = _unit(unit, context)
    if problem:
        return Entry("unclear", value=best, unit=code, reason=problem, alternatives=others)
    if code and kind_of(code) == "time" and _BESIDE_A_TIME & {*said.states, *said.positions}:
        return unclear("a time until or since something, or a reading?")
    paired = any(isinstance(n, Number) and n.style == "pair" for n in numbers)
    if unit == "circ" and said.values[0].single and paired:
        return unclear('"turn" or "turns"?')  # "one eighty turn"
    counters = [n for n in numbers if isinstance(n, Number) and n.style == "counter"]
    if counters and code and kind_of(code) not in ("time", "angle"):
        return unclear(LEADING_ZERO)
    if len(numbers) > 1:
        return _series(said, good, code, where, unclear)
    if said.values[0].words == ("oh",) and where != "said":
        return Entry("none", reason='"oh" alone is no reading')
    colour = _colour_code(said) if said.colours else None
    return Entry(
        "reading" if code else "bare",
        value=best,
        unit=code,
        unit_from=where,
        colour=colour,
    )


_BESIDE_A_TIME = frozenset({"before", "after", "left"})


def _label_is_known(said: Statement) -> bool:
    """An unknown word may stand in a label only beside words that are known."""
    known = [word for word in [*said.label, *said.trailing] if word not in said.unknown]
    return bool(known) and len(said.unknown) <= len(known)


def _doubtful_series(said: Statement, good: list[str]) -> str | None:
    """Members that could be parts of one number: "two bar and a half", "twelve, point six"."""
    if said.order.count("value") > 1:
        return "more than one measuring point; say them one by one"
    if len(set(said.states)) > 1:
        return "values of more than one state; say them one by one"
    if len(said.values) == 2 and good[0] == good[1] and "and" not in said.joints:
        return "said twice, or two values?"
    for value in said.values[1:]:
        if isinstance(value.number, Number) and value.number.style == "fraction":
            return TWO_NUMBERS
        if value.words and (value.words[0] in v.POINT or value.words[0][0] == "."):
            return TWO_NUMBERS
    for value, following in zip(said.values, said.values[1:], strict=False):
        if (
            value.words
            and (value.words[-1] in v.SCALES or value.words[-1] in v.TENS)
            and isinstance(read([*value.words, *following.words]), Number)
        ):
            return TWO_NUMBERS
    return None


def _series(
    said: Statement, good: list[str], code: str | None, where: Where, unclear: Callable[..., Entry]
) -> Entry:
    if said.joints and not all(joint in (PAUSE, "and") for joint in said.joints):
        return Entry(
            "unclear", value=good[0], unit=code, reason=TWO_NUMBERS, alternatives=tuple(good[1:])
        )
    if not said.gaps.issuperset(range(1, len(good))):
        return Entry(
            "unclear", value=good[0], unit=code, reason=TWO_NUMBERS, alternatives=tuple(good[1:])
        )
    doubt = _doubtful_series(said, good)
    if doubt:
        return Entry(
            "unclear", value=good[0], unit=code, reason=doubt, alternatives=tuple(good[1:])
        )
    if all(len(digits) == 1 for digits in good):
        return Entry(
            "unclear", value=" ".join(good), unit=code, alternatives=("".join(good),),
            reason="a series of digits, or one number digit by digit",
        )  # fmt: skip
    return Entry(
        "series",
        value=" ".join(good),
        values=tuple(good),
        unit=code,
        unit_from=where,
    )


def _unit(unit: str | None, context: Context) -> _UnitFound:
    """(UCUM code, "said"/"step", what is wrong) for the unit said and the step."""
    wanted = kind_of(context.unit or "") or kind_of(context.kind or "")
    if unit is None:
        if context.unit:
            return context.unit, "step", None
        return None, None, None
    if unit == "?":
        return None, None, "M or m: mega or milli? say the unit in words"
    if unit[0] == "*":
        return _factor(unit[1:], wanted, context)
    if unit == "deg" and wanted == "temperature":
        if context.unit in ("Cel", "[degF]"):
            return context.unit, "step", None
        return None, None, "degrees Celsius or Fahrenheit?"
    if wanted and kind_of(unit) != wanted:
        return (
            unit,
            "said",
            f"{symbol(unit)} is a unit of {kind_of(unit)}, this step wants {wanted}",
        )
    return unit, "said", None


_BASES = {
    "resistance": "Ohm", "voltage": "V", "current": "A", "frequency": "Hz", "power": "W",
    "volume": "L",
}  # fmt: skip
"""Not length ("mills" are mm to some, thousandths of an inch to others), and not pressure
("three k" is 3000 psi, not 3 kPa)."""
_FACTORS = {"k": "k", "meg": "M", "mills": "m"}


def _factor(word: str, wanted: str | None, context: Context) -> _UnitFound:
    """ "ten k", "two meg", "five mills": a factor, whose unit only the step can name."""
    if word == "f":
        if wanted == "temperature":
            return "[degF]", "said", None
        return None, None, "F alone could be Fahrenheit or farad"
    code = _FACTORS[word] + _BASES.get(wanted or "", "?")
    if wanted in _BASES and code in UNITS:
        return code, "step", None
    return None, None, f'"{word}" without a unit behind it'
