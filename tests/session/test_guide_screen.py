"""The guided job's screen: nothing that can hurt is ever out of sight."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from rich.console import Console

from fieldnote.errors import BadInputError
from fieldnote.language import parse
from fieldnote.procedure import Procedure, load
from fieldnote.session.guide import Guide
from fieldnote.session.guide_events import Effect, Said, State, Stored, Ticked
from fieldnote.session.guide_screen import Board

pyte = pytest.importorskip("pyte", reason="needs pyte, a terminal in memory")

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
WORDY = "Keep hands, hair and loose cloth out of the belt while it turns"


def procedure(folder: Path, *, all_over: int, of_step: int, ask: int) -> Procedure:
    """One whose texts are as long as they may be: so many characters each."""

    def words(count: int) -> str:
        return (f"{WORDY}, and " * 20)[: count - 1] + "."

    path = folder / "wordy.toml"
    path.write_text(
        f'name = "wordy"\ntitle = "{words(80)}"\nversion = "1"\nsources = ["invented"]\n'
        f'cautions = ["{words(all_over // 2)}", "{words(all_over // 2)}"]\n'
        f'[[steps]]\nid = "press"\nkind = "measure"\nask = "{words(ask)}"\nunit = "bar"\n'
        f"window = {{ at_most = 4 }}\n"
        f'cautions = ["{words(of_step // 2)}", "{words(of_step // 2)}"]\n'
        '[[steps]]\nid = "settle"\nkind = "timed"\nmode = "hold"\nseconds = 60\nask = "Hold"\n'
        'cautions = ["Stand clear."]\n'
    )
    return load(path)


class Terminal:
    """A real terminal's screen, driven by what the board writes."""

    def __init__(self, guide: Guide, width: int, height: int) -> None:
        self.guide, self.now = guide, START
        self.state: State = guide.replay([Stored(1, "start", {}, START)])
        self._out = io.StringIO()
        self._screen = pyte.Screen(width, height)
        self._stream = pyte.Stream(self._screen)
        self._board = Board(
            Console(file=self._out, width=width, height=height, force_terminal=True)
        )
        self._show(guide.announce(self.state, START))

    def _show(self, effects: tuple[Effect, ...]) -> None:
        self._board.show(self.guide.view(self.state, self.now), effects)
        self._stream.feed(self._out.getvalue().replace("\n", "\r\n"))
        self._out.truncate(0)
        self._out.seek(0)

    def type(self, keys: str) -> None:
        """Keys as the terminal echoes them."""
        self._stream.feed(keys)

    def say(self, words: str) -> None:
        entry = parse(words, self.guide.context(self.state))
        self.state, effects = self.guide.take(self.state, Said(entry, self.now))
        self._show(effects)

    def wait(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)
        self.state, effects = self.guide.take(self.state, Ticked(self.now))
        self._show(effects)

    @property
    def text(self) -> str:
        """What is in sight, the frames' lines taken off and the words joined."""
        rows = (row.strip("│╭╮╰╯─ ") for row in self._screen.display)
        return " ".join(row for row in rows if row)

    @property
    def last_row(self) -> str:
        return str(self._screen.display[self._screen.cursor.y]).rstrip()


@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40)])
def test_the_longest_cautions_stand_whole(tmp_path: Path, width: int, height: int) -> None:
    guide = Guide(procedure(tmp_path, all_over=480, of_step=320, ask=240), {})
    terminal = Terminal(guide, width, height)
    first = terminal.text
    for each in (*guide.course.procedure.cautions, *guide.course.steps[0].cautions):
        assert each in first, first
    terminal.say("five bar")  # a value and its verdict in large letters take room
    terminal.say("back")
    terminal.say("pause")
    assert "PAUSED" in terminal.text
    for each in guide.course.steps[0].cautions:
        assert each in terminal.text, "also while paused"


@pytest.mark.parametrize(
    "too_long",
    [
        {"all_over": 484, "of_step": 100, "ask": 60},
        {"all_over": 100, "of_step": 324, "ask": 60},
        {"all_over": 100, "of_step": 100, "ask": 241},
    ],
)
def test_longer_texts_are_refused(tmp_path: Path, too_long: dict[str, int]) -> None:
    with pytest.raises(BadInputError, match="read at a glance"):
        procedure(tmp_path, **too_long)


def test_a_window_too_small_says_so(tmp_path: Path) -> None:
    guide = Guide(procedure(tmp_path, all_over=100, of_step=320, ask=240), {})
    assert "window is too small" in Terminal(guide, 40, 12).text


def test_the_clock_counts_and_what_is_being_typed_stays(tmp_path: Path) -> None:
    guide = Guide(procedure(tmp_path, all_over=100, of_step=100, ask=60), {})
    terminal = Terminal(guide, 80, 24)
    terminal.say("two bar")
    terminal.say("start the timer")
    terminal.type("how lo")
    said = terminal.text
    terminal.wait(0.25)
    terminal.wait(3)
    assert terminal.last_row == "> how lo"
    assert "Sixty seconds from now." in terminal.text, "what was said stays in sight"
    assert "CAUTION: Stand clear." in terminal.text
    assert terminal.text != said, "the clock has gone on"
