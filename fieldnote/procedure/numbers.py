"""Numbers, units and names as a file may write them."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any

from pydantic import BeforeValidator, StringConstraints, WithJsonSchema

from fieldnote.acceptance import UNITS
from fieldnote.acceptance.exact import decimal
from fieldnote.procedure.problems import Fault, as_fault, closest


def _number(value: Any) -> str:
    # The loader makes Decimal of TOML's floats, so 0.10 keeps its digits with or without quotes.
    if isinstance(value, bool) or not isinstance(value, str | int | Decimal):
        raise Fault("This must be a number.", 'Write it as 0.50 or "0.50".')
    text = str(value)
    with as_fault():
        decimal(text, "This")
    return text


def _tolerance(value: Any) -> str:
    if isinstance(value, str) and value.strip().endswith("%"):
        return _number(value.strip().removesuffix("%").strip()) + " %"
    return _number(value)


def _unit(value: Any) -> str:
    if not isinstance(value, str):
        raise Fault("A unit must be text.", 'Write its UCUM code in quotes, such as "Ohm".')
    if value not in UNITS:
        signs = {unit.symbol: code for code, unit in UNITS.items()}
        if value in signs:
            raise Fault(
                f"The unit “{value}” is written as a symbol.",
                f'Write its UCUM code: "{signs[value]}".',
            )
        near = closest(value, UNITS)
        raise Fault(
            f"The unit “{value}” is not known.",
            near
            if near.startswith("Did")
            else "Write a UCUM code, such as Ohm, V, kPa, Cel or deg.",
        )
    return value


_NUMBER_SCHEMA = {
    "anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^[-+]?\d+(\.\d+)?$"}],
    "description": "An exact decimal; its digits are kept.",
}
Number = Annotated[str, BeforeValidator(_number), WithJsonSchema(_NUMBER_SCHEMA)]
Tolerance = Annotated[
    str,
    BeforeValidator(_tolerance),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0},
                {"type": "string", "pattern": r"^\d+(\.\d+)?\s*%?$"},
            ],
            "description": "A difference in the window's unit, or a share of the nominal: '5 %'.",
        }
    ),
]
Unit = Annotated[
    str,
    BeforeValidator(_unit),
    WithJsonSchema({"type": "string", "description": "UCUM code of a unit that Fieldnote knows."}),
]
Name = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]*$")]
_OF_WIRES = ("pin", "pins", "cavity", "terminal", "terminals")


def _label(value: Any) -> Any:
    # The language hears these words as the ends of a wire or measurement, never as a name.
    if (
        isinstance(value, str)
        and value.lower().split()[:1]
        and value.lower().split()[0] in _OF_WIRES
    ):
        raise Fault(
            f"“{value}” cannot be a name: “{value.split()[0]}” begins a pin or cavity.",
            'Choose another word, such as "contact two".',
        )
    return value


Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
Label = Annotated[Text, BeforeValidator(_label)]
"""A name that can be said before a value."""
