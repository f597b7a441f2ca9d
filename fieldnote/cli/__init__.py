"""The command line: arguments in, calls to the parts, exit status out. No logic of its own.

Exit status: 0 understood or done; 1 nothing readable, unclear, or a check that found something;
2 bad usage or bad input; 3 a needed part is missing; 4 the job log could not be written or read.
"""

from __future__ import annotations

import sys

import typer

from fieldnote import __version__
from fieldnote.cli import carry, guided, job, machine, pages, procedures, selfcheck, take
from fieldnote.errors import FieldnoteError

app = typer.Typer(
    name="fieldnote",
    help="Readings spoken, photographed or typed become a judged, lasting job log. "
    "Nothing leaves this machine.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(wanted: bool) -> None:
    if wanted:
        print(f"fieldnote {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Print the version and leave."
    ),
) -> None:
    del version


for part in (job, take, guided, procedures, pages, carry, machine, selfcheck):
    part.register(app)


def main() -> None:
    """Entry point: every error meant for a person is one message and one exit status."""
    try:
        app()
    except FieldnoteError as error:
        print(f"fieldnote: {error}", file=sys.stderr)
        sys.exit(error.exit_status)
    except KeyboardInterrupt:
        print("\nfieldnote: stopped. What was stored before stays stored.", file=sys.stderr)
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()  # the reader of our output left (for instance `head`): not an error
        sys.exit(0)
