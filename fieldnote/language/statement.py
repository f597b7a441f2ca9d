"""One statement, sorted: what in it is a value, a name, a colour, a state, or none of these."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from fieldnote.language import vocabulary as v
from fieldnote.language.entry import Context
from fieldnote.language.lexer import Item, Role
from fieldnote.language.numbers import Number, Trouble, is_typed, read
from fieldnote.language.text import DASH, PAUSE, UNIT_MARK
from fieldnote.language.units import UNITS


@dataclass(slots=True)
class Value:
    number: Number | Trouble
    unit: str | None = None
    single: bool = False
    symbol: bool = False
    words: tuple[str, ...] = ()


@dataclass(slots=True)
class Statement:
    """Walks the items once and sorts them; `judgement` decides what was found."""

    items: list[Item]
    context: Context
    place: int = 0
    values: list[Value] = field(default_factory=list)
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
    gaps: set[int] = field(default_factory=set)
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
        elif (Role.NUMBERED in roles and self._named(item, pin=False)) or (
            Role.PLACE in roles and self._place(item)
        ):
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
        elif Role.TALK in roles or Role.CORRECTION in roles:
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
        value = self.values[-1]
        sized = before is not None and before.words[-1] in ("a", "an")
        if sized and value.single and value.words[0] not in v.DENOMINATORS:
            self.trouble = self.trouble or "something named by its size, or a reading?"

    def _value(self, words: tuple[str, ...]) -> None:
        number = read(words)
        value = Value(number, words=words)
        if isinstance(number, Trouble):
            several = _several(words)
            if several:
                for one in several[:-1]:
                    self.values.append(Value(one))
                    self._join(PAUSE)
                value = Value(several[-1])
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

    def _join(self, joint: str) -> None:
        """A joint behind the values so far: between two of them, if another follows."""
        self.joints.append(joint)
        self.gaps.add(len(self.values))

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
                len(letter) == 1
                and after is not None
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
            if item.text not in v.LETTERED:
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
        numbered = Role.NUMBER in self.items[place].roles
        if not pin and numbered and not self._is_name(item, place, found[2]):
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
        return (
            not found[2] and link is not None and link.text in ("and", "to", "through", "/", PAUSE)
        )

    def _ends_with_number(self, place: int) -> bool:
        return self._has(place, Role.NUMBER) and all(
            self._has(after, Role.PAUSE) for after in range(place + 1, len(self.items))
        )

    def _is_name(self, item: Item, place: int, left: tuple[str, ...]) -> bool:
        """Whether the number behind a noun is its name ("cylinder two") and not a value ("tank
        forty
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
            return (
                item.text not in v.UNINDEXED
                or bool(item.roles & {Role.WIRE})
                or item.text == "connector"
            )
        return True

    def _pins_after_link(self) -> None:
        """ "... to ground", "... and five", "..., six": further pins."""
        while True:
            place = self.place
            link = self._at(place)
            if link is None:
                return
            if (
                Role.LINK in link.roles and link.text in ("to", "and", "through")
            ) or link.words == ("/",):
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
        _, after, left = found
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
        if self.values:
            self._note_order("name")
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
            self._join(word)
            self.place += 1
            return
        if word == "to" and self._has(self.place + 1, Role.PLACE):
            self._pins_after_link()
            if self.place < len(self.items) and self.items[self.place] is item:
                self.place += 1
            return
        if (
            word in ("in", "for", "by")
            and not self.values
            and self._has(self.place + 1, Role.NUMBER)
        ):
            self.talk.append(word)
        if word == "of" and (self.label or self.values) and self._has(self.place + 1, Role.NUMBER):
            self.trouble = self.trouble or "one of several, or a value?"
        if word == "to" and self._has(self.place + 1, Role.NUMBER):
            number = " ".join(self.items[self.place + 1].words)
            self.trouble = self.trouble or f'"to {number}": with a two before it, or without?'
        if word == "and" and self.values:
            self._join("and")
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
            self._join("to")
        elif self.values:
            self._join(self.items[self.place].payload or PAUSE)
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
_SINGULAR = frozenset(
    {form.split()[-1] for unit in UNITS.values() for form in unit.spoken
     if form + "s" in unit.spoken or form in ("inch", "foot", "henry")}
)  # fmt: skip


def _several(words: tuple[str, ...]) -> list[Number] | None:
    """Several decimals said in one breath ("nine point eight ten point one"), where the seam
    between them can only be in one place; else None."""
    if all(is_typed(word) and "." in word for word in words):
        numbers = [read([word]) for word in words]
        return [number for number in numbers if isinstance(number, Number)]
    points = [place for place, word in enumerate(words) if word in v.POINT]
    if len(points) < 2 or points[0] == 0:
        return None
    starts = [0]
    for left, right in pairwise(points):
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
