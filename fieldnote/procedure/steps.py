"""The kinds of step that a procedure can have. One model a kind; `kind` says which."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from fieldnote.acceptance import UNITS, Result, Window
from fieldnote.acceptance.exact import has_offset
from fieldnote.acceptance.formula import Formula
from fieldnote.procedure.limits import Chosen, Limits, Variant
from fieldnote.procedure.numbers import Label, Name, Number, Text, Tolerance, Unit
from fieldnote.procedure.problems import Fault, as_fault, closest

END = "end"
"""Where a decision may lead besides a step: the job is done."""


class _Step(BaseModel):
    """What every step has.

    id: its name in records and references. ask: what the screen and the sheet say. say: the spoken
    form, where it is not `ask`. cautions: read out before the step. when: facts for which the step
    is part of the job. why: the reason behind the step or its limits, for the report.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    id: Name
    ask: Text
    say_: Text | None = Field(None, alias="say")
    cautions: tuple[Text, ...] = ()
    when: dict[Name, str | tuple[str, ...]] | None = None
    why: Text | None = None

    @model_validator(mode="after")
    def _can_be_read_at_a_glance(self) -> _Step:
        # A step with its cautions must stand whole on a terminal of 80 by 24.
        for key, texts, most in (("ask", (self.ask,), 240), ("cautions", self.cautions, 320)):
            length = sum(map(len, texts))
            if length > most:
                raise Fault(
                    f"This is too long to be read at a glance: {length} characters of {most}.",
                    "Shorten it, or put some of it into a caution step of its own.",
                    (key,),
                )
        return self

    @property
    def say(self) -> str:
        """What is spoken when the step is announced."""
        return self.say_ or self.ask

    def references(self) -> dict[tuple[int | str, ...], str]:
        """Ids of earlier steps (or facts) that this one needs, by the key that names each."""
        return {}


class _Unmeasured(_Step):
    """A step that takes no number."""

    @property
    def unit(self) -> None:
        return None

    @property
    def window(self) -> None:
        return None

    @property
    def labels(self) -> tuple[str, ...]:
        return ()


class _Limited(_Step):
    """A step that takes numbers in one unit and may have a window for them."""

    unit: Unit
    limits: Limits | None = Field(None, alias="window")
    variants: tuple[Variant, ...] = ()
    meter: Name | None = None
    """Id of the instrument to use, where it is not the job's meter."""

    @model_validator(mode="after")
    def _windows_fit_the_unit(self) -> _Limited:
        windows: dict[tuple[int | str, ...], Limits | None] = {("window",): self.limits}
        windows |= {("variants", i, "window"): v.window for i, v in enumerate(self.variants)}
        for key, limits in windows.items():
            for unit in () if limits is None else (limits.unit, limits.tolerance_unit):
                if unit is not None and UNITS[unit].kind != UNITS[self.unit].kind:
                    raise Fault(
                        f"The window is in {UNITS[unit].symbol} and the step in"
                        f" {UNITS[self.unit].symbol}: different kinds of quantity.",
                        "Give both in units of the same kind.",
                        key,
                    )
        return self

    @model_validator(mode="after")
    def _variants_differ(self) -> _Limited:
        seen: list[Mapping[str, Any]] = []
        for number, each in enumerate(self.variants):
            if each.when in seen:
                raise Fault(
                    "This variant can never be used: an earlier one holds for the same facts.",
                    "Remove one of the two.",
                    ("variants", number),
                )
            seen.append(each.when)
        return self

    @property
    def window(self) -> Window | None:
        """The window, where it depends neither on facts nor on a reading."""
        return None if self.limits is None or self.variants else self.limits.fixed(self.unit)

    def choose(self, facts: Mapping[str, Any], values: Mapping[str, Fraction]) -> Chosen:
        """The window for this job.

        facts: the job's facts. values: earlier readings that windows depend on, in their units.

        Raises:
            BadInputError: the window depends on a reading that is missing or beyond its table.
        """
        for each in self.variants:
            if each.fits(facts):
                named = ", ".join(f"{name} is {facts[name]}" for name in each.when)
                return Chosen(each.window.window(self.unit, values), f"{each.why} ({named})")
        if self.limits is None:
            return Chosen(None, "no limit given")
        why = self.why or "the procedure's limit"
        if self.limits.by is not None:
            why += f"; depends on {', '.join(self.limits.by_names)}"
        return Chosen(self.limits.window(self.unit, values), why)

    def references(self) -> dict[tuple[int | str, ...], str]:
        found: dict[tuple[int | str, ...], str] = {}
        if self.limits is not None:
            found |= {("window", "by", i): name for i, name in enumerate(self.limits.by_names)}
        for number, each in enumerate(self.variants):
            found |= {
                ("variants", number, "window", "by", i): name
                for i, name in enumerate(each.window.by_names)
            }
        return found


class Caution(_Unmeasured):
    """Something to be confirmed before going on: isolated, locked, pressure let off."""

    kind: Literal["caution"]


class Measure(_Limited):
    """One reading."""

    kind: Literal["measure"]
    labels: tuple[Label, ...] = ()
    """Names that may be said with the value ("midships"); the first is what the record shows."""
    pins: tuple[Text, ...] = ()


class Point(BaseModel):
    """One of several measuring points."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    label: Label
    pins: tuple[Text, ...] = ()
    window: Limits | None = None
    """Only where it is not the step's."""


class Spread(BaseModel):
    """A limit on how far the points lie apart: highest less lowest.

    at_most: a difference in the step's unit, or a share "10 %" of `of`.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    at_most: Tolerance
    of: Literal["highest", "lowest", "mean"] = "highest"


class Points(_Limited):
    """The same measurement at several points: pin to pin, cylinder by cylinder."""

    kind: Literal["points"]
    points: tuple[Point, ...] = Field(min_length=2)
    spread: Spread | None = None

    @model_validator(mode="after")
    def _labels_differ(self) -> Points:
        _distinct([each.label for each in self.points], "points")
        if self.spread and self.spread.at_most.endswith("%") and has_offset(self.unit):
            raise Fault(
                "A share of a temperature has no meaning.", "Write a difference.", ("spread",)
            )
        return self

    @property
    def labels(self) -> tuple[str, ...]:
        return tuple(each.label for each in self.points)


class Derived(_Limited):
    """A value worked out from earlier readings, its formula shown.

    Each name in the formula is an earlier step's id with underscores for hyphens, and stands for
    the number read there in that step's unit; a points step gives `<step>_highest`, `_lowest` and
    `_mean`.
    """

    kind: Literal["derived"]
    formula: Text

    @model_validator(mode="after")
    def _formula_reads(self) -> Derived:
        with as_fault("formula"):
            Formula.parse(self.formula)
        return self

    @property
    def labels(self) -> tuple[str, ...]:
        return ()


class Observe(_Unmeasured):
    """Something seen, heard or felt, from a list. good: the choices that pass, if any."""

    kind: Literal["observe"]
    choices: tuple[Text, ...] = Field(min_length=2)
    good: tuple[Text, ...] = ()

    @model_validator(mode="after")
    def _good_is_a_choice(self) -> Observe:
        _distinct(list(self.choices), "choices")
        for each in self.good:
            if each not in self.choices:
                raise Fault(
                    f"“{each}” is not one of the choices.", closest(each, self.choices), ("good",)
                )
        return self

    @property
    def labels(self) -> tuple[str, ...]:
        return self.choices

    def result(self, choice: str) -> Result:
        """Verdict for one of the choices."""
        if not self.good:
            return "unchecked"
        return "pass" if choice in self.good else "fail"


class Remark(_Unmeasured):
    """Free words, kept as heard."""

    kind: Literal["remark"]


class Photo(_Unmeasured):
    """One or more pictures that must be kept."""

    kind: Literal["photo"]
    at_least: int = Field(1, ge=1, le=50)


class Wire(_Unmeasured):
    """Wires cavity by cavity: written down before taking apart, said again and compared after.

    expect: cavity to IEC 60757 colour code, tracer after a slash. same_as: id of an earlier wire
    step whose wires these must match; any difference is an alarm.
    """

    kind: Literal["wire"]
    cavities: tuple[Text, ...] = Field(min_length=1)
    expect: dict[Text, Annotated[str, Field(pattern=r"^[A-Z]{2}(/[A-Z]{2})?$")]] | None = None
    same_as: Name | None = None

    @model_validator(mode="after")
    def _cavities_hold(self) -> Wire:
        _distinct(list(self.cavities), "cavities")
        for cavity in self.expect or {}:
            if cavity not in self.cavities:
                raise Fault(
                    f"“{cavity}” is not one of the cavities.",
                    closest(cavity, self.cavities),
                    ("expect",),
                )
        return self

    def references(self) -> dict[tuple[int | str, ...], str]:
        return {} if self.same_as is None else {("same_as",): self.same_as}


class Part(_Unmeasured):
    """A part taken out or put in; its serial number typed, spoken or read from a code."""

    kind: Literal["part"]
    part: Text
    move: Literal["removed", "fitted"]
    serial: Literal["required", "if there is one"] = "if there is one"


class Tighten(_Limited):
    """Fasteners tightened in order, round by round; each gets its torque in the last round.

    order: the fasteners, first to last. rounds: shares of the final torque, the last 100 %.
    """

    kind: Literal["tighten"]
    order: tuple[Label, ...] = Field(min_length=1)
    rounds: tuple[Number, ...] = ("100",)

    @model_validator(mode="after")
    def _rounds_rise(self) -> Tighten:
        _distinct(list(self.order), "order")
        shares = [Fraction(each) for each in self.rounds]
        if not shares or shares != sorted(set(shares)) or shares[-1] != 100 or shares[0] <= 0:
            raise Fault(
                "Rounds are shares in percent that rise and end at 100.",
                "Write for instance rounds = [50, 100].",
                ("rounds",),
            )
        return self

    @property
    def labels(self) -> tuple[str, ...]:
        return self.order


class Timed(_Unmeasured):
    """A step against the clock.

    mode: "wait" until the time is up; "hold" for at least that long; "within", done before.
    """

    kind: Literal["timed"]
    mode: Literal["wait", "hold", "within"]
    seconds: int = Field(ge=1, le=24 * 3600)


class Stretch(BaseModel):
    """The time a part may take from one value to another."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    from_: Number = Field(alias="from")
    to: Number
    within_seconds: Number


class Travel(_Limited):
    """A series of readings through a travel: spoken, from a video of the display, or from a file.

    first, last: windows for the end values. `window` holds for every reading. The other limits are
    differences in the step's unit; see `fieldnote.acceptance.travel` for how each is found.
    """

    kind: Literal["travel"]
    direction: Literal["rising", "falling"]
    fewest: int = Field(5, ge=3, le=100_000)
    first: Limits | None = None
    last: Limits | None = None
    largest_jump: Number | None = None
    smallest_move: Number | None = None
    """A reading that moves less than this from the one before, while travelling, is a dead spot."""
    hysteresis: Number | None = None
    straightness: Number | None = None
    timed: Stretch | None = None
    both_ways: bool = False

    @model_validator(mode="after")
    def _hysteresis_needs_both(self) -> Travel:
        if self.hysteresis is not None and not self.both_ways:
            raise Fault(
                "Hysteresis is the way up against the way down.",
                "Add both_ways = true.",
                ("hysteresis",),
            )
        return self

    @property
    def labels(self) -> tuple[str, ...]:
        return ()


class Row(BaseModel):
    """One row of a decision table: for these results, this conclusion, and where to go."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    when: dict[Name, Result | tuple[Result, ...]] = Field(min_length=1)
    say: Text
    then: Name | None = None
    """A later step's id, or "end"; the next step where it is left out."""


class Decide(_Unmeasured):
    """A branch on earlier verdicts, by a small table: the first row that holds counts.

    For a verdict that no row names, nothing is concluded and the next step follows.
    """

    kind: Literal["decide"]
    rows: tuple[Row, ...] = Field(min_length=1)

    def references(self) -> dict[tuple[int | str, ...], str]:
        return {
            ("rows", i, "when", name): name for i, row in enumerate(self.rows) for name in row.when
        }

    def row(self, results: Mapping[str, Result]) -> Row | None:
        """The row that holds for the steps' results; a step without a result holds for none."""
        for row in self.rows:
            if all(
                results.get(name) in ((wanted,) if isinstance(wanted, str) else wanted)
                for name, wanted in row.when.items()
            ):
                return row
        return None


def _distinct(words: list[str], key: str) -> None:
    for number, word in enumerate(words):
        if word in words[:number]:
            raise Fault(f"“{word}” stands twice.", "Give each its own name.", (key,))


Step = Annotated[
    Caution
    | Measure
    | Points
    | Derived
    | Observe
    | Remark
    | Photo
    | Wire
    | Part
    | Tighten
    | Timed
    | Travel
    | Decide,
    Field(discriminator="kind"),
]
