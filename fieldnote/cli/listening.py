"""What the listening commands have in common: their options, typed lines, the line that grows."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from fieldnote.session.hearing import Ear
    from fieldnote.session.talk_key import TalkKey

DEVICE = typer.Option(
    None, "--device", metavar="NAME", help="Name or number of the microphone, if not the usual one."
)
TALK_KEY = typer.Option(
    None,
    "--talk-key",
    metavar="KEY",
    help="Listen only when this key is tapped or held: space, enter, page-up, page-down, "
    "f5 … or a letter, also of a remote or foot switch.",
)
START_WORD = typer.Option(
    None, "--start-word", metavar="WORD", help="Take only what is said right after this word."
)
STREAM = typer.Option(
    None,
    "--stream",
    metavar="FORM",
    help='Sound comes on standard input: "wav", or raw RATE:CHANNELS:BITS such as 48000:2:16.',
)


def talk_key_of(name: str | None) -> TalkKey | None:
    """The key of an option, refused here and now where it can't be pressed."""
    if name is None:
        return None
    from fieldnote.session.keyboard import key_named, refuse_without_terminal
    from fieldnote.session.talk_key import TalkKey

    key_named(name)
    refuse_without_terminal()
    return TalkKey()


CLEAR = "\r\x1b[2K"


@contextmanager
def typed_lines(key: str | None, ear: Ear, *, taken: bool = False) -> Iterator[Iterable[str]]:
    """Lines as they are typed; with a talk key its presses go to the ear.

    taken: standard input brings sound, and nothing can be typed.
    """
    if taken:
        yield ()
        return
    if key is None:
        yield iter(sys.stdin.readline, "")
        return
    from fieldnote.session.keyboard import Keyboard, key_named

    with Keyboard(key_named(key), ear.pressed) as keyboard:
        yield keyboard


def growing_line(*, on_top: bool = False) -> Callable[[str], None]:
    """Shows words as they come in a line that each new state replaces; on terminals only.

    on_top: in the first row of a drawn screen, so that a line being typed below stays.
    """
    if not sys.stderr.isatty():
        return lambda _: None
    before, behind = ("\x1b7\x1b[1;1H", "\x1b8") if on_top else ("", "")

    def show(words: str) -> None:
        text = f"… {words}" if words else ""
        sys.stderr.write(f"{before}{CLEAR}{text}{behind}")
        sys.stderr.flush()

    return show


def how_to(key: str | None, start_word: str | None) -> str:
    """What to do in order to be heard."""
    if key and start_word:
        return f"Tap or hold {key}, or say “{start_word}”, and then a reading."
    if key:
        return f"Tap {key} and say a reading, or hold it while you speak."
    if start_word:
        return f"Say “{start_word}”, and then a reading."
    return "Say a reading."
