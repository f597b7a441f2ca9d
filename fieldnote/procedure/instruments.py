"""The register of instruments: which meters there are, how exact, and until when calibrated."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from fieldnote.acceptance import Accuracy, AccuracyRange
from fieldnote.errors import BadInputError
from fieldnote.procedure.loading import read_model, read_text
from fieldnote.procedure.numbers import Name, Number, Text, Unit
from fieldnote.procedure.problems import Fault, Loc, as_fault, closest


class MeterRange(BaseModel):
    """One range, as the meter's manual states it: see `fieldnote.acceptance.AccuracyRange`."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    unit: Unit
    upto: Number
    resolution: Number
    downto: Number | None = None
    percent: Number = "0"
    digits: Number = "0"
    percent_of_range: Number = "0"
    current: Literal["AC", "DC"] | None = None


class Dial(BaseModel):
    """A dial with a needle, by two marks of its scale: see `fieldnote.photo.GaugeScale`.

    centre: the needle's axis, as shares of the picture's width and height. low, high: value of a
    mark, and its angle in degrees clockwise from straight up. division: value of one division.
    reach: the needle's length as a share of the picture's shorter side.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    unit: Unit
    low: tuple[Number, Number]
    high: tuple[Number, Number]
    division: Number
    centre: tuple[Number, Number] = ("0.5", "0.5")
    reach: Number = "0.4"

    @model_validator(mode="after")
    def _scale_is_a_scale(self) -> Dial:
        if Decimal(self.low[0]) == Decimal(self.high[0]):
            raise Fault("Both marks have the same value.", "Mark two that differ.", ("high",))
        turn = Decimal(self.high[1]) - Decimal(self.low[1])
        if not 0 < turn <= 360:
            raise Fault(
                f"From low to high is a turn of {turn}°.",
                "Give angles clockwise from straight up, high's the greater: 7 o'clock is -150.",
                ("high",),
            )
        if Decimal(self.division) <= 0:
            raise Fault("The division must be above nought.", "", ("division",))
        if not all(0 <= Decimal(each) <= 1 for each in self.centre):
            raise Fault("The centre lies outside the picture.", "Give shares, 0 to 1.", ("centre",))
        if not 0 < Decimal(self.reach) <= 1:
            raise Fault("The reach is no share of the picture.", "Give 0 to 1.", ("reach",))
        return self


class DisplayFacts(BaseModel):
    """What photos of its display need to know beside the ranges.

    signed: whether a minus can be shown. printed: characters are printed or of dots, not segments.
    dial: for an instrument with a needle.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    signed: bool = True
    printed: bool = False
    dial: Dial | None = None


class Instrument(BaseModel):
    """One instrument.

    calibrated, due: dates of the last and the next calibration. display: how photos of it are read.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    id: Name
    name: Text
    serial: Text | None = None
    calibrated: date | None = None
    due: date | None = None
    certificate: Text | None = None
    display: DisplayFacts = DisplayFacts()
    source: Text | None = None
    """Where the accuracy specification comes from."""
    ranges: tuple[MeterRange, ...] = ()

    @model_validator(mode="after")
    def _dates_follow(self) -> Instrument:
        if self.calibrated and self.due and self.due < self.calibrated:
            raise Fault("It is due before it was calibrated.", "Check the two dates.", ("due",))
        with as_fault("ranges"):
            _ = self.accuracy
        return self

    @property
    def accuracy(self) -> Accuracy | None:
        """Its accuracy specification; None where the register has no ranges for it."""
        if not self.ranges:
            return None
        return Accuracy(tuple(AccuracyRange(**each.model_dump()) for each in self.ranges))

    def overdue(self, on: date) -> bool:
        """Whether its calibration has run out on that day; the due date itself is still good."""
        return self.due is not None and on > self.due

    def standing(self, on: date) -> str:
        """One sentence on its calibration, to be said at the start and printed on the report."""
        if self.due is None:
            return f"No calibration due date is known for {self.name}."
        if self.overdue(on):
            return f"{self.name} is overdue for calibration since {self.due.isoformat()}."
        return f"{self.name} is in calibration until {self.due.isoformat()}."

    def for_log(self) -> dict[str, Any]:
        """What a job's start record keeps of it: id, name, serial, dates; all strings."""
        facts = self.model_dump(mode="json", exclude={"ranges", "display"}, exclude_none=True)
        return dict(facts)


class Register(BaseModel):
    """All instruments at hand."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    instruments: tuple[Instrument, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _ids_differ(self) -> Register:
        seen: set[str] = set()
        for number, each in enumerate(self.instruments):
            if each.id in seen:
                raise Fault(
                    f"The name “{each.id}” stands twice.",
                    "Give each instrument its own id.",
                    ("instruments", number, "id"),
                )
            seen.add(each.id)
        return self

    def instrument(self, id: str) -> Instrument:
        """The instrument of that id.

        Raises:
            BadInputError: there is none.
        """
        for each in self.instruments:
            if each.id == id:
                return each
        raise BadInputError(
            f"There is no instrument “{id}” in the register.",
            closest(id, [each.id for each in self.instruments]),
        )


def load_register(path: Path | None = None) -> Register:
    """The register in a TOML file; without one, the invented instruments of the examples.

    Raises:
        FileProblemsError: every problem with its line and mend.
        BadInputError: no such file.
    """
    if path is None:
        text = (files("fieldnote.procedure") / "instruments.toml").read_text(encoding="utf-8")
        return _register(text, "instruments.toml (shipped)")
    return _register(read_text(path), str(path))


def _register(text: str, file: str) -> Register:
    return read_model(Register, text, file, table="instruments", fields_at=_fields)


def _fields(where: Loc) -> list[str]:
    if "dial" in where:
        return list(Dial.model_fields)
    if "display" in where:
        return list(DisplayFacts.model_fields)
    models: Mapping[bool, type[BaseModel]] = {True: MeterRange, False: Instrument}
    if not where:
        return list(Register.model_fields)
    return list(models["ranges" in where].model_fields)
