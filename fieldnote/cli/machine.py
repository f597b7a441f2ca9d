"""parse, hear and look: what a text, a sound or a picture says, for people and for scripts."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import typer

from fieldnote.cli.listening import DEVICE, START_WORD, STREAM, growing_line, how_to
from fieldnote.cli.render import line_of
from fieldnote.errors import BadInputError

_AS_JSON = typer.Option(False, "--json", help="One JSON object a line, for scripts.")
_ENGINE = typer.Option(
    None, "--engine", metavar="NAME", help="Use this one engine instead of the default set."
)


def register(app: typer.Typer) -> None:
    app.command()(parse)
    app.command()(hear)
    app.command()(look)
    app.command()(words)


def _inputs(given: list[str]) -> Iterator[str]:
    """The arguments; a lone "-" stands for the lines of standard input."""
    for item in given:
        if item == "-":
            yield from (line.rstrip("\n") for line in sys.stdin)
        else:
            yield item


def _print(lines: Iterable[dict[str, Any]], as_json: bool) -> int:
    """Print each line as it comes. Returns the exit status: the worst thing that was met."""
    worst = 1  # nothing at all was understood until a line says otherwise
    seen_unclear, seen_error = False, 0
    for line in lines:
        error = line.pop("error", None)
        if error is not None:
            seen_error = max(seen_error, int(error))
            print(f"fieldnote: {line['reason']}", file=sys.stderr, flush=True)
        elif line["kind"] == "unclear":
            seen_unclear = True
        elif line["kind"] not in {"none", "partial"}:
            worst = 0
        if as_json:
            print(json.dumps(line, ensure_ascii=False), flush=True)
        elif error is None:
            print(line_of(line), flush=True)
    return seen_error or (1 if seen_unclear else worst)


def parse(
    texts: list[str] = typer.Argument(
        ..., metavar="TEXT...", help='What was said, in quotes; "-" reads one text a line.'
    ),
    as_json: bool = _AS_JSON,
    unit: str | None = typer.Option(
        None, "--unit", metavar="UCUM", help="Unit that a bare number takes, for instance Ohm."
    ),
) -> None:
    """Show what a spoken or typed reading means.

    Example: fieldnote parse "pin four to ground ten point six ohms"

    Leaves with 0 when something was understood and nothing was unclear, else with 1.
    """
    from fieldnote.language import UNITS, Context
    from fieldnote.language import parse as parse_text

    if unit is not None and unit not in UNITS:
        raise BadInputError(
            f"--unit: “{unit}” is not known.", "Write a UCUM code, such as Ohm, V, kPa or Cel."
        )
    context = Context(unit=unit)
    raise typer.Exit(_print((parse_text(t, context).to_json() for t in _inputs(texts)), as_json))


def hear(
    sounds: list[str] = typer.Argument(
        [],
        metavar="FILE",
        show_default=False,
        help='Sound files (WAV, FLAC); "-" reads one path a line.',
    ),
    as_json: bool = _AS_JSON,
    microphone: bool = typer.Option(
        False, "--microphone", help="Listen to the microphone instead, to try it out."
    ),
    device: str | None = DEVICE,
    stream: str | None = STREAM,
    start_word: str | None = START_WORD,
    partial: bool = typer.Option(
        False,
        "--partial",
        help='Of a microphone or stream, print the words as they come too (kind "partial").',
    ),
    engine: str | None = _ENGINE,
    model: Path | None = typer.Option(
        None,
        "--model",
        metavar="FOLDER",
        help="Folder of a vosk model to use instead of the one that selfcheck names.",
    ),
) -> None:
    """Show which readings are heard, in sound files or as you speak.

    Nothing is stored. Example: fieldnote hear recording.wav

    Leaves with 0 when something was understood and nothing was unclear, else with 1;
    3 when a needed part is missing (the message names the command that installs it).
    """
    from fieldnote.session.interpret import hear_files

    live = microphone or device is not None or stream is not None
    if live == bool(sounds):
        raise typer.BadParameter("name sound files, or --microphone, or --stream.")
    if sounds:
        if start_word or partial:
            raise typer.BadParameter("--start-word and --partial go with --microphone or --stream.")
        lines = hear_files(_inputs(sounds), engine=engine, models=model)
        raise typer.Exit(_print(lines, as_json))
    _hear_live(device, stream, start_word, partial, as_json, engine, model)


def _hear_live(
    device: str | None,
    stream: str | None,
    start_word: str | None,
    partial: bool,
    as_json: bool,
    engine: str | None,
    model: Path | None,
) -> None:
    from fieldnote.session.hear_live import hear_live, plain_listener
    from fieldnote.session.hearing import Ear
    from fieldnote.session.interpret import NO_CONTEXT
    from fieldnote.speech import Microphone, StreamForm, stream_blocks

    source = (
        Microphone(device)
        if stream is None
        else stream_blocks(sys.stdin.buffer, StreamForm.read(stream))
    )
    growing = growing_line()

    def notice(text: str) -> None:
        growing("")
        print(f"fieldnote: {text}", file=sys.stderr, flush=True)

    def lines(ear: Ear) -> Iterator[dict[str, Any]]:
        for line in hear_live(ear, "microphone" if stream is None else "-", notice):
            growing(line["heard"] if line["kind"] == "partial" else "")
            if line["kind"] != "partial" or (partial and line["heard"]):
                yield line

    with Ear(
        source,
        plain_listener(engine, model),
        lambda: NO_CONTEXT,
        start_word=start_word,
        words=True,
    ) as ear:
        notice(f"Listening. {how_to(None, start_word)} Ctrl-C ends.")
        raise typer.Exit(_print(lines(ear), as_json))


def look(
    pictures: list[str] = typer.Argument(
        ..., metavar="FILE...", help='Pictures (JPEG, PNG, HEIC); "-" reads one path a line.'
    ),
    as_json: bool = _AS_JSON,
    engine: str | None = _ENGINE,
    explain: Path | None = typer.Option(
        None, "--explain", metavar="PICTURE", help="Also draw what was found into this picture."
    ),
) -> None:
    """Show what stands on the meter displays in pictures.

    Nothing is stored. Example: fieldnote look display.jpg

    Leaves with 0 when a display was read and none was unclear, else with 1;
    3 when a needed part is missing (the message names the command that installs it).
    """
    from fieldnote.photo import explain as draw
    from fieldnote.photo import look as read
    from fieldnote.session.seen import look_files

    paths = list(_inputs(pictures))
    if explain is not None:
        if len(paths) != 1:
            raise typer.BadParameter("--explain draws one picture; give one file.")
        draw(paths[0], read(paths[0], None, engine), explain)
    raise typer.Exit(_print(look_files(paths, reader=engine), as_json))


def words() -> None:
    """Print everything that can be said.

    Example: fieldnote words | less
    """
    from fieldnote.language.page import page

    print(page(), end="")
