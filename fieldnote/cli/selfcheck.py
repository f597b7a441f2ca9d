"""The self-check: what is here, what is missing, and the command that mends it."""

from __future__ import annotations

from pathlib import Path

import typer

from fieldnote.cli.job import HOME


def register(app: typer.Typer) -> None:
    app.command()(selfcheck)


def selfcheck(home: Path | None = HOME) -> None:
    """Tell for each part whether it is here, and the command that mends it if it is not.

    Leaves with 3 when something that is always needed is missing; absent
    parts are optional.
    """
    from fieldnote.session.selfcheck import parts

    missing = False
    for part in parts(home):
        state = "present" if part.present else ("MISSING" if part.needed else "absent")
        missing = missing or (part.needed and not part.present)
        print(f"{state:<8} {part.name:<14} {part.what}")
        if part.mend:
            print(f"{'':<8} {'':<14} → {part.mend}")
    if missing:
        raise typer.Exit(3)
