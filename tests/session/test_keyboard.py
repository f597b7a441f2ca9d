"""The talk key beside typed lines, in a real terminal."""

from __future__ import annotations

import os
import termios
from collections.abc import Iterator
from typing import TextIO

import pytest

from fieldnote.errors import BadInputError
from fieldnote.session.keyboard import KEYS, Keyboard, key_named


@pytest.fixture
def terminal() -> Iterator[tuple[int, TextIO]]:
    """Its far end to type into, and the end that a program reads."""
    main, end = os.openpty()
    with os.fdopen(end, "r") as reading:
        yield main, reading
    os.close(main)


def typed(terminal: tuple[int, TextIO], key: str, text: str) -> tuple[list[str], int]:
    """The lines, and how often the talk key was pressed."""
    main, reading = terminal
    presses = []
    with Keyboard(key_named(key), lambda: presses.append(1), reading) as keyboard:
        os.write(main, (text + "\x04").encode())
        lines = list(keyboard)
    return lines, len(presses)


@pytest.mark.parametrize("key", ["space", "page-down", "page-up", "f5", "b"])
def test_a_press_is_no_typing(terminal: tuple[int, TextIO], key: str) -> None:
    sent = KEYS.get(key, key)
    assert typed(terminal, key, f"{sent}10.6 ohms\n{sent}{sent}next\n") == (
        ["10.6 ohms", "next"],
        3,
    )


def test_enter_alone_talks_and_behind_words_it_ends_the_line(
    terminal: tuple[int, TextIO],
) -> None:
    assert typed(terminal, "enter", "\nnext\n\n") == (["next"], 2)


def test_a_line_is_mended_before_it_is_ended(terminal: tuple[int, TextIO]) -> None:
    assert typed(terminal, "space", "10,\x7f.6 Ω\n") == (["10.6 Ω"], 0)


def test_keys_that_mean_nothing_leave_the_line_alone(terminal: tuple[int, TextIO]) -> None:
    assert typed(terminal, "space", "next\x1b[A\x1b[15~\t\n") == (["next"], 0)


def test_the_terminal_is_left_as_it_was(terminal: tuple[int, TextIO]) -> None:
    before = termios.tcgetattr(terminal[1].fileno())
    typed(terminal, "space", "next\n")
    assert termios.tcgetattr(terminal[1].fileno()) == before


def test_without_a_terminal_there_is_no_key() -> None:
    reading, writing = os.pipe()
    os.close(writing)
    with os.fdopen(reading) as lines, pytest.raises(BadInputError, match="terminal"):
        Keyboard(" ", lambda: None, lines)


@pytest.mark.parametrize("name", ["", "ctrl-c", "spacebar", "é?"])
def test_an_unknown_key_is_refused_with_the_known_ones(name: str) -> None:
    with pytest.raises(BadInputError, match="page-down"):
        key_named(name)
