"""The commands of the hands-free session: canonical name → patterns of everything said for it.

In a pattern ``(a | b)`` is a choice and ``[a]`` may be left out. The names are ours; the forms are
everyday English. A recogniser expects few of them, since each makes room for mishearing; the
parser knows more, for typed text and for recognisers that hear freely.
"""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Forms:
    """Patterns of one command. heard: in the recogniser's grammar; also: known to the parser."""

    heard: tuple[str, ...]
    also: tuple[str, ...] = ()


_LAST = "[the] last [one | entry | reading | value]"
_STEP = "(step | one | item | point | test | reading | measurement)"
_PICTURE = "(picture | photo | photograph | snapshot | image | pic)"
_OF_THIS = (
    "[of (this | that | it | the (connector | gauge | meter | display | plate | label | wiring "
    "| motor | pump |"
    " damage | leak | panel | engine | reading | terminal | terminals | valve | tank))]"
)
_TIMER = "(timer | clock | stop watch)"
_VALUE = "(value | reading | one | entry)"

PATTERNS: dict[str, Forms] = {
    "withdraw": Forms(
        heard=(
            "(scratch | delete | undo | cancel | withdraw) (that | it)",
            "(scratch | delete | undo | remove | withdraw) [the] last [one | reading | entry]",
            "scratch that last [one | reading | entry]",
            "take (that | it) back",
            "(strike | remove | erase | forget | ignore) that",
            "scratch that one",
            "undo",
            "withdraw",
        ),
        also=(
            "(scratch | delete | undo | remove | withdraw | cancel | strike | forget | erase |"
            " ignore | discard | disregard | drop | scrap | wipe | void)"
            f" (that | it | that one | this one | that last [one | reading | entry] | that reading "
            f"| {_LAST})",
            "undo",
            "withdraw",
            "disregard",
            "take (that | it) (back | out)",
            "take the last (one | entry | reading) (back | out)",
            "take back (that | the last (one | entry | reading))",
            "throw (that | it) (away | out)",
            "(that | that one | that reading | that entry) was (wrong | a mistake)",
            "belay that",
            "don't (keep | save | store) that",
        ),
    ),
    "next": Forms(
        heard=(
            "next [step | one | point | item | test | reading]",
            "go to [the] next [step]",
            "next [step] please",
            "(go | move | carry) on",
            "(continue | forward)",
        ),
        also=(
            f"next [{_STEP}] [please]",
            f"[go | move | skip | go on | move on | carry on | on | onto | jump] to [the] next "
            f"[{_STEP}]",
            "[let's] (move | go | carry) on",
            "[let's] (continue | proceed)",
            "(go | step | move) forward",
            "forward",
            "advance",
            "move along",
            "go next",
            "what's next",
            "what is next",
            f"ready for [the] next [{_STEP}]",
        ),
    ),
    "back": Forms(
        heard=(
            "back",
            "(go | step) back [one | one step | a step]",
            "previous [step]",
            "one step back",
            "go to the previous step",
        ),
        also=(
            "[let's] [go | step | move] back [one | a step | one step | up]",
            "previous [step | item | point | test]",
            "last step",
            f"[go | return | go back | back | move back] to [the] (previous | last) {_STEP}",
            "one [step] back",
            "backwards",
            "take me back",
        ),
    ),
    "repeat": Forms(
        heard=(
            "repeat [that | it]",
            "say (that | it) again",
            "say again",
            "once more",
            "again",
            "pardon",
            "what was that",
            "read (that | it) back",
            "read back",
            "repeat the (step | question)",
        ),
        also=(
            "repeat [that | it | this | please | that please | last | [the | this]"
            " (step | question | instruction)]",
            "say [that | it] (again | one more time)",
            "come again",
            "(what was that | what did you say)",
            "read (back | that back | it back | that again | it again | the step again)",
            "[once | one] more time",
            "once more",
            "again",
            "pardon",
            "tell me again",
            "ask [me] again",
            "play that back",
            "i didn't (catch | hear | get) that",
        ),
    ),
    "skip": Forms(
        heard=("skip [it | this | that | step | this step | the step | this one]",),
        also=(
            "[let's] skip [ahead | over | one | it | this | that | (this | that | the) "
            "(one | step | reading | point | test | item)]",
            "skip step",
            "skip ahead to [the] next [one | step]",
            "leave (this | that) one [out]",
            "leave (it | this | that) out",
            "pass (on | over) this one",
            "not applicable",
            "n a",
        ),
    ),
    "pause": Forms(
        heard=(
            "pause",
            "hold on",
            "hang on",
            "wait",
            "stand by",
            "one moment",
            "one second",
            "(just a | hold on a | wait a) (second | minute | moment)",
            "give me a (second | minute | moment)",
            "hang on a (second | minute | moment)",
            "pause here",
            "stop listening",
        ),
        also=(
            "(hold | hang) on [a (second | sec | minute | moment)]",
            "hold it",
            "wait [there | a (second | minute | moment)]",
            "stand by",
            "one moment [please]",
            "one (second | sec) [please]",
            "one minute please",
            "(just a | give me a) (second | sec | minute | moment)",
            "take a break",
            "[let's] pause [here | it | now | recording | [the] (job | session) |"
            " for a (moment | minute | second)]",
            "stop listening",
            "bear with me",
            "suspend",
        ),
    ),
    "resume": Forms(
        heard=(
            "resume",
            "unpause",
            "start listening",
            "ready",
            "i'm (back | ready)",
            "go ahead",
        ),
        also=(
            "resume [[the] (job | session)]",
            "unpause",
            "start (again | listening)",
            "i'm (back | ready)",
            "ready",
            "go ahead",
        ),
    ),
    "stop": Forms(
        heard=(
            "(stop | finish | done | finished)",
            "(stop | end | finish | close) [the] (job | session)",
            "(all | job) done",
            "(i'm | we're) (done | finished)",
            "stop (here | now)",
            "that's all",
        ),
        also=(
            "stop [here | there | now | recording]",
            "(stop | end | finish | close | exit | quit) [the] (session | job)",
            "finish [up]",
            "(done | finished | quit | end | exit)",
            "(i'm | we're) (done | finished)",
            "(all | job) done",
            "that's (all | it | everything)",
            "that is (all | everything)",
            "end of (job | session)",
            "wrap [it] up",
            "let's (stop | finish) [here]",
        ),
    ),
    "picture": Forms(
        heard=(
            "(take | get) [a | the | another] (picture | photo)",
            "take a (picture | photo) of (this | that)",
            "(picture | photo | photograph | snapshot)",
            "photograph (this | that | it)",
        ),
        also=(
            f"(take | get | grab | snap | shoot | capture) [a | an | another | the | one] "
            f"{_PICTURE} {_OF_THIS}",
            "(take | get | grab) (a | another | one) shot [of (this | that | it)]",
            f"[a | another | new] (picture | photo | photograph | snapshot) {_OF_THIS} [please]",
            "photograph (this | that | it)",
            "(capture | snap) [this | that | it]",
            "camera",
        ),
    ),
    "mark": Forms(
        heard=(
            "mark [that | this | it | here | [this | the] (moment | spot | time)]",
            "(time stamp | book mark) [this | that]",
        ),
        also=(
            "mark [that | this | it | now | here | [the | this | that | a] (moment | time | point "
            "| spot)]",
            "(flag | book mark | time stamp) [this | that | it | this moment | that moment]",
            "(drop | set | place | add | put) a (mark | marker) [here]",
            "(marker | time mark | note the time)",
        ),
    ),
    "timer-start": Forms(
        heard=(
            "(start | set) [the | a] (timer | clock | stop watch)",
            "start timing",
            "time this",
        ),
        also=(
            f"(start | begin | run | set) [the | a | a new | new] {_TIMER} [now]",
            "timer (on | start | go)",
            "clock on",
            "new timer",
            "start (timing | counting | time) [now]",
            "(begin timing | time this)",
        ),
    ),
    "timer-stop": Forms(
        heard=(
            "(cancel | end | stop) [the] (timer | clock | stop watch)",
            "stop timing",
        ),
        also=(
            f"(stop | end | halt | kill | cancel | finish) [the | that] {_TIMER} [now]",
            "(stop | end | finish) timing",
            "stop (counting | time)",
            "timer (off | stop)",
            "clock off",
        ),
    ),
    "how-long": Forms(
        heard=(
            "how long [so far | left | is left | is it | has (it | that) been]",
            "how much time [is left | has passed]",
            "elapsed time",
            "time check",
            "(check | read) the timer",
        ),
        also=(
            "how long",
            "how long (so far | now | left | to go)",
            "how long (is | was) (it | that | this) [now]",
            "how long is left",
            "how long has (it | that | this) been [running | going]",
            "how long has the timer been running",
            "how long (have i | have we) been",
            "how long did (it | that | this) take",
            "how long since (the start | the mark | i started | we started)",
            "how much (time | longer) [is left | has passed | has gone | is on the timer]",
            "how many minutes",
            "[what's the | what is the] elapsed time",
            "time (elapsed | check)",
            "(what's | what is) (the time so far | the timer | on the timer)",
            "what does the timer say",
            "(check | read) [the] timer",
            "timer reading",
        ),
    ),
    "limit": Forms(
        heard=(
            "(limit | limits | spec | tolerance)",
            "(what's | what is) the (limit | spec | tolerance | window | range | target)",
            "(what are | read | show) the limits",
            "show limits",
            "(what's | what is) the (upper | lower) limit",
            "what should it be",
        ),
        also=(
            "(limit | limits | spec | tolerance | acceptable range)",
            "(what's | what is | what was | give me | tell me | say | read | show me) the"
            " (limit | spec | tolerance | window | range | target | specification |"
            " acceptable range | allowable range | maximum | minimum | upper limit | lower limit |"
            " expected value) [again | here]",
            "(what are | what were | read | tell me | give me | show me) (the | my) (limits | "
            "tolerances)",
            "(what's | what is) (allowed | acceptable | normal)",
            "(what's | what is) (it | that | this) supposed to be",
            "what should (it | that | this | the reading | the value) (be | read)",
            "what should i (see | get | read)",
            "what am i looking for",
            "(what's | what is) the (limit | spec | tolerance) (on | for) (this | that | it | this "
            "step | this one)",
            "is (it | that | this) (in spec | in limits | within limits | in range)",
            "show limits",
        ),
    ),
    "last": Forms(
        heard=(
            "(last | previous) (value | reading | entry | one)",
            "(what's | what is | what was) the last (value | reading | entry | one)",
            "(read | repeat | say) the last (value | reading | entry | one)",
            "what did you (hear | get)",
            "what did i say",
        ),
        also=(
            f"(last | previous) {_VALUE} [please]",
            f"(what's | what is | what was) (the | my | that) (last | previous) {_VALUE}",
            f"(read | read back | repeat | say | tell me | give me | show | show me | read me) "
            f"[the] (last | previous) {_VALUE}",
            "what did (i | we) [just] (say | get | read | record)",
            "what did you (get | read | record | hear | log | write down)",
            "what have (i | we | you) got",
            "(what was | what's | what is) the (value | reading)",
            "what did (i | you) say last",
        ),
    ),
    "where": Forms(
        heard=(
            "where (am i | are we)",
            "(what | which) step is this",
            "which step",
            "current step",
        ),
        also=(
            "where (am i | are we)",
            "what step (is this | am i on | are we on)",
            "which step [is this | am i on | are we on]",
            "current step",
        ),
    ),
    "help": Forms(
        heard=(
            "help [me]",
            "what can i say",
        ),
        also=(
            "help [me]",
            "what can i say",
        ),
    ),
    "yes": Forms(
        heard=(
            "(yes | yeah | yep | correct | affirmative | confirm | confirmed | accept | right)",
            "(that's | that is) (right | correct)",
            "(save | keep | accept | log | record | store | confirm) (that | it)",
            "(save | accept) [the] reading",
        ),
        also=(
            "(yes | yeah | yep) [please | correct | that's right | that's correct]",
            "(that's | that is) (right | correct)",
            "(correct | affirmative | affirm | confirm | confirmed | accept | save | right)",
            "(save | keep | accept | log | record | store | confirm) (that | it | this | that one)",
            "(save | keep | accept) [the] reading",
        ),
    ),
    "no": Forms(
        heard=(
            "(no | nope | wrong | incorrect | negative)",
            "(that's | that is) (wrong | not right)",
            "not correct",
        ),
        also=(
            "(no | nope) [that's wrong | that is wrong | it's not | it isn't | not that | that's "
            "not right]",
            "(that's | that is) (wrong | incorrect | not right | not correct)",
            "(wrong | incorrect | negative | not correct)",
        ),
    ),
    "neither": Forms(
        heard=(
            "neither [one | of them | of those]",
            "none [of them | of those]",
        ),
        also=(
            "neither of the two",
            "none of these",
            "not (either | any) of them",
            "neither of these",
        ),
    ),
    "first": Forms(
        heard=("[the] first [one]",),
        also=("[the] first of (them | those | these)",),
    ),
    "second": Forms(
        heard=("[the] second [one]",),
        also=("[the] second of (them | those | these)",),
    ),
    "third": Forms(
        heard=("[the] third [one]",),
        also=("[the] third of (them | those | these)",),
    ),
}

ANSWERS = ("neither", "first", "second", "third")
"""Commands that answer a question with candidates; heard only while one is open."""

_TOKEN = re.compile(r"[()\[\]|]|[^\s()\[\]|]+")


def expand(pattern: str) -> list[str]:
    """Every form of a pattern, in order.

    >>> expand("(stop | end) [the] timer")
    ['stop timer', 'stop the timer', 'end timer', 'end the timer']
    """
    tokens = _TOKEN.findall(pattern)
    place = 0

    def choice() -> list[str]:
        nonlocal place
        forms = sequence()
        while place < len(tokens) and tokens[place] == "|":
            place += 1
            forms += sequence()
        return forms

    def sequence() -> list[str]:
        nonlocal place
        forms = [""]
        while place < len(tokens) and tokens[place] not in "|)]":
            token = tokens[place]
            place += 1
            if token in "([":
                parts = choice()
                place += 1
                if token == "[":
                    parts = ["", *parts]
            else:
                parts = [token]
            forms = [f"{form} {part}".strip() for form in forms for part in parts]
        return forms

    return list(dict.fromkeys(form for form in choice() if form))


def _forms(patterns: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(form for pattern in patterns for form in expand(pattern)))


HEARD: dict[str, tuple[str, ...]] = {name: _forms(forms.heard) for name, forms in PATTERNS.items()}
"""Canonical name → the forms that a recogniser expects."""
COMMANDS: dict[str, tuple[str, ...]] = {
    name: _forms(forms.heard + forms.also) for name, forms in PATTERNS.items()
}
"""Canonical name → all its forms."""
