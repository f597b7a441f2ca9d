"""A guess at how a word sounds that nobody has transcribed: a procedure's own label."""

from __future__ import annotations

import shutil
import subprocess
from functools import cache

IPA_TO_ARPABET: tuple[tuple[str, str], ...] = (
    *(("aɪɚ", "AY ER"), ("aɪə", "AY AH"), ("aʊɚ", "AW ER"), ("ɔːɹ", "AO R"), ("oːɹ", "AO R")),
    *(("ɑːɹ", "AA R"), ("ɜːɹ", "ER"), ("ɜː", "ER"), ("aɪ", "AY"), ("eɪ", "EY"), ("ɔɪ", "OY")),
    *(("aʊ", "AW"), ("oʊ", "OW"), ("tʃ", "CH"), ("dʒ", "JH"), ("ɑː", "AA"), ("ɔː", "AO")),
    *(("iː", "IY"), ("uː", "UW"), ("ʌ", "AH"), ("ɐ", "AH"), ("ə", "AH"), ("ɚ", "ER"), ("ɪ", "IH")),
    *(("ᵻ", "IH"), ("ʊ", "UH"), ("ɛ", "EH"), ("æ", "AE"), ("i", "IY"), ("u", "UW"), ("ɑ", "AA")),
    *(("ɔ", "AO"), ("o", "OW"), ("e", "EH"), ("ɒ", "AA"), ("a", "AE"), ("n̩", "AH N"), ("b", "B")),
    *(("l̩", "AH L"), ("d", "D"), ("ð", "DH"), ("f", "F"), ("ɡ", "G"), ("h", "HH"), ("k", "K")),
    *(("l", "L"), ("m", "M"), ("n", "N"), ("ŋ", "NG"), ("p", "P"), ("ɹ", "R"), ("s", "S")),
    *(("ʃ", "SH"), ("t", "T"), ("ɾ", "T"), ("θ", "TH"), ("v", "V"), ("w", "W"), ("j", "Y")),
    *(("z", "Z"), ("ʒ", "ZH"), ("ʔ", "T")),
)
"""espeak-ng's IPA in ARPAbet, the longer spellings first."""


@cache
def transcribed(word: str) -> tuple[str, ...]:
    """The phonemes of a word by espeak-ng's American rules; empty where there is no espeak-ng."""
    program = shutil.which("espeak-ng")
    if program is None:
        return ()
    command = [program, "-q", "--ipa", "-v", "en-us", "--stdin"]
    result = subprocess.run(command, input=word.encode(), capture_output=True, check=False)
    return arpabet(result.stdout.decode(errors="replace"))


def arpabet(ipa: str) -> tuple[str, ...]:
    """Phonemes of a word in IPA; stress, length and what has no like in English is left out."""
    phonemes: list[str] = []
    place = 0
    while place < len(ipa):
        for letters, names in IPA_TO_ARPABET:
            if ipa.startswith(letters, place):
                phonemes += names.split()
                place += len(letters)
                break
        else:
            place += 1
    # "battery" comes as ER R IY; the R is in the ER.
    return tuple(
        name
        for before, name in zip(("", *phonemes), phonemes, strict=False)
        if (before, name) != ("ER", "R")
    )
