"""Readings against limits: a verdict with its margin and the rule that decided it. Pure, exact.

`Quantity`, `UNITS` and `symbol` are passed on from the language, for parts that may not import it.
"""

from fieldnote.acceptance.accuracy import Accuracy, AccuracyRange
from fieldnote.acceptance.decision import (
    EITHER_WAY,
    SIMPLE,
    DecisionRule,
    Result,
    Verdict,
    conformance_probability,
    judge,
    judge_open,
    judge_short,
)
from fieldnote.acceptance.window import Window
from fieldnote.language import UNITS, Quantity, symbol

__all__ = [
    "EITHER_WAY",
    "SIMPLE",
    "UNITS",
    "Accuracy",
    "AccuracyRange",
    "DecisionRule",
    "Quantity",
    "Result",
    "Verdict",
    "Window",
    "conformance_probability",
    "judge",
    "judge_open",
    "judge_short",
    "symbol",
]
