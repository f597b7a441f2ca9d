"""Limits as a procedure writes them: fixed, or depending on an earlier reading."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, model_validator

from fieldnote.acceptance import Window, symbol
from fieldnote.acceptance.curve import Curve
from fieldnote.acceptance.exact import decimal, written
from fieldnote.acceptance.formula import Formula
from fieldnote.errors import BadInputError
from fieldnote.procedure.numbers import Name, Number, Text, Tolerance, Unit
from fieldnote.procedure.problems import Fault, as_fault

_FORMS = "Use nominal and tolerance, from and to, at_least, at_most, or by with a table or formula."


class Limits(BaseModel):
    """One window, in one of five forms. Limits are included in it.

    `by` names earlier measure steps or numeric facts that the nominal value depends on; each stands
    in the formula, or is looked up in the table, as the number in that step's or fact's own unit.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    nominal: Number | None = None
    tolerance: Tolerance | None = None
    tolerance_unit: Unit | None = None
    from_: Number | None = Field(None, alias="from")
    to: Number | None = None
    at_least: Number | None = None
    at_most: Number | None = None
    by: Name | tuple[Name, ...] | None = None
    table: tuple[tuple[Number, Number], ...] | None = None
    formula: Text | None = None
    tolerance_formula: Text | None = None
    unit: Unit | None = None
    """Only where it is not the step's."""

    @model_validator(mode="after")
    def _one_form(self) -> Limits:
        given = {name for name in type(self).model_fields if getattr(self, name) is not None}
        given -= {"unit", "tolerance_unit"}
        if "tolerance" not in given and self.tolerance_unit is not None:
            raise Fault("“tolerance_unit” stands without a tolerance.", "Add the tolerance.")
        if given in ({"nominal", "tolerance"}, {"from_", "to"}, {"at_least"}, {"at_most"}):
            self._try_fixed()
        elif self.by is not None and given & {"table", "formula"}:
            self._check_dependent(given)
        elif "nominal" in given and "tolerance" not in given:
            raise Fault("A nominal value needs a tolerance.", "Add tolerance = …")
        elif given & {"table", "formula"}:
            raise Fault("A table or formula needs “by”.", "Name the step it depends on: by = …")
        elif given == {"at_least", "at_most"}:
            raise Fault("Two limits are written apart.", "Write from = … and to = … instead.")
        else:
            raise Fault("This is not one whole window.", _FORMS)
        return self

    def _try_fixed(self) -> None:
        # The step's unit is not known here; a tolerance's own unit stands in for it.
        with as_fault():
            self._fixed(self.unit or self.tolerance_unit or "1")

    def _check_dependent(self, given: set[str]) -> None:
        if given & {"nominal", "from_", "to", "at_least", "at_most"} or given >= {
            "table",
            "formula",
        }:
            raise Fault("This is not one whole window.", _FORMS)
        if ("tolerance" in given) == ("tolerance_formula" in given):
            raise Fault(
                "A dependent window needs one tolerance.", "Add tolerance or tolerance_formula."
            )
        if self.table is not None:
            if len(self.by_names) != 1:
                raise Fault("A table depends on one step.", 'Write by = "step-id".', ("by",))
            with as_fault("table"):
                Curve(self.table)
        for text in (self.formula, self.tolerance_formula):
            if text is not None:
                with as_fault():
                    names = set(Formula.parse(text).names)
                known = {name.replace("-", "_") for name in self.by_names}
                if names - known:
                    raise Fault(
                        f"“by” does not name {', '.join(sorted(names - known))}.",
                        "Name the step in by; its hyphens become underscores in a formula.",
                    )

    @property
    def by_names(self) -> tuple[str, ...]:
        """The steps and facts that this window depends on."""
        return (self.by,) if isinstance(self.by, str) else self.by or ()

    def fixed(self, unit: str) -> Window | None:
        """The window where it depends on nothing; unit: the step's UCUM code."""
        return None if self.by is not None else self._fixed(self.unit or unit)

    def _fixed(self, unit: str) -> Window:
        if self.nominal is not None and self.tolerance is not None:
            return Window.plus_minus(self.nominal, self.tolerance, unit, self.tolerance_unit)
        if self.from_ is not None and self.to is not None:
            return Window.between(self.from_, self.to, unit)
        if self.at_least is not None:
            return Window.at_least(self.at_least, unit)
        assert self.at_most is not None  # held by _one_form
        return Window.at_most(self.at_most, unit)

    def window(self, unit: str, values: Mapping[str, Fraction]) -> Window:
        """The window for these readings.

        values: of the steps and facts in `by`, each in its own unit.

        Raises:
            BadInputError: one of them has not been taken, or lies beyond the table.
        """
        if self.by is None:
            return self._fixed(self.unit or unit)
        for name in self.by_names:
            if name not in values:
                raise BadInputError(
                    f"The limits of this step depend on “{name}”, which has no value yet.",
                    "Take that reading first.",
                )
        named = {name.replace("-", "_"): values[name] for name in self.by_names}
        if self.table is not None:
            nominal = Curve(self.table)(values[self.by_names[0]])
        else:
            assert self.formula is not None  # held by _check_dependent
            nominal = Formula.parse(self.formula)(named)
        tolerance = self.tolerance
        if self.tolerance_formula is not None:
            tolerance = written(abs(Formula.parse(self.tolerance_formula)(named)))
        assert tolerance is not None  # held by _check_dependent
        return Window.plus_minus(
            written(nominal), tolerance, self.unit or unit, self.tolerance_unit
        )

    def describe(self, unit: str) -> str:
        """For people, also where the window depends on something."""
        fixed = self.fixed(unit)
        if fixed is not None:
            return fixed.describe()
        nominal = self.formula
        if self.table is not None:
            nominal = ", ".join(f"{y} at {x}" for x, y in self.table)
        tolerance = self.tolerance or self.tolerance_formula
        sign = symbol(self.tolerance_unit or self.unit or unit)
        if self.tolerance is not None and self.tolerance.endswith("%"):
            sign = ""
        return f"by {', '.join(self.by_names)}: {nominal}; ± {tolerance} {sign}".rstrip()


class Variant(BaseModel):
    """Another window where the job's facts say so; the first variant that fits is used."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    when: dict[Name, str | tuple[str, ...]] = Field(min_length=1)
    """Fact to the value, or the values, for which this variant holds."""
    window: Limits
    why: Text

    def fits(self, facts: Mapping[str, Any]) -> bool:
        return fits(self.when, facts)


@dataclass(frozen=True, slots=True)
class Chosen:
    """The window that holds for a step in this job, and why it was chosen (kept in the record)."""

    window: Window | None
    why: str


def fits(when: Mapping[str, str | tuple[str, ...]], facts: Mapping[str, Any]) -> bool:
    """Whether all the facts have one of the values asked for."""
    return all(
        str(facts.get(name)) in ((wanted,) if isinstance(wanted, str) else wanted)
        for name, wanted in when.items()
    )


def number_of(fact: str) -> Fraction:
    """A numeric fact as a number."""
    return Fraction(decimal(fact, "The fact"))
