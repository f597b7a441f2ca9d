"""The answers that shipped procedures ask for can be told apart by ear, and from the commands."""

from __future__ import annotations

import pytest

from fieldnote.language import Context, Grammar, parse
from fieldnote.procedure import Procedure, load, shipped
from fieldnote.procedure.steps import Observe
from fieldnote.speech.confusable import rivals


def observations(procedure: Procedure) -> list[Observe]:
    facts = [fact.step(name) for name, fact in procedure.facts.items()]
    return [step for step in (*facts, *procedure.steps) if isinstance(step, Observe)]


ALL = {name: observations(load(name)) for name in shipped()}
CHOICES = tuple(dict.fromkeys(c for steps in ALL.values() for step in steps for c in step.choices))


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return Grammar.build(Context(labels=CHOICES, question=True))


@pytest.mark.parametrize("name", [name for name, steps in ALL.items() if steps])
def test_no_choice_sounds_like_a_command_or_like_its_neighbour(name: str, grammar: Grammar) -> None:
    context = Context(labels=CHOICES, choices=CHOICES)
    for step in ALL[name]:
        neighbours = {choice.lower() for choice in step.choices}
        for choice in step.choices:
            if any(word.isdigit() or word.isupper() for word in choice.split()):
                continue  # "12 V", "SELV or PELV": said by its number in the list, or as a reading
            near = {each.sentence for each in rivals(choice.lower(), grammar, context)}
            assert not near & neighbours - {choice.lower()}, choice
            assert not [each for each in near if parse(each).kind == "command"], choice
