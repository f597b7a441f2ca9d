"""What stands on a meter's display → the same entry that its words would make."""

from __future__ import annotations

import re

from fieldnote.language.entry import Context, Entry
from fieldnote.language.reader import parse

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")
_OVER = {"OL", "0L", "0.L", "O.L", "OL.", ".OL", "0L.", ".0L", "O.L.", "-OL", "-0L", "0F", "OF"}


def display_entry(characters: str, unit: str | None) -> Entry:
    """The entry of a display's ``characters`` ("-10.60", "OL", "----") with its ``unit`` (UCUM).

    Zeros in front are kept off the value only where they are padding ("007.5" is 7.5).
    """
    text = " ".join(characters.split())
    shown = text.replace(" ", "").replace("−", "-").upper()
    if not shown:
        return Entry("none", text=text, reason="the display is empty")
    if shown in _OVER or shown.strip(".") in _OVER:
        return Entry("open", text=text, unit=unit)
    if set(shown) <= {"-", "."}:
        return Entry("unclear", text=text, unit=unit, reason="the display shows no value")
    if not _NUMBER.fullmatch(shown):
        return Entry("unclear", text=text, unit=unit, reason="the characters are not one number")
    sign = "-" if shown[0] == "-" else ""
    whole, _, places = shown.lstrip("+-").partition(".")
    value = sign + (whole.lstrip("0") or "0") + (f".{places}" if places else "")
    if unit is None:
        return Entry("bare", value=value, text=text)
    return Entry("reading", value=value, unit=unit, unit_from="said", text=text)


__all__ = ["Context", "display_entry", "parse"]
