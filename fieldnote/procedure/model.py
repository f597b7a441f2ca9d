"""A procedure: what is done, in which order, with which limits, on whose authority."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

import rfc8785
from pydantic import BaseModel, ConfigDict, Field, model_validator

from fieldnote.acceptance import UNITS
from fieldnote.acceptance.exact import decimal
from fieldnote.acceptance.formula import Formula
from fieldnote.errors import BadInputError
from fieldnote.procedure.limits import fits
from fieldnote.procedure.numbers import Name, Text, Unit
from fieldnote.procedure.problems import Fault, closest
from fieldnote.procedure.steps import END, Decide, Derived, Measure, Observe, Points, Step, Wire

_MOST_CAUTION = 480
"""Characters: the cautions and the first step must stand together on a terminal of 80 by 24."""


class Fact(BaseModel):
    """Something known of the job that chooses limits or steps: a choice, or a number in `unit`."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    ask: Text
    choices: tuple[Text, ...] = ()
    unit: Unit | None = None

    @model_validator(mode="after")
    def _one_sort(self) -> Fact:
        if bool(self.choices) == (self.unit is not None):
            raise Fault(
                "A fact is one of some choices, or a number.", "Give either choices or a unit."
            )
        if len(self.choices) == 1 or len(set(self.choices)) < len(self.choices):
            raise Fault("There is nothing to choose from.", "Give two different choices or more.")
        return self

    def takes(self, value: Any) -> bool:
        """Whether a value can stand for this fact: one of its choices, or a plain number."""
        if self.choices:
            return str(value) in self.choices
        try:
            decimal(str(value), "The fact")
        except BadInputError:
            return False
        return True

    def step(self, name: str) -> Observe | Measure:
        """The step that asks for it; its id is the fact's name, which no other step has."""
        stated = {"id": name, "ask": self.ask}
        if self.unit is None:
            return Observe.model_validate({**stated, "kind": "observe", "choices": self.choices})
        return Measure.model_validate({**stated, "kind": "measure", "unit": self.unit})


def _one_unit_a_kind(units: Mapping[str, str], result: str, key: tuple[int | str, ...]) -> None:
    """A formula takes bare numbers, so volts and millivolts in one would be wrong by a thousand."""
    seen = {UNITS[result].kind: ("its result", result)}
    for name, unit in units.items():
        other, before = seen.setdefault(UNITS[unit].kind, (name, unit))
        if before != unit:
            raise Fault(
                f"The formula mixes {UNITS[unit].symbol} (“{name}”) with {UNITS[before].symbol}"
                f" ({other}).",
                "A formula takes bare numbers: give both the same unit.",
                key,
            )


class Procedure(BaseModel):
    """A checked procedure.

    name: its file name without ending. version: raised by its author at each change. cautions: read
    out at the start; they defer to the maker's manual, local codes and licensed practice. sources:
    where the limits come from, or "common practice, no source".
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Name
    title: Text
    version: Text
    about: Text | None = None
    cautions: tuple[Text, ...] = Field(min_length=1)
    sources: tuple[Text, ...] = Field(min_length=1)
    facts: dict[Name, Fact] = {}
    steps: tuple[Step, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _cautions_can_be_read_at_a_glance(self) -> Procedure:
        length = sum(map(len, self.cautions))
        if length > _MOST_CAUTION:
            raise Fault(
                f"These are too long to be read at a glance: {length} characters of"
                f" {_MOST_CAUTION}.",
                "Shorten them, or put some into a caution step.",
                ("cautions",),
            )
        return self

    @model_validator(mode="after")
    def _hangs_together(self) -> Procedure:
        earlier: dict[str, Any] = {}
        ids = [step.id for step in self.steps]
        for number, step in enumerate(self.steps):
            here: tuple[int | str, ...] = ("steps", number, step.kind)
            if step.id in earlier or step.id in self.facts or step.id == END:
                raise Fault(
                    f"The name “{step.id}” stands twice, or is taken.",
                    "Give each step its own id.",
                    (*here, "id"),
                )
            self._check_when(step.when, (*here, "when"))
            for i, variant in enumerate(getattr(step, "variants", ())):
                self._check_when(variant.when, (*here, "variants", i, "when"))
            for key, name in step.references().items():
                self._check_reference(name, key, here, earlier, ids)
            if isinstance(step, Derived):
                self._check_formula(step, here, earlier)
            self._check_window_formulas(step, here, earlier)
            if isinstance(step, Wire) and step.same_as is not None:
                self._check_same_wires(step, earlier[step.same_as], here)
            if isinstance(step, Decide):
                self._check_targets(step, here, ids[number + 1 :])
            earlier[step.id] = step
        return self

    def _check_when(
        self, when: Mapping[str, str | tuple[str, ...]] | None, key: tuple[int | str, ...]
    ) -> None:
        for name, wanted in (when or {}).items():
            fact = self.facts.get(name)
            if fact is None:
                raise Fault(
                    f"“{name}” is not one of the procedure's facts.",
                    closest(name, self.facts) or f"Add a table [facts.{name}].",
                    key,
                )
            for choice in (wanted,) if isinstance(wanted, str) else wanted:
                if choice not in fact.choices:
                    raise Fault(
                        f"“{choice}” is not a choice of “{name}”.",
                        closest(choice, fact.choices),
                        key,
                    )

    def _check_reference(
        self,
        name: str,
        key: tuple[int | str, ...],
        here: tuple[int | str, ...],
        earlier: Mapping[str, Any],
        ids: list[str],
    ) -> None:
        if name in earlier:
            if "by" in key and not isinstance(earlier[name], Measure | Derived):
                raise Fault(
                    f"“{name}” gives no number to depend on.",
                    "Name a measure or derived step.",
                    (*here, *key),
                )
            return
        if "by" in key and name in self.facts and self.facts[name].unit is not None:
            return
        if name in ids:
            raise Fault(
                f"“{name}” comes later than the step that needs it.", "Move it up.", (*here, *key)
            )
        known = {*earlier, *(n for n, fact in self.facts.items() if fact.unit is not None)}
        raise Fault(f"There is no earlier step “{name}”.", closest(name, known), (*here, *key))

    def _check_formula(
        self, step: Derived, here: tuple[int | str, ...], earlier: Mapping[str, Any]
    ) -> None:
        units = self._units_of_names(earlier)
        names = Formula.parse(step.formula).names
        for name in names:
            if name not in units:
                raise Fault(
                    f"The formula names “{name}”, which no earlier step measures.",
                    closest(name, units),
                    (*here, "formula"),
                )
        _one_unit_a_kind({name: units[name] for name in names}, step.unit, (*here, "formula"))

    def _units_of_names(self, earlier: Mapping[str, Any]) -> dict[str, str]:
        """The unit of every name that a formula may use here."""
        units = {n.replace("-", "_"): f.unit for n, f in self.facts.items() if f.unit is not None}
        for name, each in earlier.items():
            stem = name.replace("-", "_")
            if isinstance(each, Measure | Derived):
                units[stem] = each.unit
            if isinstance(each, Points):
                units |= {f"{stem}_{which}": each.unit for which in ("highest", "lowest", "mean")}
        return units

    def _check_window_formulas(
        self, step: Any, here: tuple[int | str, ...], earlier: Mapping[str, Any]
    ) -> None:
        windows: dict[tuple[int | str, ...], Any] = {("window",): getattr(step, "limits", None)}
        for i, variant in enumerate(getattr(step, "variants", ())):
            windows["variants", i, "window"] = variant.window
        units = self._units_of_names(earlier)
        for key, limits in windows.items():
            if limits is not None and limits.formula is not None:
                used = {n: units[n] for n in (b.replace("-", "_") for b in limits.by_names)}
                _one_unit_a_kind(used, limits.unit or step.unit, (*here, *key))

    def _check_same_wires(self, step: Wire, other: Any, here: tuple[int | str, ...]) -> None:
        if not isinstance(other, Wire) or set(other.cavities) != set(step.cavities):
            raise Fault(
                f"“{step.same_as}” is not a wire step with the same cavities.",
                "Name the step that wrote these wires down.",
                (*here, "same_as"),
            )

    def _check_targets(self, step: Decide, here: tuple[int | str, ...], later: list[str]) -> None:
        for i, row in enumerate(step.rows):
            if row.then is not None and row.then not in (*later, END):
                raise Fault(
                    f"“{row.then}” is not a later step.",
                    closest(row.then, [*later, END]),
                    (*here, "rows", i, "then"),
                )

    @property
    def digest(self) -> str:
        """SHA-256 (hex) of the content as canonical JSON (RFC 8785): layout does not count."""
        content = self.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        return hashlib.sha256(rfc8785.dumps(content)).hexdigest()

    def step(self, id: str) -> Step | None:
        """The step of that id."""
        return next((step for step in self.steps if step.id == id), None)

    def steps_for(self, facts: Mapping[str, Any]) -> tuple[Step, ...]:
        """The steps that this job has, by its facts."""
        return tuple(step for step in self.steps if step.when is None or fits(step.when, facts))

    def for_log(self) -> dict[str, Any]:
        """What a job's start record keeps of its procedure, so that a report needs no file."""
        return {
            "name": self.name,
            "title": self.title,
            "version": self.version,
            "digest": self.digest,
            "cautions": list(self.cautions),
            "sources": list(self.sources),
            "steps": [
                {
                    "id": step.id,
                    "kind": step.kind,
                    "ask": step.ask,
                    "window": None if step.window is None else step.window.to_json(),
                }
                for step in (*(fact.step(name) for name, fact in self.facts.items()), *self.steps)
            ],
        }
