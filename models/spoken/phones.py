"""Phones, their positions in a word, and the two pdfs that each of them owns.

The topology is Kaldi's "chain" one: a phone lasts at least one frame (of 30 ms). Its first frame
is scored by one pdf and every further frame by another, so that the net can tell "a phone starts
here" from "it goes on".
"""

SILENCE = "SIL"  # nobody speaks: pauses, noise, machines
SPOKEN_NOISE = "SPN"  # speech outside the vocabulary
VOWELS = ("AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW")
STOPS = ("B", "CH", "D", "G", "JH", "K", "P", "T")
FRICATIVES = ("DH", "F", "HH", "S", "SH", "TH", "V", "Z", "ZH")
SONORANTS = ("L", "M", "N", "NG", "R", "W", "Y")
ARPABET = tuple(sorted((*VOWELS, *STOPS, *FRICATIVES, *SONORANTS)))
PHONES = (SILENCE, SPOKEN_NOISE, *ARPABET)
PDF_COUNT = 2 * len(PHONES)
GARBAGE = "[unk]"  # the name that vosk's users know

INDEX = {phone: index for index, phone in enumerate(PHONES)}


def first_pdf(phone: str) -> int:
    """Pdf of the frame in which `phone` starts."""
    return 2 * INDEX[phone]


def further_pdf(phone: str) -> int:
    """Pdf of every later frame of `phone`."""
    return 2 * INDEX[phone] + 1


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
    return [SILENCE] + [f"{p}_{mark}" for p in PHONES[1:] for mark in "BEIS"]
