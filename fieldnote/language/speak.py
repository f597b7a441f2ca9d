"""An entry as words to be spoken back: the digits one hears are the digits that were kept."""

from __future__ import annotations

from fieldnote.language.entry import Entry
from fieldnote.language.units import UNITS
from fieldnote.language.vocabulary import COLOURS, DIGITS, TEENS, TENS

_DIGIT = {digit: word for word, digit in DIGITS.items() if word not in ("oh", "nought", "nil")}
_BELOW_TWENTY = {number: word for word, number in TEENS.items()}
_TENS = {number: word for word, number in TENS.items()}
_COLOUR = {code: name for name, code in reversed(COLOURS.items())}


def speak_number(digits: str) -> str:
    """Exact digits → words ("-10.60" → "minus ten point six zero").

    Whole numbers below ten million are said as cardinals, a counter's leading zeros and all longer
    ones digit by digit; the places after the point one by one.
    """
    sign = "minus " if digits.startswith("-") else ""
    whole, _, places = digits.lstrip("+-").partition(".")
    counter = len(whole) > 7 or (len(whole) > 1 and whole[0] == "0")
    said = " ".join(_DIGIT[digit] for digit in whole) if counter else _cardinal(int(whole))
    if places:
        said += " point " + " ".join(_DIGIT[digit] for digit in places)
    return sign + said


def _cardinal(number: int) -> str:
    if number < 10:
        return _DIGIT[str(number)]
    if number < 20:
        return _BELOW_TWENTY[number]
    if number < 100:
        tens, one = divmod(number, 10)
        return _TENS[tens * 10] + (f" {_DIGIT[str(one)]}" if one else "")
    for scale, word in ((1_000_000, "million"), (1000, "thousand"), (100, "hundred")):
        if number >= scale:
            count, rest = divmod(number, scale)
            said = f"{_cardinal(count)} {word}"
            if not rest:
                return said
            joint = " and " if rest < 100 else " "
            return said + joint + _cardinal(rest)
    raise AssertionError(number)


def speak(entry: Entry) -> str:
    """What is read back for an entry; for ``unclear`` the reason, as a question to the speaker.

    The words of a reading, an open or a short parse to the same entry again.
    """
    if entry.kind == "command":
        return (entry.command or "").replace("-", " ")
    if entry.kind == "remark":
        return f"note {entry.text}"
    if entry.kind == "none":
        return entry.reason or "nothing heard"
    if entry.kind == "unclear":
        asked = f": {_value(entry)}?" if entry.value else ""
        return f"unclear{asked} {entry.reason or ''}".strip()
    parts = [entry.position, entry.label, _pins(entry.pins)]
    if entry.kind in ("open", "short"):
        parts.append("open circuit" if entry.kind == "open" else "short circuit")
    elif entry.kind == "wire":
        parts.append(_colours(entry.colour or ""))
    else:
        parts += [entry.hedge, _value(entry)]
    parts.append(entry.state)
    return " ".join(part for part in parts if part)


def _value(entry: Entry) -> str:
    numbers = entry.values or ((entry.value,) if entry.value else ())
    said = " and ".join(speak_number(digits) for digits in numbers)
    if entry.unit:
        unit = UNITS.get(entry.unit)
        forms = unit.spoken if unit else (entry.unit,)
        one = len(numbers) == 1 and numbers[0].lstrip("-") == "1"
        said += " " + (_singular(forms) if one else forms[0])
    if entry.current:
        said += " " + " ".join(entry.current.lower())
    return said


def _singular(forms: tuple[str, ...]) -> str:
    plural = forms[0]
    for form in forms[1:]:
        if plural in (f"{form}s", f"{form}es"):
            return form
    return plural


def _pins(pins: tuple[str, ...]) -> str:
    names = [speak_number(pin) if pin.isdigit() else pin.lower() for pin in pins]
    return f"pin {' to '.join(names)}" if names else ""


def _colours(code: str) -> str:
    names = [_COLOUR.get(part, part) for part in code.split("/")]
    return names[0] if len(names) == 1 else f"{names[0]} with {names[1]} tracer"
