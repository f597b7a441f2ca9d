"""Procedures: list those at hand, show one, check one being written."""

from __future__ import annotations

from pathlib import Path

import typer

from fieldnote.cli.files import write_text


def register(app: typer.Typer) -> None:
    app.command()(procedures)
    app.command()(procedure)
    app.command()(template)
    app.command()(sheet)


def procedures() -> None:
    """List the procedures that come with the program."""
    from rich.console import Console
    from rich.table import Table

    from fieldnote.procedure import load, shipped

    table = Table("name", "title", "version", "steps")
    for name in shipped():
        each = load(name)
        table.add_row(name, each.title, each.version, str(len(each.steps)))
    Console().print(table)


def procedure(
    name: str = typer.Argument(
        ..., metavar="PROCEDURE", help="Name of a procedure, or a TOML file of your own."
    ),
) -> None:
    """Show one procedure, or check one that you write.

    Its cautions, steps, limits and sources. A fault in a file is named with its line.
    Example: fieldnote procedure my-procedure.toml
    """
    from rich.console import Console
    from rich.markup import escape

    from fieldnote.procedure import load

    chosen = load(name)
    console = Console(highlight=False)
    console.print(f"[bold]{escape(chosen.title)}[/]  {chosen.name} {chosen.version}")
    console.print(f"digest {chosen.digest}\n")
    for caution in chosen.cautions:
        console.print(f"⚠ {escape(caution)}")
    console.print()
    for number, step in enumerate(chosen.steps, 1):
        console.print(f"{number:>2}. [bold]{escape(step.id)}[/]  {escape(step.ask)}")
        for caution in step.cautions:
            console.print(f"      ⚠ {escape(caution)}")
        window = getattr(step, "window", None)
        if window is not None:
            console.print(f"      {escape(window.describe())}")
    console.print("\nSources:")
    for source in chosen.sources:
        console.print(f"  {escape(source)}")


def template() -> None:
    """Print a procedure to start your own from.

    Its comments explain every kind of step.

    Example: fieldnote template > my-procedure.toml
    """
    from fieldnote.procedure import template as text

    print(text(), end="")


def sheet(
    name: str = typer.Argument(
        ..., metavar="PROCEDURE", help="Name of a procedure, or a TOML file of your own."
    ),
    out: Path | None = typer.Option(
        None, "--out", "-o", metavar="FILE", help="HTML file to write; else NAME-sheet.html."
    ),
) -> None:
    """Write a procedure as a check sheet for paper.

    It carries a code that tells which procedure, word for word, it was printed from.
    Example: fieldnote sheet rudder-angle-sender
    """
    from fieldnote.procedure import load
    from fieldnote.procedure import sheet as drawn

    chosen = load(name)
    out = out or Path(f"{chosen.name}-sheet.html")
    write_text(out, drawn(chosen))
    print(f"Sheet: {out}")
