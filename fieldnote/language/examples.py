"""Sentences as people say them at a machine, drawn at random: for tests, benchmarks and training.

What is said often comes often: plain readings in everyday units most, fractions and corrections
now and then. The shares are ours, from no recording of anybody's work.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

from fieldnote.language import vocabulary as v
from fieldnote.language.speak import speak_number
from fieldnote.language.units import UNITS

_EVERYDAY_UNITS = (
    *("Ohm", "Ohm", "Ohm", "kOhm", "kOhm", "MOhm", "V", "V", "V", "mV", "A", "A", "mA", "Cel"),
    *("Cel", "[degF]", "deg", "bar", "bar", "[psi]", "[psi]", "kPa", "N.m", "[lbf_av].[in_i]"),
    *("[lbf_av].[ft_i]", "mm", "mm", "[in_i]", "[mil_i]", "%", "{rev}/min", "Hz", "s", "min"),
    *("h", "L/min", "W", "kW", "uF"),
)
"""UCUM codes; one that stands twice is said twice as often. They make four fifths of all units."""
_ONES = tuple(word for word, digit in v.DIGITS.items() if digit != "0" and word != "nil")
_COLOURS = tuple(v.COLOURS)
_HEDGED = ("about", "around", "roughly", "nearly", "just under", "just over")
_OPENINGS = ("it's", "reading", "i've got", "that's", "okay", "um")
_DIGIT = {digit: word for word, digit in v.DIGITS.items() if word not in ("oh", "nought", "nil")}


def example(rng: random.Random, labels: Sequence[str] = ()) -> str:
    """One sentence; the same for the same state of ``rng``. labels: names of measuring points
    that the step adds."""
    makers: dict[Callable[[], str], float] = {
        lambda: _reading(rng, labels): 58,
        lambda: _number(rng): 4,
        lambda: _digits(rng, rng.choice((3, 3, 4, 4, 5))): 4,
        lambda: _command(rng): 14,
        lambda: _result(rng, labels): 6,
        lambda: _wire(rng): 6,
        lambda: _remark(rng): 3,
        lambda: f"{_tenths(rng)} and {_tenths(rng)} {_unit(rng)}": 2,
        lambda: f"{_number(rng)} {rng.choice(('no', 'sorry', 'correction'))} {_with_unit(rng)}": 1,
        lambda: f"{rng.choice(('over', 'less than', 'more than'))} {_with_unit(rng)}": 1,
    }
    return rng.choices(list(makers), list(makers.values()))[0]()


def _reading(rng: random.Random, labels: Sequence[str]) -> str:
    said = _with_unit(rng)
    pick = rng.random()
    if pick < 0.05:
        said = f"{rng.choice(_HEDGED)} {said}"
    elif pick < 0.12:
        said = f"{rng.choice(_OPENINGS)} {said}"
    elif pick < 0.30:
        said = f"{_name(rng, labels)} {said}"
    elif pick < 0.36:
        said = f"pin {_below_hundred(rng, 12)} {rng.choice(('', 'to ground '))}{said}"
    elif pick < 0.42:
        said = f"{said} {rng.choice(v.STATES)}"
    return said


def _name(rng: random.Random, labels: Sequence[str]) -> str:
    if labels and rng.random() < 0.6:
        return rng.choice(labels)
    if rng.random() < 0.4:
        joint = rng.choice(("", " at", " at", " is", " reading"))
        return f"{rng.choice(v.NUMBERED[:12])} {_below_hundred(rng, 12)}{joint}"
    place = f"{rng.choice(v.POSITIONS[:10])} " if rng.random() < 0.3 else ""
    return place + rng.choice(v.SPOKEN_NAMES)


def _with_unit(rng: random.Random) -> str:
    if rng.random() < 0.03:
        whole = f"{_below_hundred(rng, 12)} and " if rng.random() < 0.5 else ""
        part = rng.choice(("a half", "a quarter", "three quarters", "five eighths"))
        return f"{whole}{part} {rng.choice(('inches', 'turns', 'bar'))}"
    unit = _unit(rng)
    sign = 0.25 if "degree" in unit else 0.06 if unit in ("volts", "amps", "bar") else 0.0
    signed = rng.choice(("minus ", "minus ", "negative ")) if rng.random() < sign else ""
    return f"{signed}{_number(rng)} {unit}"


def _tenths(rng: random.Random) -> str:
    return f"{_below_hundred(rng, 30)} point {_digits(rng, 1)}"


def _unit(rng: random.Random) -> str:
    everyday = rng.random() < 0.8
    code = rng.choice(_EVERYDAY_UNITS) if everyday else rng.choice(tuple(UNITS))
    forms = UNITS[code].spoken
    if rng.random() < 0.92:
        forms = tuple(form for form in forms if not _is_singular(form, forms)) or forms
    form = forms[0] if rng.random() < 0.6 else rng.choice(forms)
    if code in ("V", "A") and rng.random() < 0.15:
        form += rng.choice((" d c", " a c"))
    return form


def _is_singular(form: str, forms: Sequence[str]) -> bool:
    """ "Twelve volt" beside "twelve volts": said too, but seldom."""
    first, *rest = form.split()
    plural = {"inch": "inches", "foot": "feet", "henry": "henries"}.get(first, f"{first}s")
    return " ".join([plural, *rest]) in forms or f"{form}s" in forms


def _number(rng: random.Random) -> str:
    pick = rng.random()
    if pick < 0.5:
        whole = speak_number(str(rng.randrange(10 ** rng.choice((1, 2, 2, 2, 3)))))
        whole = rng.choice((whole, whole, whole, whole, "nought" if whole == "zero" else whole))
        places = _digits(rng, rng.choice((1, 1, 1, 2, 2, 3)))
        return f"{whole} point {places}" if rng.random() < 0.96 else f"point {places}"
    if pick < 0.72:
        return _below_hundred(rng, 100)
    number = rng.randrange(100, 1000) if rng.random() < 0.75 else rng.randrange(1000, 10_000)
    style = rng.random()
    if style < 0.35:
        return speak_number(str(number))
    if style < 0.55:
        return speak_number(str(number)).replace(" and ", " ")
    if style < 0.8:
        return _in_pairs(rng, str(number))
    return " ".join(_DIGIT[digit] for digit in str(number))


def _below_hundred(rng: random.Random, end: int) -> str:
    return speak_number(str(rng.randrange(1, end)))


def _in_pairs(rng: random.Random, digits: str) -> str:
    """ "Two fifty five", "sixteen oh four"."""
    head, tail = digits[:-2], digits[-2:]
    if tail == "00":
        return f"{speak_number(head)} hundred"
    if tail[0] == "0":
        return f"{speak_number(head)} oh {_DIGIT[tail[1]]}"
    return f"{speak_number(head)} {speak_number(tail)}"


def _digits(rng: random.Random, count: int) -> str:
    zero = rng.choice(("zero", "oh"))
    return " ".join(rng.choice((*_ONES, zero)) for _ in range(count))


def _command(rng: random.Random) -> str:
    names = [name for name in v.HEARD if name not in v.ANSWERS]
    forms = v.HEARD[rng.choice(names)]
    return forms[0] if rng.random() < 0.3 else rng.choice(forms)


def _result(rng: random.Random, labels: Sequence[str]) -> str:
    said = rng.choice((*v.OPEN[:8], *v.SHORT[:4], "open", "open circuit", "over limit"))
    if rng.random() < 0.3:
        return f"pin {_below_hundred(rng, 12)} {said}"
    return f"{_name(rng, labels)} {said}" if rng.random() < 0.2 else said


def _wire(rng: random.Random) -> str:
    base, tracer = rng.sample(_COLOURS, 2)
    where = f"{rng.choice(('pin', 'pin', 'terminal', 'cavity'))} {_below_hundred(rng, 25)}"
    pick = rng.random()
    if pick < 0.4:
        return f"{where} {base}"
    joint = rng.choice((f" {tracer}", f" with a {tracer} tracer", f" with {tracer} stripe"))
    return f"{where} {base}{joint}"


def _remark(rng: random.Random) -> str:
    opening = rng.choice(("note", "note", "note", "remark"))
    return f"{opening} {rng.choice(v.REMARK_NOUNS[27:])} {rng.choice(v.REMARK_ADJECTIVES)}"
