"""Taking the log elsewhere: bundles, tables, archives, the shop's database; and removing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fieldnote.cli.job import HOME, now, open_log
from fieldnote.cli.progress import working
from fieldnote.errors import BadInputError

if TYPE_CHECKING:
    from fieldnote.joblog import Merged

_JOBS = typer.Option([], "--job", "-j", metavar="REF", help="Only this job; repeat for more.")
_ADDRESS = typer.Argument(
    ..., envvar="FIELDNOTE_SHOP", help="The database, for instance postgresql://user@host/shop."
)

shop_app = typer.Typer(
    name="shop",
    help="Share jobs through the shop's PostgreSQL database (extra `shop`).",
    no_args_is_help=True,
    rich_markup_mode=None,
)


def register(app: typer.Typer) -> None:
    for command in (bundle, merge, export, archive, unarchive, remove):
        app.command()(command)
    app.add_typer(shop_app)


def bundle(
    out: Path = typer.Argument(..., metavar="FILE.zip", help="The ZIP file to write."),
    jobs: list[str] = _JOBS,
    private: bool = typer.Option(False, "--private", help="Names and addresses go along too."),
    location: bool = typer.Option(
        False, "--location", help="Leave in the pictures where they were taken (GPS)."
    ),
    evidence: bool = typer.Option(True, help="Whether sounds and pictures go along."),
    home: Path | None = HOME,
) -> None:
    """Write jobs into one ZIP file for another machine.

    Without --job all jobs go. Example: fieldnote bundle friday.zip --job 2026-11-25-1
    """
    from fieldnote.joblog import PRIVATE_FACTS

    leave_out = () if private else PRIVATE_FACTS
    with working("Writing the bundle"):
        written = open_log(home).export_bundle(
            out, jobs or None, leave_out=leave_out, evidence=evidence, location=location
        )
    print(f"Bundle: {written}")


def merge(
    bundles: list[Path] = typer.Argument(
        ..., metavar="FILE.zip...", help="Bundles from other machines."
    ),
    home: Path | None = HOME,
) -> None:
    """Take in bundles of other machines.

    Each is checked whole first; taking one in twice changes nothing; where two machines
    changed the same entry, both changes are shown. Example: fieldnote merge friday.zip
    """
    log = open_log(home)
    for path in bundles:
        with working(f"Checking and taking in {path}"):
            merged = log.import_bundle(path)
        _tell(str(path), merged)


def _tell(where: str, merged: Merged) -> None:
    print(
        f"{where}: {_count(len(merged.jobs), 'job')}, "
        f"{_count(merged.new_records, 'new record')}, {merged.known_records} known already."
    )
    for conflict in merged.conflicts:
        print(f"  conflict: {conflict}")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def export(
    out: Path = typer.Argument(
        ..., metavar="FILE", help="The file to write: .csv, .jsonl or .parquet."
    ),
    jobs: list[str] = _JOBS,
    replaced: bool = typer.Option(
        False, "--replaced", help="Also write what was corrected or withdrawn."
    ),
    home: Path | None = HOME,
) -> None:
    """Write the entries as a table for a spreadsheet or a program.

    Digits are kept as read, units are UCUM codes, times RFC 3339.
    Example: fieldnote export readings.csv
    """
    log = open_log(home)
    ways = {
        ".csv": log.export_csv,
        ".jsonl": log.export_json_lines,
        ".parquet": log.export_parquet,
    }
    way = ways.get(out.suffix.lower())
    if way is None:
        raise BadInputError(
            f"{out}: no table is written to “{out.suffix}”.", f"Use {', '.join(ways)}."
        )
    with working("Writing the table"):
        written = way(out, jobs or None, replaced=replaced)
    print(f"Table: {written}")


def archive(
    folder: Path = typer.Argument(..., metavar="FOLDER", help="Where the sounds and pictures go."),
    jobs: list[str] = _JOBS,
    home: Path | None = HOME,
) -> None:
    """Move jobs' sounds and pictures to another folder.

    The log still knows and verifies them there.
    Example: fieldnote archive /media/disk --job 2026-11-25-1
    """
    if not jobs:
        raise BadInputError("Which jobs?", "Name them with --job.")
    with working("Moving files"):
        moved = open_log(home).archive(jobs, folder)
    print(f"{_count(moved, 'file')} moved to {folder}.")


def unarchive(jobs: list[str] = _JOBS, home: Path | None = HOME) -> None:
    """Copy archived sounds and pictures of jobs back.

    Example: fieldnote unarchive --job 2026-11-25-1
    """
    if not jobs:
        raise BadInputError("Which jobs?", "Name them with --job.")
    print(f"{_count(open_log(home).bring_back(jobs), 'file')} copied back.")


def remove(
    job: str = typer.Argument(..., metavar="JOB", help="The job whose customer's data goes."),
    why: str = typer.Option(..., metavar="REASON", help="Why; kept in the log."),
    yes: bool = typer.Option(False, "--yes", help="Do not ask again."),
    home: Path | None = HOME,
) -> None:
    """Remove a job's sounds, pictures and names for good.

    Readings and verdicts stay, and the rest of the log still verifies.
    Example: fieldnote remove 2026-11-25-1 --why "customer asked for it"
    """
    if not yes:
        typer.confirm(f"Remove the evidence and names of job {job} for good?", abort=True)
    removed = open_log(home).remove(job, why=why, at=now())
    facts = ", ".join(removed.facts) or "no private facts"
    print(f"Job {job}: {_count(removed.evidence, 'file')} and {facts} removed.")


@shop_app.command()
def push(address: str = _ADDRESS, jobs: list[str] = _JOBS, home: Path | None = HOME) -> None:
    """Give this machine's jobs to the shop.

    Example: fieldnote shop push postgresql://me@shop-pc/shop
    """
    from fieldnote.joblog import shop

    with working("Giving jobs to the shop"):
        new = shop.push(open_log(home), address, jobs or None)
    print(f"New to the shop: {_count(new, 'record')}.")


@shop_app.command()
def pull(address: str = _ADDRESS, home: Path | None = HOME) -> None:
    """Take in the shop's jobs, checked first like any bundle."""
    from fieldnote.joblog import shop

    with working("Taking in the shop's jobs"):
        merged = shop.pull(open_log(home), address)
    _tell("shop", merged)


@shop_app.command()
def check(address: str = _ADDRESS) -> None:
    """Verify the shop's database by the same rules as a machine's log."""
    from fieldnote.joblog import shop

    with working("Checking the shop's records"):
        faults = shop.verify(address)
    for fault in faults:
        print(fault)
    if faults:
        raise typer.Exit(1)
    print("The shop's records are as they were written.")
