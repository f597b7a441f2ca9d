"""The language of readings: words → an entry, and the grammar of what a recogniser may hear."""

from fieldnote.language import vocabulary
from fieldnote.language.display import display_entry
from fieldnote.language.entry import Context, Entry, Kind
from fieldnote.language.grammar import Grammar
from fieldnote.language.quantity import Quantity
from fieldnote.language.reader import parse
from fieldnote.language.speak import speak, speak_number
from fieldnote.language.units import UNITS, Unit, kind_of, symbol

__all__ = [
    "UNITS",
    "Context",
    "Entry",
    "Grammar",
    "Kind",
    "Quantity",
    "Unit",
    "display_entry",
    "kind_of",
    "parse",
    "speak",
    "speak_number",
    "symbol",
    "vocabulary",
]
