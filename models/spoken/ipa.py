"""What espeak-ng says it says: its IPA as ARPAbet phones, for labels that match the sound.

The correspondences are those of the International Phonetic Alphabet and of ARPAbet as the CMU
Pronouncing Dictionary uses it; accents are folded to the nearest phone.
"""

from __future__ import annotations

_PAIRS = {
    # what is written with several signs
    **{"aɪə": "AY AH", "aɪɚ": "AY ER", "aʊɚ": "AW ER", "aʊə": "AW AH", "ɔɪə": "OY AH"},
    **{"iəɹ": "IY R", "ɪəɹ": "IH R", "eəɹ": "EH R", "ʊəɹ": "UH R", "oːɹ": "AO R", "æʊ": "AW"},
    **{"ɪəʊ": "IH OW", "iəʊ": "IY OW", "aɪəʊ": "AY OW"},
    **{"aɪ": "AY", "eɪ": "EY", "ɔɪ": "OY", "aʊ": "AW", "oʊ": "OW", "əʊ": "OW", "ʌʉ": "AW"},
    **{"iə": "IY AH", "ɪə": "IH AH", "eə": "EH AH", "ɛə": "EH AH", "ʊə": "UH AH", "oə": "AO AH"},
    **{
        "ɜːɹ": "ER",
        "ɜɹ": "ER",
        "ɚɹ": "ER",
        "əɹ ": "ER",
        "tʃ": "CH",
        "dʒ": "JH",
        "əl": "AH L",
        "n̩": "AH N",
    },
    **{"iː": "IY", "uː": "UW", "ɑː": "AA", "ɔː": "AO", "ɜː": "ER", "oː": "OW", "eː": "EY"},
    **{"ʉː": "UW", "aː": "AA", "ɐː": "AA", "t̪": "TH", "d̪": "DH"},
    # single signs
    **{"i": "IY", "ɪ": "IH", "ᵻ": "IH", "ɨ": "IH", "e": "EH", "ɛ": "EH", "æ": "AE", "a": "AE"},
    **{"ɑ": "AA", "ɒ": "AA", "ɔ": "AO", "o": "OW", "ʊ": "UH", "u": "UW", "ʉ": "UW", "ʌ": "AH"},
    **{"ə": "AH", "ɐ": "AH", "ɜ": "ER", "ɚ": "ER", "ɝ": "ER", "ɵ": "OW"},
    **{"p": "P", "b": "B", "t": "T", "d": "D", "k": "K", "ɡ": "G", "g": "G", "f": "F", "v": "V"},
    **{"θ": "TH", "ð": "DH", "s": "S", "z": "Z", "ʃ": "SH", "ʒ": "ZH", "h": "HH", "m": "M"},
    **{"n": "N", "ŋ": "NG", "l": "L", "ɫ": "L", "ɬ": "L", "ɹ": "R", "r": "R", "j": "Y", "w": "W"},
    **{"ʍ": "W", "ɾ": "T", "ʔ": "T", "x": "K", "ç": "HH", "ʲ": "", "ɣ": "G"},
}
_LONGEST = max(map(len, _PAIRS))


def arpabet(ipa: str) -> tuple[str, ...]:
    """Phones of an IPA text; stress, length marks and word breaks are left out.

    Raises ValueError for a letter that stands for no phone of English here.
    """
    phones: list[str] = []
    # A word's end counts: "ə" and "ɹ" are one phone only where a word ends with them.
    text = ipa.replace("ˈ", "").replace("ˌ", "").replace("_", "") + " "
    place = 0
    while place < len(text):
        for size in range(_LONGEST, 0, -1):
            found = _PAIRS.get(text[place : place + size])
            if found is not None:
                phones += found.split()
                place += size
                break
        else:
            if text[place].isalpha() and text[place] not in "ːʰ":
                raise ValueError(f"no phone for {text[place]!r} in {ipa!r}")
            place += 1
    return tuple(phones)
