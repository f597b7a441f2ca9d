"""The guided job: led step by step at the terminal, or rehearsed without storing anything."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from fieldnote.cli.job import FACT, HOME, JOB, chosen, named_facts, now, open_log
from fieldnote.cli.listening import (
    DEVICE,
    START_WORD,
    TALK_KEY,
    growing_line,
    talk_key_of,
    typed_lines,
)
from fieldnote.errors import BadInputError

if TYPE_CHECKING:
    from fieldnote.session.guide_events import Say


def register(app: typer.Typer) -> None:
    app.command()(guide)
    app.command()(rehearse)


def guide(
    voice: bool = typer.Option(False, "--voice", help="Also listen to the microphone."),
    sound: Path | None = typer.Option(
        None, metavar="FILE", help="Also take what is said in this sound file."
    ),
    device: str | None = DEVICE,
    talk_key: str | None = TALK_KEY,
    start_word: str | None = START_WORD,
    silent: bool = typer.Option(False, "--silent", help="With --voice: do not speak aloud."),
    camera: str | None = typer.Option(
        None, "--camera", metavar="NO", help='Camera for "take a picture", by its number: 0.'
    ),
    engine: str | None = typer.Option(None, "--engine", metavar="NAME", help="Use one ear only."),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Be led through a job's procedure, step by step.

    Type what you would say, one line at a time, or add --voice and speak. "picture FILE",
    "series FILE" and "code TEXT" hand over the rest; "stop" ends, and the same command goes on
    at the same step. Example: fieldnote guide --voice
    """
    from rich.console import Console

    from fieldnote.session.camera import Camera
    from fieldnote.session.guide_loop import run
    from fieldnote.session.guide_screen import Board
    from fieldnote.session.record import Recorder

    log = open_log(home)
    ref = chosen(log, job)
    recorder = Recorder(log, ref, clock=now)
    if recorder.drive is None:
        raise BadInputError(
            f"Job {ref} follows no procedure.", "Start one with --procedure; `take` needs none."
        )
    if camera is not None:
        recorder.drive.camera = Camera(camera)
    if not voice and (device or talk_key or start_word):
        raise BadInputError(
            "--device, --talk-key and --start-word are about the microphone.", "Add --voice."
        )
    key = talk_key_of(talk_key)
    board, growing = Board(Console()), growing_line(on_top=True)
    if not (voice or sound):
        run(recorder.drive, lines=iter(sys.stdin.readline, ""), show=board.show)
        return
    from fieldnote.speech import Microphone, read_sound
    from fieldnote.speech.sound import blocks

    if sound:
        read_sound(sound)  # a file that is no sound is refused before an engine is loaded
    with (
        recorder.ear(
            Microphone(device) if voice else (),
            engine=engine,
            recorded=blocks(sound) if sound else (),
            talk_key=key,
            start_word=start_word,
            aloud=voice and not silent,
            words=True,
        ) as ear,
        typed_lines(talk_key, ear) as lines,
    ):

        def speak(words: Say) -> None:
            ear.answer(words.text, words.tone)

        run(
            recorder.drive,
            lines=lines,
            voice=ear,
            listener=ear,
            show=board.show,
            speak=speak,
            growing=growing,
        )


def rehearse(
    procedure: str = typer.Argument(
        ..., metavar="PROCEDURE", help="A procedure's name, or a TOML file of your own."
    ),
    facts: list[str] = FACT,
) -> None:
    """Try a procedure out with typed answers; nothing is stored.

    One answer a line: "picture" stands for a photo, "wait 30" lets half a minute pass,
    "stop" ends. Example: fieldnote rehearse rudder-angle-sender
    """
    from fieldnote.procedure import load
    from fieldnote.session.guide_drive import rehearse as play
    from fieldnote.session.start import register as instruments

    given: dict[str, Any] = named_facts(facts)

    def lines() -> Iterator[str]:
        while line := sys.stdin.readline():
            yield line

    chosen_one = load(procedure)
    from fieldnote.joblog.log import default_home

    for typed, said in play(
        chosen_one, given, lines(), start=now(), register=instruments(default_home())
    ):
        if typed and not sys.stdin.isatty():
            print(f"> {typed}")
        print(said, flush=True)
