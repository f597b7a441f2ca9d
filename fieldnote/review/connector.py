"""A connector's face drawn from the wires on record: what was seen, not the maker's view."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnote.review.phrases import WIRE_COLOURS
from fieldnote.review.story import Line

PITCH = 46.0  # drawing units from cavity to cavity
ONE_ROW = 6  # cavities that still stand in one row
MOST = 60  # cavities drawn; a number beyond that is a slip, not a connector


@dataclass(frozen=True, slots=True)
class Cavity:
    """pin: its number. colours: base and tracer to draw with, empty where nothing is on record."""

    x: float
    y: float
    pin: int
    code: str = ""
    colours: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Face:
    """One connector. name: as said; empty where none was."""

    name: str
    width: float
    height: float
    cavities: tuple[Cavity, ...]


def faces(wires: list[Line]) -> list[Face]:
    """Faces of the connectors whose wires were told by a pin number; withdrawn entries left out."""
    by_name: dict[str, dict[int, str]] = {}
    for line in wires:
        entry = line.now.entry
        pins = [int(pin) for pin in entry.get("pins") or () if str(pin).isdecimal()]
        if line.withdrawn is None and len(pins) == 1 and 1 <= pins[0] <= MOST:
            codes = by_name.setdefault(str(entry.get("label") or ""), {})
            codes[pins[0]] = str(entry.get("colour") or "")
    return [_face(name, codes) for name, codes in by_name.items()]


def _face(name: str, codes: dict[int, str]) -> Face:
    count = max(codes)
    columns = count if count <= ONE_ROW else -(-count // 2)
    rows = 1 if count <= ONE_ROW else 2
    cavities = tuple(
        Cavity(
            x=PITCH * ((pin - 1) % columns + 0.75),
            y=PITCH * ((pin - 1) // columns + 0.75),
            pin=pin,
            code=codes.get(pin, ""),
            colours=colours(codes.get(pin)),
        )
        for pin in range(1, count + 1)
    )
    return Face(name, PITCH * (columns + 0.5), PITCH * (rows + 0.75), cavities)


def colours(code: str | None) -> tuple[str, ...]:
    """Colours to draw an IEC 60757 code with; empty where a part of it is not known."""
    parts = code.split("/") if code else []
    known = all(part in WIRE_COLOURS for part in parts)
    return tuple(WIRE_COLOURS[part][1] for part in parts) if known else ()
