"""Correction in mid-speech: "five point one, no, five point four bar"."""

from __future__ import annotations

from dataclasses import replace

from fieldnote.language import vocabulary as v
from fieldnote.language.entry import Context, Entry
from fieldnote.language.judgement import entry_of
from fieldnote.language.lexer import Item, Role
from fieldnote.language.statement import Statement
from fieldnote.language.units import kind_of


def corrected(items: list[Item], context: Context) -> Entry:
    """The entry of an utterance: where it corrects itself, the last value counts."""
    cut = None
    for place, item in enumerate(items):
        if Role.CORRECTION in item.roles and not _is_something_else(items, place):
            cut = place
    if cut is None:
        return entry_of(items, context)
    before = [item for item in items[:cut] if Role.CORRECTION not in item.roles]
    after = items[cut + 1 :]
    withdrawn = Statement(items[:cut], context) if before else None
    first = entry_of(_last_part(items[:cut]), context) if before else None
    second = entry_of(after, context)
    if _only_air(after):
        if first is not None and first.kind not in ("none", "command"):
            return Entry("unclear", reason="a value was taken back and none said in its place")
        return Entry("none", reason="no reading in this")
    if first is None and items[cut].words[0] in _WAITING and kind_of(second.unit or "") == "time":
        return Entry("none", reason="talk of a time to wait")
    if first is None or (first.kind == "none" and withdrawn is not None and not withdrawn.values):
        if second.kind in ("reading", "open", "short", "wire", "bare", "series"):
            return replace(second, command="withdraw")
        return second
    if first.kind == "none":
        return (
            replace(second, kind="none", value=None, unit=None)
            if second.kind == "none"
            else (
                Entry(
                    "unclear",
                    value=second.value,
                    unit=second.unit,
                    reason="talk before the correction",
                )
            )
        )
    return _joined(first, second, _begins_with_point(after))


def _last_part(items: list[Item]) -> list[Item]:
    """Of several corrections, the part between the last two."""
    for place in range(len(items) - 1, -1, -1):
        if Role.CORRECTION in items[place].roles and not _is_something_else(items, place):
            rest = items[place + 1 :]
            if any(Role.NUMBER in item.roles or Role.OPEN in item.roles for item in rest):
                head = [
                    item
                    for item in items[:place]
                    if Role.NUMBER not in item.roles
                    and Role.UNIT not in item.roles
                    and Role.CORRECTION not in item.roles
                ]
                return head + rest
            return _last_part(items[:place]) if place else items
    return items


def _is_something_else(items: list[Item], place: int) -> bool:
    """A phrase that can also be a bound ("not more than")."""
    item = items[place]
    return len(item.roles) > 1 and Role.BOUND in item.roles


_WAITING = ("wait", "hold", "hang")


def _only_air(items: list[Item]) -> bool:
    return all(
        item.roles & {Role.PAUSE, Role.FILLER, Role.CORRECTION, Role.HEDGE} for item in items
    )


def _begins_with_point(items: list[Item]) -> bool:
    number = next((item for item in items if Role.NUMBER in item.roles), None)
    return number is not None and (number.words[0] in v.POINT or number.words[0][0] == ".")


def _joined(first: Entry, second: Entry, point_first: bool) -> Entry:
    """The second stands; what it does not say again (label, unit, pins) stays from the first."""
    if second.kind in ("none", "command", "remark"):
        return Entry(
            "unclear", value=first.value, unit=first.unit, reason="a correction without a value"
        )
    if second.kind == "unclear" and not (second.value is None and second.colour is None):
        return replace(second, corrected=first.value)
    if second.kind == "unclear":
        return second
    if point_first and first.value and "." in first.value:
        return Entry(
            "unclear", value=second.value, unit=second.unit or first.unit,
            reason="only the part after the point was said again",
        )  # fmt: skip
    kept = {
        name: getattr(first, name)
        for name in ("label", "pins", "position", "state", "current", "colour")
        if not getattr(second, name) and getattr(first, name)
    }
    if second.kind in ("open", "short", "wire"):
        kept.pop("current", None)
    unit_unsaid = second.kind == "bare" or second.unit_from == "step"
    if unit_unsaid and first.unit and first.unit_from == "said":
        # the unit just said holds, not the step's: "5.1 kilohms, no, 5.4"
        kept |= {"unit": first.unit, "unit_from": "said"}
        kept |= {"kind": "reading"} if second.kind == "bare" else {}
    elif second.kind == "series" and second.unit is None and first.unit:
        kept |= {"unit": first.unit, "unit_from": first.unit_from}
    return replace(second, corrected=first.value, **kept)
