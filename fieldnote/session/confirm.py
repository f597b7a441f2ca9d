"""The confirmation policy: what is stored at once, what is asked for again, what is dropped.

One table. Its figures come from ``python -m tests.bench.speech_curve`` on the tuning set, which
prints right, asked and wrong at each threshold; docs/speech.md tells how they were chosen.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Decision(StrEnum):
    STORE = "store"
    ASK = "ask"
    DROP = "drop"


class Support(StrEnum):
    """How the engines stand to the likeliest meaning of an utterance."""

    AGREED = "agreed"  # each of two or more engines, by itself, prefers it
    MOST = "most"  # more than half of them do
    DISPUTED = "disputed"  # together they prefer it, but half of them or more by themselves do not
    TWIN = "twin"  # a ten was heard and its teen is a candidate: thirty, thirteen
    ALONE = "alone"  # there is one engine only
    STRANGE = "strange"  # talk, as it seems: an engine that knows talk heard something outside the
    # vocabulary, or the number has no unit; and a phone net heard something else


@dataclass(frozen=True, slots=True)
class Rule:
    """Confidence from which a meaning is stored, and from which it is asked about.

    brief: the bar for storing an utterance of one word. Most of them are commands, a single word
    carries little sound to be sure of, and a false "yes" confirms a caution.
    """

    support: Support
    store: float
    brief: float
    ask: float


NEVER = 2.0

POLICY = (
    Rule(Support.AGREED, store=0.85, brief=0.97, ask=0.10),
    Rule(Support.TWIN, store=0.997, brief=0.998, ask=0.10),
    Rule(Support.MOST, store=0.93, brief=0.98, ask=0.10),
    Rule(Support.DISPUTED, store=0.98, brief=0.998, ask=0.10),
    Rule(Support.ALONE, store=0.97, brief=0.99, ask=0.10),
    Rule(Support.STRANGE, store=NEVER, brief=NEVER, ask=0.85),
)


def decide(support: Support, confidence: float, words: int = 2) -> Decision:
    """What becomes of a meaning.

    confidence: probability in [0, 1] that it is what was said. words: how many were said.
    """
    rule = next(rule for rule in POLICY if rule.support is support)
    if confidence >= (rule.store if words > 1 else rule.brief):
        return Decision.STORE
    return Decision.ASK if confidence >= rule.ask else Decision.DROP
