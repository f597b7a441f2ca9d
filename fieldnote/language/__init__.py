"""The language of readings: words → an entry, and the grammar of what a recogniser may hear."""

from . import vocabulary
from .display import display_entry
from .entry import Context, Entry, Kind
from .grammar import Grammar
from .quantity import Quantity
from .reader import parse
from .speak import speak, speak_number
from .units import UNITS, Unit, kind_of, symbol

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
