"""Phones, the net's outputs for them, and their names by the place in a word.

The net is trained by connectionist temporal classification (Graves et al. 2006): output 0 is the
blank, which is also what pauses and noise give; the outputs after it are the phones in
alphabetical order.
"""

SILENCE = "SIL"  # the blank; as a phone of Kaldi's: between words
BLANK = "BLK_I"  # the blank again, as a phone of Kaldi's: between two phones of one word
VOWELS = ("AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW")
STOPS = ("B", "CH", "D", "G", "JH", "K", "P", "T")
FRICATIVES = ("DH", "F", "HH", "S", "SH", "TH", "V", "Z", "ZH")
SONORANTS = ("L", "M", "N", "NG", "R", "W", "Y")
ARPABET = tuple(sorted((*VOWELS, *STOPS, *FRICATIVES, *SONORANTS)))
PHONES = (SILENCE, *ARPABET)
PDF_COUNT = len(PHONES)
GARBAGE = "[unk]"  # the name that vosk's users know

INDEX = {phone: index for index, phone in enumerate(PHONES)}
"""Output of the net by phone."""


def positioned(phones: tuple[str, ...]) -> list[str]:
    """Phone names with the mark of their place in the word: begin, internal, end or single.

    vosk finds the words' times from these marks (graph/phones/word_boundary.int).
    """
    if len(phones) == 1:
        return [f"{phones[0]}_S"]
    return [f"{phones[0]}_B", *(f"{p}_I" for p in phones[1:-1]), f"{phones[-1]}_E"]


def all_positioned() -> list[str]:
    """Every phone name of the model, silence first; the order is the phone's number in Kaldi, from
    1."""
    return [SILENCE, BLANK, *(f"{phone}_{mark}" for phone in ARPABET for mark in "BEIS")]


def pdf(name: str) -> int:
    """The net's output that scores the phone `name` as `all_positioned` has it."""
    return 0 if name in (SILENCE, BLANK) else INDEX[name.rsplit("_", 1)[0]]
