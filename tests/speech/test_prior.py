"""What is odd in a sentence has its price; what technicians say every day has none."""

from __future__ import annotations

import pytest

from fieldnote.speech.prior import oddities, rarity


@pytest.mark.parametrize(
    "sentence",
    [
        *("ten point six ohms", "two hundred and thirty volts a c", "eight hundred r p m"),
        *("ninety p s i", "minus six point oh four degrees celsius", "one ohm"),
    ],
)
def test_everyday_readings_cost_nothing(sentence: str) -> None:
    assert rarity(sentence.split()) == 0


@pytest.mark.parametrize(
    ("sentence", "odd"),
    [
        ("six volt", {"cut": 1}),
        ("five a ohms", {"letter": 1}),
        ("four twenty seven ohms", {"pair": 1}),
        ("two point forty eight volts", {"decimals": 1}),
        ("eighty four oh eight volts", {"run": 1}),
        ("contacts ten black", {"plural": 1, "name": 2}),
        ("ten k v a", {"rare unit": 1}),
        ("one five for", {"word": 1, "tail": 1}),
        ("zero oh five", {"both zeros": 1}),
    ],
)
def test_what_is_odd_is_counted(sentence: str, odd: dict[str, int]) -> None:
    assert oddities(sentence.split()) == odd


def test_the_likelier_of_two_readings_of_a_mumble() -> None:
    likely, odd = "eighty point eight ohms", "eighty forty eight a ohms"
    assert rarity(likely.split()) > rarity(odd.split())
