"""Readings against limits: a verdict with its margin and the rule that decided it. Pure, exact.

`Quantity` and `symbol` are passed on from the language, for parts that may not import it.
"""

from fieldnote.acceptance.accuracy import Accuracy, AccuracyRange
from fieldnote.acceptance.decision import (
    EITHER_WAY,
    SIMPLE,
    DecisionRule,
    Result,
    Verdict,
    judge,
    judge_open,
    judge_short,
)
from fieldnote.acceptance.window import Window
from fieldnote.language import Quantity, symbol

__all__ = [
    "EITHER_WAY",
    "SIMPLE",
    "Accuracy",
    "AccuracyRange",
    "DecisionRule",
    "Quantity",
    "Result",
    "Verdict",
    "Window",
    "judge",
    "judge_open",
    "judge_short",
    "symbol",
]
