"""Taking entries into a job: from the microphone, sound files, pictures and typed text."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fieldnote.cli.job import HOME, JOB, chosen, now, open_log
from fieldnote.cli.listening import (
    DEVICE,
    START_WORD,
    STREAM,
    TALK_KEY,
    growing_line,
    how_to,
    talk_key_of,
    typed_lines,
)
from fieldnote.errors import BadInputError

if TYPE_CHECKING:
    from fieldnote.session.record import Outcome, Recorder

_ENGINE = typer.Option(None, "--engine", metavar="NAME", help="Use this one engine only.")

take_app = typer.Typer(
    name="take",
    help="Take entries into a job: spoken, photographed or typed.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


def register(app: typer.Typer) -> None:
    app.add_typer(take_app)


def _recorder(home: Path | None, job: str | None) -> Recorder:
    from fieldnote.session.record import Recorder
    from fieldnote.session.start import overdue

    log = open_log(home)
    ref = chosen(log, job)
    standing = overdue(log, ref, now().date())
    if standing is not None:
        print(standing, file=sys.stderr)
    return Recorder(log, ref, clock=now)


def _tell(outcomes: Iterable[Outcome]) -> None:
    """Print what became of each thing taken; leave with 1 when something is still asked."""
    asked = False
    for outcome in outcomes:
        print(outcome.message, flush=True)
        asked = asked or outcome.asked
    if asked:
        raise typer.Exit(1)


@take_app.command()
def text(
    words: list[str] = typer.Argument(
        ..., metavar="TEXT...", help="What to take down, each entry in quotes of its own."
    ),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Take typed entries.

    Example: fieldnote take text "note seal on the sender is cracked"
    """
    recorder = _recorder(home, job)
    _tell(recorder.take_text(item) for item in words)


@take_app.command()
def sound(
    files: list[Path] = typer.Argument(
        ..., metavar="FILE...", help="Sound files, in the order they were spoken."
    ),
    engine: str | None = _ENGINE,
    start_word: str | None = START_WORD,
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Take the readings spoken in sound files.

    Example: fieldnote take sound recording.wav
    """
    recorder = _recorder(home, job)
    for file in files:
        _tell(recorder.take_sound(file, engine=engine, start_word=start_word))


@take_app.command()
def photo(
    files: list[Path] = typer.Argument(..., metavar="FILE...", help="Pictures of meter displays."),
    caption: str = typer.Option(
        "", metavar="WORDS", help="Keep the pictures unread, with this caption."
    ),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Take the readings on photographed meter displays.

    Example: fieldnote take photo display.jpg
    """
    recorder = _recorder(home, job)
    _tell(
        recorder.keep_photo(file, caption) if caption else recorder.take_photo(file)
        for file in files
    )


@take_app.command()
def microphone(
    engine: str | None = _ENGINE,
    device: str | None = DEVICE,
    talk_key: str | None = TALK_KEY,
    start_word: str | None = START_WORD,
    stream: str | None = STREAM,
    silent: bool = typer.Option(False, "--silent", help="Do not speak the entries back."),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Listen, and take each reading as it is spoken.

    What is typed is taken too. Ctrl-C or the word "stop" ends it.
    Example: fieldnote take microphone --talk-key space
    """
    from fieldnote.speech import Microphone, StreamForm, stream_blocks

    if talk_key and stream is not None:
        raise BadInputError("No key can be pressed where sound comes in.", "Use a start word.")
    key = talk_key_of(talk_key)
    source = (
        Microphone(device)
        if stream is None
        else stream_blocks(sys.stdin.buffer, StreamForm.read(stream))
    )
    growing = growing_line()
    recorder = _recorder(home, job)
    with (
        recorder.ear(
            source,
            engine=engine,
            talk_key=key,
            start_word=start_word,
            aloud=not silent,
            words=True,
        ) as ear,
        typed_lines(talk_key, ear, taken=stream is not None) as lines,
    ):
        print(f'Listening. {how_to(talk_key, start_word)} "scratch that" withdraws the last one,')
        print('"stop" ends.', flush=True)
        name = "microphone" if stream is None else "stream"
        for outcome in recorder.listen(ear, lines=lines, growing=growing, name=name):
            growing("")
            print(outcome.message, flush=True)
