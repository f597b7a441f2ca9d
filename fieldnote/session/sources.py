"""How an entry was taken, as its record keeps it (`source` in docs/data-model.md)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fieldnote.photo import Display
    from fieldnote.session.interpret import Heard


def spoken(heard: Heard, file: str, start: str, end: str) -> dict[str, Any]:
    """file: where it came from, as given. start, end: s in the clip that is the evidence."""
    source: dict[str, Any] = {
        "how": "voice",
        "file": file,
        "engine": heard.engine,
        "heard": heard.heard,
        "confidence": f"{heard.confidence:.2f}",
        "start": start,
        "end": end,
    }
    return source if heard.second is None else source | {"second": heard.second}


def shown(path: Path, display: Display) -> dict[str, Any]:
    """box: px of the picture that is the record's evidence. uncertainty: standard, of reading a
    dial, in the reading's unit."""
    source: dict[str, Any] = {
        "how": "photo",
        "file": path.name,
        "engine": display.reader,
        "display": display.characters,
        "confidence": f"{display.confidence:.2f}",
        "box": [[f"{x:.1f}", f"{y:.1f}"] for x, y in display.box],
    }
    if display.notes:
        source["notes"] = list(display.notes)
    if display.uncertainty is None:
        return source
    return source | {"uncertainty": display.uncertainty}
