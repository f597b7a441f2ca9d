"""Words → one entry. The order of questions: command, remark, then value, result or wire; else talk.

Every answer that is a value rests on words that were said; whatever could mean two things is
``unclear`` with a reason a person can act on.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache

from . import vocabulary as v
from .entry import Context, Entry
from .lexer import Item, Role, items_of
from .numbers import TWO_NUMBERS, Number, Trouble, is_typed, read
from .text import DASH, PAUSE, UNIT_MARK, words_of
from .units import UNITS, kind_of, symbol


def parse(text: str, context: Context = Context()) -> Entry:
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
    command = _command(spoken)
    if command:
        return replace(command, text=heard)
    remark = _remark(spoken, heard)
    if remark is not None:
        return remark
    labels = tuple(label.lower() for label in context.labels)
    items = items_of(words, labels)
    return replace(_corrected(items, context), text=heard)


def _without_start_word(words: list[str], start_word: str) -> list[str]:
    opening = words_of(start_word)
    if words[: len(opening)] == opening:
        return words[len(opening) :]
    return words


# -- commands and remarks ----------------------------------------------------------------------
@cache
def _commands() -> dict[tuple[str, ...], str]:
    return {tuple(words_of(form)): name for name, forms in v.COMMANDS.items() for form in forms}


@cache
def _courtesies() -> tuple[tuple[str, ...], ...]:
    return tuple(sorted((tuple(form.split()) for form in v.COURTESIES), key=len, reverse=True))


_LONGEST_COMMAND = 12


def _command(words: list[str]) -> Entry | None:
    if len(words) > _LONGEST_COMMAND + 4:
        return None
    table = _commands()
    name = table.get(tuple(words))
    if name:
        return Entry("command", command=name)
    core = _stripped(words)
    name = table.get(tuple(core))
    if name:
        return Entry("command", command=name)
    if "timer" in core:
        return _timer(core)
    return None


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


def _remark(spoken: list[str], heard: str) -> Entry | None:
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


# -- correction in mid-speech ------------------------------------------------------------------
def _corrected(items: list[Item], context: Context) -> Entry:
    cut = None
    for place, item in enumerate(items):
        if Role.CORRECTION in item.roles and not _is_something_else(items, place):
            cut = place
    if cut is None:
        return _entry(items, context)
    before = [item for item in items[:cut] if Role.CORRECTION not in item.roles]
    after = items[cut + 1 :]
    withdrawn = _Reader(items[:cut], context) if before else None
    first = _entry(_last_part(items[:cut]), context) if before else None
    second = _entry(after, context)
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
    """ "no" before a number of a part ("no 2 pump") and "rather" and their kin inside other phrases."""
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
    if second.kind == "bare" and first.unit and first.unit_from == "said":
        kept |= {"kind": "reading", "unit": first.unit, "unit_from": "said"}
    elif second.kind == "series" and second.unit is None and first.unit:
        kept |= {"unit": first.unit, "unit_from": first.unit_from}
    return replace(second, corrected=first.value, **kept)


# -- one statement -----------------------------------------------------------------------------
@dataclass(slots=True)
class _Value:
    number: Number | Trouble
    unit: str | None = None
    single: bool = False
    symbol: bool = False
    words: tuple[str, ...] = ()


@dataclass(slots=True)
class _Reader:
    """Walks the items once and sorts them; `_entry` judges what was found."""

    items: list[Item]
    context: Context
    place: int = 0
    values: list[_Value] = field(default_factory=list)
    label: list[str] = field(default_factory=list)
    trailing: list[str] = field(default_factory=list)
    pins: list[str] = field(default_factory=list)
    colours: list[str] = field(default_factory=list)
    positions: list[str] = field(default_factory=list)
    states: list[str] = field(default_factory=list)
    hedges: list[str] = field(default_factory=list)
    currents: list[str] = field(default_factory=list)
    order: list[str] = field(default_factory=list)
    units_alone: list[str] = field(default_factory=list)
    unit_words: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    talk: list[str] = field(default_factory=list)
    joints: list[str] = field(default_factory=list)
    trouble: str | None = None
    open: bool = False
    short: bool = False
    nothing: bool = False
    wire: bool = False
    bound: str | None = None
    stripe_first: bool = False
    loose_noun: bool = False
    movable: bool = False
    between: bool = False

    def __post_init__(self) -> None:
        while self.place < len(self.items):
            self._step()

    # looking
    def _at(self, place: int) -> Item | None:
        return self.items[place] if 0 <= place < len(self.items) else None

    def _has(self, place: int, role: Role) -> bool:
        item = self._at(place)
        return item is not None and role in item.roles

    def _skip_air(self, place: int) -> int:
        while (item := self._at(place)) is not None and item.roles <= {Role.FILLER}:
            place += 1
        return place

    def _step(self) -> None:
        item = self.items[self.place]
        roles = item.roles
        if Role.PAUSE in roles:
            self._pause()
        elif Role.NUMBER in roles:
            self._number(item)
        elif Role.PIN in roles and self._named(item, pin=True):
            pass
        elif Role.LETTER in roles:
            self._letter(item)
        elif Role.COLOUR in roles:
            self._colour(item)
        elif Role.UNCODED in roles:
            self.colours.append("?" + item.text)
            self.place += 1
        elif Role.OPEN in roles:
            self.open = True
            self.place += 1
        elif Role.SHORT in roles:
            self.short = True
            self.place += 1
            if item.words[-1] == "to":
                self._pins_after_link()
        elif Role.STATE in roles and not self._is_compound():
            self.states.append(item.text)
            self.place += 1
        elif Role.BOUND in roles and Role.CORRECTION not in roles:
            self.bound = self.bound or item.text
            self.place += 1
        elif Role.HEDGE in roles:
            self.hedges.append(item.text)
            self.place += 1
        elif Role.POSITION in roles and not (Role.NUMBERED in roles and self._numbered_ahead()):
            self.positions.append(item.text)
            self.place += 1
        elif Role.WIRE in roles and (self.colours or self._has(self.place + 1, Role.COLOUR)):
            self.wire = True
            self.place += 1
        elif Role.NUMBERED in roles and self._named(item, pin=False):
            pass
        elif Role.PLACE in roles and self._place(item):
            pass
        elif Role.NOUN in roles or Role.PLACE in roles or Role.PIN in roles:
            self._noun(item)
        elif Role.TRACER in roles:
            self._tracer()
        elif Role.LINK in roles:
            self._link(item)
        elif Role.FILLER in roles:
            self.place += 1
        elif Role.NOTHING in roles:
            self.nothing = True
            self.place += 1
        elif Role.CURRENT in roles:
            self.currents.append(item.payload)
            self.place += 1
        elif Role.UNIT in roles:
            self.units_alone.append(item.payload)
            self.unit_words.append(item.text)
            self.place += 1
        elif Role.FACTOR in roles:
            self.unknown.append(item.text)
            self.place += 1
        elif Role.TALK in roles:
            self.talk.append(item.text)
            self.place += 1
        elif Role.CORRECTION in roles:
            self.talk.append(item.text)
            self.place += 1
        else:
            self._unknown(item)

    # numbers
    def _number(self, item: Item) -> None:
        """A number that is no name: with its unit behind it, it is a value."""
        before = self._at(self.place - 1)
        if item.words == ("one",) and before is not None and before.text in _POINTING:
            self.talk.append("one")
        self.place += 1
        self._value(item.words)

    def _value(self, words: tuple[str, ...]) -> None:
        number = read(words)
        value = _Value(number, words=words)
        if isinstance(number, Trouble):
            several = _several(words)
            if several:
                for one in several[:-1]:
                    self.values.append(_Value(one))
                    self.joints.append(PAUSE)
                value = _Value(several[-1])
        place = self.place
        while (near := self._at(place)) is not None and near.text in _JOINTS:
            if near.text == "ish":
                self.hedges.append(near.text)
            place += 1
        unit = self._at(place)
        if unit is not None and Role.CURRENT in unit.roles and self._has(place + 1, Role.UNIT):
            self.currents.append(unit.payload)
            place += 1
            unit = self._at(place)
        if unit is not None and Role.UNIT in unit.roles:
            value.unit = unit.payload
            value.single = unit.words[-1] in _SINGULAR
            value.symbol = unit.words[0][0] == UNIT_MARK
            self.place = place + 1
            if unit.payload == "deg" and self._has(self.place, Role.LETTER):
                letter = self.items[self.place].payload
                if letter in ("C", "F"):
                    value.unit = "Cel" if letter == "C" else "[degF]"
                    self.place += 1
        elif unit is not None and Role.FACTOR in unit.roles:
            value.unit = "*" + unit.text
            self.place = place + 1
        elif unit is not None and unit.words == ("f",):
            value.unit = "*f"
            self.place = place + 1
        elif unit is not None and unit.words == ("c",):
            value.unit = "Cel"
            self.place = place + 1
        elif unit is not None and unit.words == ("k",):
            value.unit = "*k"
            self.place = place + 1
        self._note_order("value")
        self.values.append(value)

    def _note_order(self, what: str) -> None:
        if not self.order or self.order[-1] != what:
            self.order.append(what)

    # names
    def _index(self, place: int, need_value: bool) -> tuple[str, int, tuple[str, ...]] | None:
        """A name at ``place``: (name, next place, words left over for a value), or None."""
        item = self._at(place)
        if item is not None and item.text == "number":
            place += 1
            item = self._at(place)
        if item is None:
            return None
        if Role.LETTER in item.roles or item.words in (("a",), ("an",)):
            letter = item.payload or item.text.upper()
            after = self._at(place + 1)
            if (
                after is not None
                and Role.NUMBER in after.roles
                and not self._has(place + 2, Role.UNIT)
            ):
                number = read(after.words)
                if (
                    isinstance(number, Number)
                    and number.digits.isdigit()
                    and len(number.digits) < 3
                ):
                    if self._at(place + 2) is not None and not self._has(place + 2, Role.PAUSE):
                        return letter + number.digits, place + 2, ()
                    if need_value is False:
                        return letter + number.digits, place + 2, ()
            if after is not None and after.words == ("plus",):
                return letter + "+", place + 2, ()
            if letter in "LTUVW" and after is not None and after.words[0] in _SMALL:
                line, rest = letter + str(_SMALL[after.words[0]]), after.words[1:]
                if rest and _value_like(rest):
                    return line, place + 2, rest
            return letter, place + 1, ()
        if Role.NUMBER not in item.roles:
            return None
        words = item.words
        whole = _name_of(words)
        value_follows = self._has(place + 1, Role.UNIT) or self._has(place + 1, Role.FACTOR)
        splits = [
            (name, words[cut:])
            for cut in range(1, len(words))
            if (name := _name_of(words[:cut])) is not None and _value_like(words[cut:])
        ]
        if whole is not None and not (value_follows and splits):
            after = self._at(place + 1)
            if after is not None and after.words in (("a",), ("b",)) and is_typed(words[0]):
                return whole + after.text.upper(), place + 2, ()
            return whole, place + 1, ()
        if len(splits) > 1 and whole is None:
            plain = [split for split in splits if _style(split[1]) == "plain"]
            splits = plain if len(plain) == 1 else splits
        if len(splits) == 1 and whole is None and not _doubtful_split(*splits[0]):
            return splits[0][0], place + 1, splits[0][1]
        if splits:
            self.trouble = self.trouble or (
                f'"{" ".join(words)}" could be split into a name and a value in several ways'
            )
            return splits[0][0], place + 1, splits[0][1]
        return None

    def _named(self, item: Item, pin: bool) -> bool:
        """ "pin four", "cylinder two": the number is a name. False where none follows."""
        place = self.place + 1
        while (near := self._at(place)) is not None and (
            near.text == "number" or near.payload == DASH
        ):
            place += 1
        near = self._at(place)
        if not pin and near is not None and (near.words in (("a",), ("an",))):
            after = self._at(place + 1)
            if item.text not in (
                "phase",
                "bank",
                "line",
                "zone",
                "circuit",
                "unit",
                "motor",
                "pump",
            ):
                return False
            if after is not None and Role.UNIT in after.roles:
                return False
        trouble = self.trouble
        found = self._index(place, need_value=not pin)
        if found is None and item.text not in v.UNINDEXED and self._ends_with_number(place):
            found = ("", place + 1, ())  # "room two oh four": a name, said digit by digit
        if found is None:
            self.trouble = trouble
            if pin and self._has(place, Role.NUMBER) and item.text not in v.PLURAL_PINS:
                self.trouble = f'"{self.items[place].text}": which part names the {item.text}?'
            return False
        if not pin and Role.NUMBER in self.items[place].roles:
            if not self._is_name(item, place, found[2]):
                self.trouble = trouble
                return False
        if pin and Role.NUMBER in self.items[place].roles:
            if item.text in v.PLURAL_PINS and not self._pair_ahead(found):
                self.trouble = trouble
                return False
            words = self.items[place].words
            if "point" in words[:1] or words[0] in v.SIGNS:
                return False
        name, after_place, left = found
        said = " ".join(
            word
            for entry in self.items[self.place : after_place]
            for word in entry.words
            if word not in (DASH,)
        )
        if left:
            said = said[: -len(" ".join(left))].strip()
        self._note_order("name")
        if pin:
            self.pins.append(name)
        else:
            self._label_words(said)
            if item.roles & {Role.WIRE} or item.text in ("connector",):
                self._wire_name = name
                self.wire_pins.append(name)
        self.place = after_place
        if left:
            self._value(left)
        elif pin:
            self._pins_after_link()
        else:
            self._names_after_link(item)
        return True

    wire_pins: list[str] = field(default_factory=list)
    _wire_name: str = ""

    def _pair_ahead(self, found: tuple[str, int, tuple[str, ...]]) -> bool:
        """Whether "terminals two" goes on with "and five"."""
        link = self._at(found[1])
        return not found[2] and link is not None and link.text in ("and", "to", "through", "/", PAUSE)

    def _ends_with_number(self, place: int) -> bool:
        return self._has(place, Role.NUMBER) and all(
            self._has(after, Role.PAUSE) for after in range(place + 1, len(self.items))
        )

    def _is_name(self, item: Item, place: int, left: tuple[str, ...]) -> bool:
        """Whether the number behind a noun is its name ("cylinder two") and not a value ("tank forty
        percent")."""
        words = self.items[place].words
        if words[0] in v.POINT or words[0] in v.SIGNS or words[0][0] == ".":
            return False
        whole = read(words)
        value_next = self._has(place + 1, Role.UNIT) or self._has(place + 1, Role.FACTOR)
        explicit = item.text == "number" or self.items[place - 1].text == "number"
        if explicit and left:
            return True
        if self.label and self.label[-1].startswith("number "):
            return False  # "number two cylinder one forty"
        if value_next and isinstance(whole, Number):
            if item.text not in v.UNINDEXED and whole.style != "plain" and left:
                self.trouble = f'"{" ".join(words)}": one value, or a name and a value?'
                return True
            return False
        if left:
            return True
        last = all(self._has(p, Role.PAUSE) for p in range(place + 1, len(self.items)))
        if last and not (self.values or self.open or self.short):
            # "oil level 40" is a bare value, "cylinder 2" a name
            return item.text not in v.UNINDEXED or bool(item.roles & {Role.WIRE}) or item.text == "connector"
        return True

    def _pins_after_link(self) -> None:
        """ "... to ground", "... and five", "..., six": further pins."""
        while True:
            place = self.place
            link = self._at(place)
            if link is None:
                return
            if Role.LINK in link.roles and link.text in ("to", "and", "through"):
                place += 1
            elif link.words == ("/",):
                place += 1
            elif not (self.short and not self.pins):
                return
            while (near := self._at(place)) is not None and near.roles <= {Role.FILLER}:
                place += 1
            near = self._at(place)
            if near is None:
                return
            explicit = (
                Role.PIN in near.roles and self._index(place + 1, need_value=False) is not None
            )
            if explicit:
                place += 1
            elif Role.PLACE in near.roles:
                self.pins.append(near.text)
                self.place = place + 1
                continue
            found = self._index(place, need_value=True)
            if found is None:
                return
            name, after, left = found
            value_next = self._has(after, Role.UNIT) or self._has(after, Role.FACTOR)
            if value_next and not left and Role.NUMBER in self.items[place].roles:
                return
            self.pins.append(name)
            self.place = after
            if left:
                self._value(left)
                return

    def _names_after_link(self, item: Item) -> None:
        """ "phase a to phase b", "phase one to neutral": both are the label."""
        place = self.place
        link = self._at(place)
        if link is None or link.text != "to":
            return
        near = self._at(place + 1)
        if near is None:
            return
        if Role.PLACE in near.roles:
            self._label_words(f"to {near.text}")
            self.place = place + 2
            return
        offset = 2 if near.text == item.text else 1
        found = self._index(place + offset, need_value=True)
        if found is None:
            return
        name, after, left = found
        if not left and self._has(after, Role.UNIT):
            return
        said = " ".join(word for entry in self.items[place:after] for word in entry.words)
        if left:
            said = said[: -len(" ".join(left))].strip()
        self._label_words(said)
        self.place = after
        if left:
            self._value(left)

    def _label_words(self, words: str) -> None:
        (self.trailing if self.values else self.label).append(words)

    def _numbered_ahead(self) -> bool:
        return self._has(self.place + 1, Role.NUMBER) and not self._has(self.place + 2, Role.UNIT)

    def _is_compound(self) -> bool:
        """ "cold store", "hot water": a name, not a state."""
        nxt = self._at(self.place + 1)
        return (
            nxt is not None
            and nxt.text.split()[0] in v.COMPOUNDS
            and bool(nxt.roles & {Role.NOUN, Role.NUMBERED, Role.UNKNOWN, Role.TALK, Role.PLACE})
        )

    def _letter(self, item: Item) -> None:
        """ "L1 to L2", "l one", a spelling-alphabet word: a terminal when it stands in a pair."""
        found = self._index(self.place, need_value=True)
        nxt = self._at(found[1]) if found else None
        linked = nxt is not None and nxt.text == "to"
        named = len(item.words[0]) > 1 and item.words[0][-1:].isdigit()
        lettered_line = item.words[0] in ("l", "t", "u", "w") and self._has(
            self.place + 1, Role.NUMBER
        )
        if found and (
            linked or named or self.between or (lettered_line and found[1] > self.place + 1)
        ):
            self.pins.append(found[0])
            self.place = found[1]
            self._pins_after_link()
            return
        if lettered_line:
            number = self.items[self.place + 1]
            if number.words[0] in ("one", "two", "three", "1", "2", "3"):
                rest = number.words[1:]
                self.pins.append(item.text.upper() + str(_SMALL[number.words[0]]))
                self.place += 2
                if rest:
                    self._value(rest)
                else:
                    self._pins_after_link()
                return
        self.unknown.append(item.text)
        self.place += 1

    def _place(self, item: Item) -> bool:
        """ "line to neutral", "battery positive to ground": places as terminals."""
        nxt = self._at(self.place + 1)
        after = self._at(self.place + 2)
        if (
            nxt is not None
            and nxt.text == "to"
            and after is not None
            and (after.roles & {Role.PLACE, Role.PIN})
        ):
            self.pins.append(item.text)
            self.place += 1
            self._pins_after_link()
            return True
        return False

    def _noun(self, item: Item) -> None:
        if any(word in v.MOVABLE for word in item.words):
            self.movable = True
        if self.values and not self.trailing and not self._linked():
            self.loose_noun = True
        self._label_words(item.text)
        self.place += 1

    def _linked(self) -> bool:
        place = self.place - 1
        while place >= 0:
            item = self.items[place]
            if Role.LINK in item.roles:
                return True
            if item.roles & {Role.FILLER, Role.POSITION, Role.STATE}:
                place -= 1
                continue
            return Role.PAUSE in item.roles
        return False

    def _unknown(self, item: Item) -> None:
        if self.values and not self.trailing and not self._linked():
            self.loose_noun = True
        self.unknown.append(item.text)
        self._label_words(item.text)
        self.place += 1

    # links and pauses
    def _link(self, item: Item) -> None:
        word = item.text
        if word in ("between", "across", "from"):
            self.place += 1
            self.between = True
            self._pair()
            return
        if word in ("to", "or", "through", "by") and self.values:
            self.joints.append(word)
            self.place += 1
            return
        if word == "to" and self._has(self.place + 1, Role.PLACE):
            self._pins_after_link()
            if self.place < len(self.items) and self.items[self.place] is item:
                self.place += 1
            return
        if word in ("in", "for", "by") and not self.values and self._has(self.place + 1, Role.NUMBER):
            self.talk.append(word)
        if word == "and" and self.values:
            self.joints.append("and")
        self.place += 1

    def _pair(self) -> None:
        """After "between": two names, where a value or a result stands elsewhere; else a range."""
        place = self.place
        while (near := self._at(place)) is not None and near.roles <= {Role.FILLER}:
            place += 1
        near = self._at(place)
        if near is None or Role.PIN in near.roles:
            return  # the pin words say it themselves
        if Role.NUMBER not in near.roles and Role.LETTER not in near.roles and near.words != ("a",):
            return
        first = _name_of(near.words) if Role.NUMBER in near.roles else (near.payload or "A")
        link = self._at(place + 1)
        if first is None or link is None or link.text not in ("and", "to"):
            return
        second = self._index(place + 2, need_value=True)
        if second is None:
            if self._has(place + 2, Role.PLACE):
                self.pins += [first, self.items[place + 2].text]
                self.place = place + 3
            return
        name, after, left = second
        elsewhere = (
            bool(self.values)
            or self.open
            or self.short
            or any(item.roles & {Role.NUMBER, Role.OPEN, Role.SHORT} for item in self.items[after:])
        )
        if left or (elsewhere and not self._has(after, Role.UNIT)):
            self.pins += [first, name]
            self.place = after
            if left:
                self._value(left)

    def _pause(self) -> None:
        if (
            self.items[self.place].payload == DASH
            and self.values
            and self._has(self.place + 1, Role.NUMBER)
        ):
            self.joints.append("to")
        elif self.values:
            self.joints.append(self.items[self.place].payload or PAUSE)
        self.place += 1

    # wires
    def _colour(self, item: Item) -> None:
        nxt = self._at(self.place + 1)
        if nxt is not None and Role.TRACER in nxt.roles and not self.colours:
            self.stripe_first = True
        self.colours.append(item.payload)
        self._note_order("colour")
        self.place += 1
        while (near := self._at(self.place)) is not None and (
            Role.TRACER in near.roles
            or Role.WIRE in near.roles
            or near.words in (("/",), ("with",), ("a",), ("an",), ("on",), ("and",), (DASH,))
            or (Role.PAUSE in near.roles and self._has(self.place + 1, Role.COLOUR))
        ):
            if near.words in (("and",), ("on",), ("with",)) and not self._colour_ahead():
                break
            if Role.WIRE in near.roles:
                self.wire = True
            self.place += 1

    def _colour_ahead(self) -> bool:
        place = self.place + 1
        while (near := self._at(place)) is not None and near.roles <= {Role.FILLER}:
            place += 1
        near = self._at(place)
        return near is not None and bool(near.roles & {Role.COLOUR, Role.UNCODED, Role.TRACER})

    def _tracer(self) -> None:
        self.wire = True
        self.place += 1


_POINTING = frozenset({"the", "that's", "that", "this", "it's", "that is", "this is"})
"""Before "one": a thing pointed at, not a number."""
_JOINTS = ("of", "a", "an", "of a", "ish")
"""What may stand between a number and its unit."""
_SMALL = {"one": 1, "two": 2, "three": 3, "1": 1, "2": 2, "3": 3}
_EVERYDAY = frozenset({"turn", "second", "minute", "hour", "day", "foot", "yard", "mile", "pound", "bar",
                       "revolution", "lux", "thou", "gram", "meter", "inch", "degree", "days", "bars"})
"""Units in the singular that are everyday words: alone they say nothing of a reading."""
_SINGULAR = frozenset(
    {form.split()[-1] for unit in UNITS.values() for form in unit.spoken
     if form + "s" in unit.spoken or form in ("inch", "foot", "henry")}
)  # fmt: skip


def _several(words: tuple[str, ...]) -> list[Number] | None:
    """Several decimals said in one breath ("nine point eight ten point one"), where the seam between
    them can only be in one place; else None."""
    if all(is_typed(word) and "." in word for word in words):
        numbers = [read([word]) for word in words]
        return [number for number in numbers if isinstance(number, Number)]
    points = [place for place, word in enumerate(words) if word in v.POINT]
    if len(points) < 2 or points[0] == 0:
        return None
    starts = [0]
    for left, right in zip(points, points[1:], strict=False):
        seams = [
            cut for cut in range(left + 2, right)
            if words[cut] in v.TEENS or words[cut] in v.TENS
        ]  # fmt: skip
        if len(seams) != 1 or any(word not in v.DIGITS for word in words[left + 1 : seams[0]]):
            return None
        starts.append(seams[0])
    numbers = [
        read(words[start:end]) for start, end in zip(starts, [*starts[1:], len(words)], strict=True)
    ]
    if any(isinstance(number, Trouble) for number in numbers):
        return None
    return [number for number in numbers if isinstance(number, Number)]


def _name_of(words: tuple[str, ...]) -> str | None:
    """The digits of a number used as a name: a whole number below a thousand, said plainly."""
    if words[0] in v.SIGNS or words[0] in ("a", "oh"):
        return None
    number = read(words)
    if isinstance(number, Number) and number.style == "plain" and number.digits.isdigit():
        return number.digits if len(number.digits) < 4 else None
    return None


def _value_like(words: tuple[str, ...]) -> bool:
    if words[0] in ("and", "hundred", "thousand", "million") or words[0] in v.DENOMINATORS:
        return False
    return isinstance(read(words), Number)


def _doubtful_split(name: str, rest: tuple[str, ...]) -> bool:
    """ "pin one two five": 1 and 25, or 12 and 5."""
    if rest[0] in v.POINT:  # "pin twelve point six": 12 and 0.6, or 12.6 and no name
        return True
    return all(word in v.DIGITS for word in rest) and len(rest) > 1


def _style(words: tuple[str, ...]) -> str:
    number = read(words)
    return number.style if isinstance(number, Number) else ""


# -- the judgement -----------------------------------------------------------------------------
def _entry(items: list[Item], context: Context) -> Entry:
    said = _Reader(items, context)
    label = " ".join(said.label) or " ".join(said.trailing) or None
    shared: dict[str, object] = {
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
    return replace(entry, **shared)  # type: ignore[arg-type]


def _judge(said: _Reader, context: Context) -> Entry:
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
        if all(word in _EVERYDAY for word in said.unit_words):
            return Entry("none", reason=f'"{said.unit_words[0]}" without a number')
        return Entry("unclear", unit=said.units_alone[0], reason="a unit without a number")
    if said.pins:
        return Entry("unclear", reason="a terminal without a value or a colour")
    return Entry("none", reason="a name without a value" if said.label else "no reading in this")


def _circuit(said: _Reader) -> Entry:
    if said.unknown or said.loose_noun and not said.label:
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
            (not pins and len(names) == 2 and "to" in said.joints or said.between)
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


def _colour_code(said: _Reader) -> str | None:
    if any(colour[0] == "?" for colour in said.colours) or len(said.colours) > 2:
        return None
    colours = list(said.colours)
    if said.stripe_first:
        colours.reverse()
    return "/".join(colours)


def _wire(said: _Reader) -> Entry:
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


def _values(said: _Reader, context: Context) -> Entry:
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
    if said.loose_noun and any(value.single for value in said.values):
        return Entry("none", reason="a thing named by its size, not a reading")
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
        colour=colour,  # type: ignore[arg-type]
    )


def _label_is_known(said: _Reader) -> bool:
    """An unknown word may stand in a label only beside words that are known."""
    known = [word for word in [*said.label, *said.trailing] if word not in said.unknown]
    return bool(known) and len(said.unknown) <= len(known)


def _doubtful_series(said: _Reader) -> str | None:
    """Members that could be parts of one number: "two bar and a half", "twelve, point six"."""
    if said.order.count("value") > 1:
        return "more than one measuring point; say them one by one"
    if len(set(said.states)) > 1:
        return "values of more than one state; say them one by one"
    for value in said.values[1:]:
        if isinstance(value.number, Number) and value.number.style == "fraction":
            return TWO_NUMBERS
        if value.words and (value.words[0] in v.POINT or value.words[0][0] == "."):
            return TWO_NUMBERS
    for value, following in zip(said.values, said.values[1:], strict=False):
        if value.words and value.words[-1] in v.SCALES and isinstance(
            read([*value.words, *following.words]), Number
        ):
            return TWO_NUMBERS
    return None


def _series(
    said: _Reader, good: list[str], code: str | None, where: str | None, unclear: object
) -> Entry:
    if said.joints and not all(joint in (PAUSE, "and") for joint in said.joints):
        return Entry(
            "unclear", value=good[0], unit=code, reason=TWO_NUMBERS, alternatives=tuple(good[1:])
        )
    seams = len([joint for joint in said.joints if joint])
    if seams < len(good) - 1:
        return Entry(
            "unclear", value=good[0], unit=code, reason=TWO_NUMBERS, alternatives=tuple(good[1:])
        )
    doubt = _doubtful_series(said)
    if doubt:
        return Entry("unclear", value=good[0], unit=code, reason=doubt, alternatives=tuple(good[1:]))
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
        unit_from=where,  # type: ignore[arg-type]
    )


def _unit(unit: str | None, context: Context) -> tuple[str | None, str | None, str | None]:
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
    "resistance": "Ohm", "voltage": "V", "current": "A", "frequency": "Hz", "power": "W", "volume": "L",
}  # fmt: skip
"""Not length ("mills" are mm to some and thousandths of an inch to others) nor pressure ("three k" is
3000 psi, not 3 kPa)."""
_FACTORS = {"k": "k", "meg": "M", "mills": "m"}


def _factor(
    word: str, wanted: str | None, context: Context
) -> tuple[str | None, str | None, str | None]:
    """ "ten k", "two meg", "five mills": a factor, whose unit only the step can name."""
    if word == "f":
        if wanted == "temperature":
            return "[degF]", "said", None
        return None, None, "F alone could be Fahrenheit or farad"
    code = _FACTORS[word] + _BASES.get(wanted or "", "?")
    if wanted in _BASES and code in UNITS:
        return code, "step", None
    return None, None, f'"{word}" without a unit behind it'
