"""The one thing the language makes of words: an entry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal[
    "reading",  # a number with a unit
    "open",  # open circuit, over limit: a result, not a failure to read
    "short",  # short circuit: likewise
    "wire",  # a cavity or terminal and the colours of its wire
    "remark",  # free text, kept as heard
    "command",  # an instruction of the hands-free session
    "bare",  # a number without a unit, where no step names one
    "series",  # several numbers that share a unit
    "none",  # talk that is no reading
    "unclear",  # could be a reading, but must be asked for again; `reason` says why
]


@dataclass(frozen=True, slots=True)
class Context:
    """What the current step tells the language. Never a limit (design rule 2).

    unit: UCUM code that a bare number takes; the entry then says ``unit_from="step"``.
    kind: UCUM code of any unit of the expected kind of quantity; a unit of another kind is unclear.
    labels: names of measuring points and parts that this procedure adds to the vocabulary.
    choices: what an observation may be answered with; said alone, one of them is a ``remark`` whose
        ``label`` is the choice as it stands here.
    start_word: a word that opens an utterance in hands-free mode and is dropped.
    question: a question with candidates is open, so that "the first one", "neither" or a unit alone
        may answer it.
    """

    unit: str | None = None
    kind: str | None = None
    labels: tuple[str, ...] = ()
    start_word: str | None = None
    question: bool = False
    choices: tuple[str, ...] = ()


NO_CONTEXT = Context()
"""No step: units must be said, and only the common names are known."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What was said or shown, structured; one field has one meaning whatever the source.

    value: exact decimal digits as said ("10.60" stays "10.60"); for a series the values in order,
        joined by single spaces; for ``unclear`` the best candidate, which is never a reading.
    unit: UCUM code. values: the members of a series, else empty.
    label: what it belongs to, as words. pins: terminals in the order said ("4", "ground").
    colour: IEC 60757 letter code, tracer after a slash ("BK/BN").
    command: name of the command, one of ``vocabulary``'s. text: the words as heard.
    reason: why unclear, for a person. alternatives: other candidates for ``value``.
    unit_from: "said", or "step" when the unit was not said and the step named it.
    current: "AC" or "DC" where said. position, state: words such as "port", "cold".
    hedge: "about", "roughly" and their kin, where said.
    corrected: the value withdrawn in mid-speech, where there was one.
    """

    kind: Kind
    value: str | None = None
    unit: str | None = None
    values: tuple[str, ...] = ()
    label: str | None = None
    pins: tuple[str, ...] = ()
    colour: str | None = None
    command: str | None = None
    text: str = ""
    reason: str | None = None
    alternatives: tuple[str, ...] = ()
    unit_from: Literal["said", "step"] | None = None
    current: Literal["AC", "DC"] | None = None
    position: str | None = None
    state: str | None = None
    hedge: str | None = None
    corrected: str | None = None

    def to_json(self) -> dict[str, Any]:
        """All fields, in the order of the machine interface; tuples become lists."""
        return {
            name: list(value) if isinstance(value := getattr(self, name), tuple) else value
            for name in self.__slots__
        }
