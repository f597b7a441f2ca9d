"""Lends the job log, which knows no units, the value of a reading in its kind's base unit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fieldnote.acceptance import Quantity
from fieldnote.errors import BadInputError
from fieldnote.joblog import Index
from fieldnote.language import UNITS


def base_unit(kind: str) -> str:
    """UCUM code of the unit in which readings of a kind of quantity are compared."""
    return next(unit.ucum for unit in UNITS.values() if unit.kind == kind)


def index_of(body: Mapping[str, Any]) -> Index | None:
    """For searching by range and for trends only; None where the body holds no single reading."""
    entry = body.get("entry") or {}
    unit = UNITS.get(entry.get("unit") or "")
    if entry.get("kind") != "reading" or entry.get("value") is None or unit is None:
        return None
    base = base_unit(unit.kind)
    try:
        value = Quantity(entry["value"], unit.ucum).to(base)
    except BadInputError:  # a unit that converts to nothing else is compared with its own kind only
        return None
    return Index(unit.kind, float(value), base)
