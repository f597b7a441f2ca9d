"""The user's page of what can be said, written from the vocabulary."""

from __future__ import annotations

from collections.abc import Iterable

from fieldnote.language import vocabulary as v
from fieldnote.language.commands import PATTERNS
from fieldnote.language.units import UNITS

_COMMAND_MEANING = {
    "withdraw": "take the last entry back (it stays on record as withdrawn)",
    "next": "go to the next step",
    "back": "go one step back",
    "repeat": "hear the question or the read-back again",
    "skip": "leave this step out",
    "pause": "stop listening for a while",
    "resume": "listen again",
    "stop": "end the session",
    "picture": "take a picture",
    "mark": "mark this moment in the log",
    "timer-start": 'start a timer; a time may be said ("set a timer for five minutes")',
    "timer-stop": "stop the timer",
    "how-long": "hear the time on the timer",
    "limit": "hear the limits of this step",
    "last": "hear the last value",
    "where": "hear which step this is",
    "help": "hear what can be said",
    "yes": "confirm what was read back",
    "no": "refuse what was read back",
    "neither": "none of the candidates asked about",
    "first": "the first of the candidates asked about",
    "second": "the second of them",
    "third": "the third of them",
}

_ANSWERS = (
    f"{', '.join(f'`{name}`' for name in v.ANSWERS)} count only while a question with candidates "
    'is open; a unit alone ("millivolts") answers one too.'
)

CLEARER = (
    ("cancel the timer", "stop the timer", "start the timer"),
    ("neither", "none", "nine"),
    ("finish", "done", "none"),
    ("scratch that", "undo", "um two"),
    ("go back", "back", "mark"),
    ("resume", "unpause", "pause"),
    ("resume", "start listening", "stop listening"),
    ("hold on", "wait", "right"),
    ("yes", "right", "wait"),
    ("take a photo", "photo", "four two"),
    ("next step", "forward", "four one"),
    ("over limit", "o point l", "oh point ten"),
    ("port side twenty seven ohms", "port twenty seven ohms", "four twenty seven ohms"),
    ("one three point six volts", "thirteen point six volts", "thirty point six volts"),
    ("one five volts", "fifteen volts", "fifty volts"),
)
"""What to say, rather than what, since that sounds like what: found in the grammar by the module
``fieldnote.speech.confusable``; a test keeps them true."""


def _list(forms: Iterable[str], limit: int = 0) -> str:
    shown = list(forms)
    more = f" and {len(shown) - limit} more" if limit and len(shown) > limit else ""
    return ", ".join(shown[: limit or None]) + more


def page() -> str:
    """The page as Markdown; ``docs/what-you-can-say.md`` is this text."""
    kinds: dict[str, list[str]] = {}
    for unit in UNITS.values():
        kinds.setdefault(unit.kind, []).append(
            f"| {unit.symbol} | `{unit.ucum}` | {_list(unit.spoken, 5)} |"
        )
    units = "\n".join(
        f"\n**{kind}**\n\n| shown | UCUM | said |\n| --- | --- | --- |\n" + "\n".join(rows)
        for kind, rows in kinds.items()
    )
    commands = "\n".join(
        f"| `{name}` | {_COMMAND_MEANING[name]} | {_list(v.HEARD[name], 12)} |" for name in PATTERNS
    )
    clearer = "\n".join(f"| {say} | {than} | {like} |" for say, than, like in CLEARER)
    colours = _list(f"{name} {code}" for name, code in v.COLOURS.items())
    return f"""# What you can say

This page is written from the vocabulary by `python -m fieldnote.language.page`.
A test keeps it current.

## A reading
A number and its unit: "ten point six ohms". Before or behind it may stand what it belongs to:
"coolant inlet eighty two degrees celsius", "pin four to ground twelve point six volts", "twelve
volts at idle".

- **Whole numbers**: "one hundred and fifteen", "one fifteen", "twelve hundred", "three twenty"
  (320), "sixteen oh four" (1604), digit by digit "one two five",
  "one double oh", "a thousand and six".
- **Decimals**: {_list(v.POINT)}; "six point two zero" stays 6.20; "point four seven" is 0.47.
- **Fractions**: "seven eighths", "one and three quarters", "half an ohm". Thirds and others
  without an exact decimal are asked for again.
- **Sign**: {_list(v.SIGNS)}.
- **Several that share a unit**: "nine point eight and ten point one ohms".
- **A correction**: "five point one, no, five point four bar". Also: {_list(v.CORRECTIONS, 20)}.
- **Not sure**: {_list(v.HEDGES, 20)}. The hedge is kept with the value.
- **Where**: {_list(v.POSITIONS)}.
- **State**: {_list(v.STATES, 40)}.
- **Terminals**: {_list(v.PIN_WORDS)}, with a number, a letter or a word of the spelling alphabet;
  {_list(v.PIN_PLACES)}.
- **Numbered parts**: {_list(v.NUMBERED)}.
- **AC or DC**: "two thirty volts a c", "twelve d c volts".

## Open and short
Open: {_list(v.OPEN)}.

Short: {_list(form for form in v.SHORT if not form.endswith(" to"))}.

## A wire
The terminal, then the colour and the tracer: "pin three black with a brown tracer" (BK/BN).
Colours and their IEC 60757 codes: {colours}.

## A remark
Begin with one of: {_list(v.REMARK_WORDS)}. Everything behind it is kept as heard.

## Commands
| command | what it does | said |
| --- | --- | --- |
{commands}

Each may have "please" behind it and "okay" before it. These are the forms that the recognisers
expect; typed, many more are understood. {_ANSWERS}

## In noise
Some sentences sound nearly like others that mean something else. The recognisers ask when they
can't tell; the first column is told apart better:

| say | rather than | which sounds like |
| --- | --- | --- |
{clearer}

Teens and tens ("fifteen", "fifty") are safest digit by digit. A unit in full ("kilo ohms") is heard
better than a letter ("k").

## Units
A bare number takes the unit of the step, where the step names one, and the entry says so.
"Degrees" alone are degrees of angle, unless the step measures temperature.
{units}
"""


if __name__ == "__main__":
    print(page(), end="")
