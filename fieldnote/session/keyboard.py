"""Keys of a terminal while lines can be typed too: one of them is the talk key.

Named keys cover what remotes and foot switches send. The terminal is told to hand over each key
(cbreak mode) as long as the keyboard is open; Ctrl-C works as ever.
"""

from __future__ import annotations

import codecs
import os
import re
import sys
from collections.abc import Callable, Iterator
from typing import Any, TextIO

from fieldnote.errors import BadInputError

KEYS = {
    "space": " ",
    "enter": "\n",
    "tab": "\t",
    "page-up": "\x1b[5~",
    "page-down": "\x1b[6~",
    "up": "\x1b[A",
    "down": "\x1b[B",
    "left": "\x1b[D",
    "right": "\x1b[C",
    "f5": "\x1b[15~",
}
"""What a terminal sends for each (ECMA-48, as xterm and its kin do)."""

_ONE = re.compile(r"\x1b\[[0-9;]*[~A-Za-z]|\x1bO[A-Z]|.", re.DOTALL)
ERASE = {"\x7f", "\b"}
END_OF_TYPING = "\x04"


def key_named(name: str) -> str:
    """What the terminal sends for a key. name: of `KEYS`, or a single letter or digit.

    Raises:
        BadInputError: there is no such key.
    """
    wanted = name.strip().lower()
    if wanted in KEYS:
        return KEYS[wanted]
    if len(wanted) == 1 and wanted.isalnum():
        return wanted
    raise BadInputError(
        f"“{name}” is no key that can be used for talking.",
        f"Known: {', '.join(KEYS)}, or a letter or digit.",
    )


def refuse_without_terminal(stdin: TextIO = sys.stdin) -> None:
    """Raises BadInputError where no key can be pressed."""
    if not stdin.isatty():
        raise BadInputError(
            "A talk key needs a terminal to press it in.",
            "Leave the option out, or run the command in a terminal.",
        )


class Keyboard:
    """Iterate for typed lines; each press of the talk key goes to `pressed` instead.

    The talk key is itself only where nothing has been typed yet: in the middle of a line a space
    is a space.

    Args:
        talk_key: what the terminal sends for it. pressed: called at each press of it.

    Raises:
        BadInputError: standard input is no terminal.
    """

    def __init__(
        self, talk_key: str, pressed: Callable[[], None], stdin: TextIO = sys.stdin
    ) -> None:
        refuse_without_terminal(stdin)
        self._talk_key, self._pressed, self._input = talk_key, pressed, stdin.fileno()
        self._before: Any = None
        self.line = ""

    def __enter__(self) -> Keyboard:
        try:
            import termios
            import tty
        except ImportError:
            raise BadInputError(
                "This system's terminal gives no single keys.", "Use a start word instead."
            ) from None
        self._before = termios.tcgetattr(self._input)
        tty.setcbreak(self._input)
        return self

    def __exit__(self, *_: object) -> None:
        import termios

        termios.tcsetattr(self._input, termios.TCSADRAIN, self._before)

    def __iter__(self) -> Iterator[str]:
        decoder = codecs.getincrementaldecoder("utf-8")(errors="replace")
        while piece := os.read(self._input, 1024):
            for key in _ONE.findall(decoder.decode(piece)):
                if key == END_OF_TYPING:
                    return
                line = self._take("\n" if key == "\r" else key)
                if line is not None:
                    yield line

    def _take(self, key: str) -> str | None:
        """A line when it is complete."""
        if key == self._talk_key and not self.line:
            self._pressed()
        elif key == "\n":
            line, self.line = self.line, ""
            _echo("\n")
            return line
        elif key in ERASE:
            if self.line:
                self.line = self.line[:-1]
                _echo("\b \b")
        elif key.isprintable():
            self.line += key
            _echo(key)
        return None


def _echo(text: str) -> None:
    sys.stdout.write(text)
    sys.stdout.flush()
