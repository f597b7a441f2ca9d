"""Typed or recognised text → the vocabulary's own words.

Everything that only differs in writing ends here: case, hyphens, British and American spelling,
digits glued to symbols ("-40°C"), spelled abbreviations ("p.s.i."). What comes out is a list of
words:
vocabulary words, numbers in digits, ``=CODE`` for a unit written as a symbol, and ``,`` for a
pause.
"""

from __future__ import annotations

import re
from functools import cache

from fieldnote.language.numbers import STARTERS, is_typed
from fieldnote.language.units import UNITS
from fieldnote.language.vocabulary import DIGITS, NUMBERED, SPELLINGS

PAUSE = ","
FULL_STOP = "."
"""Between two numbers in digits: a point gone astray, or two sentences; never a series."""
DASH = "-"
UNIT_MARK = "="

_CHARACTERS = str.maketrans(
    {
        "Ω": "Ω", "μ": "µ", "–": "-", "—": " - ", "−": "-", "‑": "-", "’": "'", "‘": "'", "º": "°",
        "″": '"', "”": '"', "“": '"', "⁄": "/", "\u00a0": " ", "\u2009": "", "\u202f": "",
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
        "…": " , ", "⋅": "·", "∙": "·", "•": "·", "₂": "2", "×": " x ", "∞": " infinity ", "˚": "°",
    }
)  # fmt: skip

_PIECE = re.compile(
    r"""
    (?P<other>[0-9]+:[0-9]+|[0-9]+/[0-9]+/[0-9]+|[0-9]+(?:st|nd|rd|th)\b|[0-9.]+[eE][+-]?[0-9]+\b
        |[0-9]+(?:\.[0-9]+){2,}|[0-9]+,[0-9]{1,2}(?![0-9,])|[0-9]+,[0-9]{4,}|[0-9]+[kKMR][0-9]+\b)
    |(?P<fraction>[0-9]+/[0-9]+)
    |(?P<number>[0-9]{1,3}(?:,[0-9]{3})+(?![0-9])(?:\.[0-9]+)?|[0-9]+(?:\.[0-9]+)?|(?<![0-9])\.[0-9]+)
    |(?P<symbol>°\ ?[CFcf]\b|"(?:Hg|wc)\b)
    |(?P<word>[A-Za-zΩµ°℃℉](?:[A-Za-z0-9Ωµ°²³'·/]|[.-](?=[A-Za-zΩµ]))*)
    |(?P<mark>[^\s])
    """,
    re.VERBOSE,
)
_NUMBER_SIGN = re.compile(rf"^No\. ?([0-9]{{1,2}}(?= (?:{'|'.join(NUMBERED)})\b))")
"""At the beginning only: after a value, "No." is a correction."""
_LETTERS_WITH_POINTS = re.compile(r"(?:[A-Za-z]\.)+[A-Za-z]")
_LETTER_NEXT = re.compile(r"\s+[A-Za-z]\b")
_HYPHENED_PARTS = {"thirty-second", "thirty-seconds", "sixty-fourth", "sixty-fourths"}
_MARKS = {
    "%": "=%", "°": "=deg", '"': "=[in_i]", "&": "and", "@": "at", "~": "about", "≈": "about",
    "<": "under", ">": "over", "≤": "under", "≥": "over", "=": PAUSE, ",": PAUSE, ";": PAUSE,
    ":": PAUSE, ".": PAUSE, "!": PAUSE, "?": PAUSE, "(": PAUSE, ")": PAUSE, "[": PAUSE, "]": PAUSE,
    "+": "plus", "#": "number", "$": "dollars", "£": "dollars", "€": "dollars", "℃": "=Cel",
    "℉": "=[degF]",
}  # fmt: skip
_NEEDS_DIGITS = frozenset(
    ("h", "s", "d", "l", "t", "g", "m", "v", "w", "in", "ins", "min", "us", "um", "sec", "secs",
     "gal")
)  # fmt: skip
"""Symbols that are everyday words or letters too: they count only behind a number in digits."""


@cache
def symbols() -> tuple[dict[str, str], dict[str, str]]:
    """Written units in one piece → UCUM code: as written, and by lower case where that is
    unique."""
    exact: dict[str, str] = {}
    for unit in UNITS.values():
        for form in unit.written:
            if " " not in form:
                exact.setdefault(form, unit.ucum)
    exact.pop("C", None)
    lower: dict[str, set[str]] = {}
    for form, code in exact.items():
        lower.setdefault(form.lower(), set()).add(code)
    unique = {
        form: next(iter(codes))
        for form, codes in lower.items()
        if len(codes) == 1
        and len(form) > 1
        and form not in ("uh", "ah")
        and not (form[0] == "m" and form[1:] in _MEGA_TOO)
    }
    return exact, unique


_MEGA_TOO = frozenset({"v", "a", "w", "ω", "ohm", "hz", "f", "j", "pa", "n", "h"})
"""After an M of unknown case these are a million times more or a thousandth: never guessed."""


@cache
def _spellings() -> tuple[
    dict[str, tuple[str, ...]], dict[str, list[tuple[tuple[str, ...], tuple[str, ...]]]]
]:
    """SPELLINGS by single words, and by the first word of the longer ones."""
    single: dict[str, tuple[str, ...]] = {
        "".join(form.split()[:2]): tuple(form.split()[:2])
        for unit in UNITS.values()
        for form in unit.spoken
        if form.split()[0] in _PREFIX_WORDS
    }
    several: dict[str, list[tuple[tuple[str, ...], tuple[str, ...]]]] = {}
    for spelling, own in SPELLINGS.items():
        words = tuple(spelling.split())
        if spelling == own:
            continue
        if len(words) == 1:
            single[spelling] = single.get(own, tuple(own.split()))
        else:
            several.setdefault(words[0], []).append((words, tuple(own.split())))
    return single, several


_PREFIX_WORDS = ("pico", "nano", "micro", "milli", "hecto", "kilo", "mega", "meg", "giga")


def words_of(text: str) -> list[str]:
    """The words of ``text`` in the vocabulary's spelling, pauses as ``,``.

    >>> words_of("Pin 3: 1.2 MΩ")
    ['pin', '3', ',', '1.2', '=MOhm']
    """
    text = _NUMBER_SIGN.sub(r"number \1", text)
    if not text.isascii():
        text = text.translate(_CHARACTERS)
    single, several = _spellings()
    out: list[str] = []
    for match in _PIECE.finditer(text):
        piece = match[0]
        group = match.lastgroup
        if group == "word":
            _add_word(piece, text, match.start(), match.end(), out, single)
        elif group == "mark":
            _add_mark(piece, text, match.start(), out)
        elif group == "number":
            out.append(piece.replace(",", ""))
        elif group == "fraction":
            out.append(piece)
        elif group == "symbol":
            out.append(
                {"C": "=Cel", "F": "=[degF]", "G": "=[in_i'Hg]"}.get(
                    piece[-1].upper(), "=[in_i'H2O]"
                )
            )
        else:
            out.append(piece.lower())
    if several.keys() & set(out):
        out = _respell(out, several)
    for place in range(1, len(out) - 1):
        if out[place] == "o" and _digit(out[place - 1]) and _digit(out[place + 1]):
            out[place] = "oh"
    if out[:2] == ["oh", PAUSE]:
        del out[:2]  # a sigh, not a zero
    return out


def _digit(word: str) -> bool:
    return word in DIGITS or word.isdigit()


def _numeric(word: str) -> bool:
    return word[0].isdigit() or word in STARTERS or is_typed(word)


def _add_word(
    piece: str, text: str, start: int, end: int, out: list[str], single: dict[str, tuple[str, ...]]
) -> None:
    numeric = bool(out) and _numeric(out[-1])
    if piece.lower() in _HYPHENED_PARTS:
        out.append(piece.lower().replace("-", ""))
        return
    if _LETTERS_WITH_POINTS.fullmatch(piece):
        piece = piece.replace(".", "")
    if not numeric and piece[-1] == "Ω" and piece in symbols()[0]:
        out.append(UNIT_MARK + symbols()[0][piece])
        return
    spelled = len(piece) == 1 and _LETTER_NEXT.match(text, end)  # "5 g p h", not 5 grams
    if numeric and not spelled:
        exact, unique = symbols()
        lower = piece.lower()
        code = exact.get(piece) or unique.get(lower)
        if code and piece in _NEEDS_DIGITS:
            rest = text[end:].lstrip()
            if not is_typed(out[-1]) or (piece == "in" and rest and rest[0] not in ",.;!?)"):
                code = None
        if code:
            out.append(UNIT_MARK + code)
            return
        if lower.startswith("m") and lower[1:] in _MEGA_TOO:
            out.append("=?")
            return
        if piece == "C" or (lower in ("f", "c") and piece.isupper()):
            out.append("degrees c" if lower == "c" else "f")
            if out[-1] == "degrees c":
                out[-1:] = ["degrees", "c"]
            return
    for part in re.split(r"[-·]", piece):
        if not part:
            continue
        if "/" in part:
            for index, side in enumerate(part.split("/")):
                if index:
                    out.append("/")
                if side:
                    out.extend(single.get(side.lower(), (side.lower(),)))
            continue
        word = part.lower().rstrip("'")
        if word.endswith("'s") and word[:-2] not in _KEEP_S:
            word = word[:-2]
        if word in single:
            out.extend(single[word])
        elif word:
            out.append(word)


_KEEP_S = frozenset(
    {
        "it",
        "that",
        "what",
        "let",
        "there",
        "here",
        "where",
        "who",
        "he",
        "she",
        "how",
        "when",
        "one",
    }
)


def _add_mark(piece: str, text: str, start: int, out: list[str]) -> None:
    if piece == "-":
        after = text[start + 1 : start + 2]
        before = text[start - 1 : start] if start else " "
        last_typed = bool(out) and is_typed(out[-1])
        if after.isdigit() or after == ".":
            if before.isdigit() or before == ".":
                if re.match(r"[0-9]+/[0-9]+", text[start + 1 :]):
                    return  # 1-3/4
                out.append("to")
            else:
                out.append("minus")
        elif last_typed or out:
            out.append(DASH)
        elif text[start + 1 :].lstrip()[:1].isdigit():
            out.append("minus")
        return
    glued = piece == "+" and start and text[start - 1].isalpha()
    if glued and out and len(out[-1]) == 1:
        out[-1] += "+"  # the terminal B+
        return
    if piece == "±":
        out.extend(("plus", "or", "minus"))
        return
    if piece == '"' and not (out and (is_typed(out[-1]) or out[-1] in STARTERS)):
        return
    if piece in "'`*_":
        return
    if piece == "." and out and is_typed(out[-1]) and text[start + 1 :].lstrip()[:1].isdigit():
        out.append(FULL_STOP)
        return
    if piece.isdigit():  # digits of other scripts, raised digits: nothing to guess with
        piece = "�"
    out.append(_MARKS.get(piece, piece))


def _respell(
    words: list[str], several: dict[str, list[tuple[tuple[str, ...], tuple[str, ...]]]]
) -> list[str]:
    out: list[str] = []
    place = 0
    while place < len(words):
        for spelling, own in several.get(words[place], ()):
            if tuple(words[place : place + len(spelling)]) == spelling:
                out.extend(own)
                place += len(spelling)
                break
        else:
            out.append(words[place])
            place += 1
    return out
