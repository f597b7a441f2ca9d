"""Taking the log elsewhere: bundles, tables, archives, the shop's database; and removing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fieldnote.cli.job import HOME, now, open_log
from fieldnote.errors import BadInputError

if TYPE_CHECKING:
    from fieldnote.joblog import Merged

_JOBS = typer.Option([], "--job", "-j", metavar="REF", help="Only this job; repeat for more.")
_ADDRESS = typer.Argument(
    ..., envvar="FIELDNOTE_SHOP", help="The database, for instance postgresql://user@host/shop."
)

shop_app = typer.Typer(
    name="shop",
    help="Meet other machines in the shop's PostgreSQL database (extra `shop`).",
    no_args_is_help=True,
    rich_markup_mode=None,
)


def register(app: typer.Typer) -> None:
    for command in (bundle, merge, export, archive, unarchive, remove):
        app.command()(command)
    app.add_typer(shop_app)


def bundle(
    out: Path = typer.Argument(..., help="The ZIP file to write."),
    jobs: list[str] = _JOBS,
    private: bool = typer.Option(False, "--private", help="Names and addresses go along."),
    location: bool = typer.Option(False, "--location", help="Pictures keep where they were taken."),
    evidence: bool = typer.Option(True, help="Sounds and pictures go along."),
    home: Path | None = HOME,
) -> None:
    """Write jobs into one file that another machine can verify and take in."""
    from fieldnote.joblog import PRIVATE_FACTS

    leave_out = () if private else PRIVATE_FACTS
    written = open_log(home).export_bundle(
        out, jobs or None, leave_out=leave_out, evidence=evidence, location=location
    )
    print(f"Bundle: {written}")


def merge(
    bundles: list[Path] = typer.Argument(..., help="Bundles from other machines."),
    home: Path | None = HOME,
) -> None:
    """Take in bundles: each is checked whole first; twice changes nothing; conflicts are shown."""
    log = open_log(home)
    for path in bundles:
        _tell(str(path), log.import_bundle(path))


def _tell(where: str, merged: Merged) -> None:
    print(
        f"{where}: {len(merged.jobs)} jobs, {merged.new_records} new records, "
        f"{merged.known_records} known already."
    )
    for conflict in merged.conflicts:
        print(f"  conflict: {conflict}")


def export(
    out: Path = typer.Argument(..., help="A .csv, .jsonl or .parquet file to write."),
    jobs: list[str] = _JOBS,
    replaced: bool = typer.Option(False, help="Also what was corrected or withdrawn."),
    home: Path | None = HOME,
) -> None:
    """Write the entries as a table: digits kept, units in UCUM codes, times in RFC 3339."""
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
    print(f"Table: {way(out, jobs or None, replaced=replaced)}")


def archive(
    folder: Path = typer.Argument(..., help="Where the sounds and pictures go."),
    jobs: list[str] = _JOBS,
    home: Path | None = HOME,
) -> None:
    """Move old jobs' sounds and pictures to a folder; the log still knows them."""
    if not jobs:
        raise BadInputError("Which jobs?", "Name them with --job.")
    print(f"{open_log(home).archive(jobs, folder)} files moved to {folder}.")


def unarchive(jobs: list[str] = _JOBS, home: Path | None = HOME) -> None:
    """Copy archived sounds and pictures of jobs back."""
    if not jobs:
        raise BadInputError("Which jobs?", "Name them with --job.")
    print(f"{open_log(home).bring_back(jobs)} files copied back.")


def remove(
    job: str = typer.Argument(..., help="The job whose customer's data goes."),
    why: str = typer.Option(..., help="Why; kept in the log."),
    yes: bool = typer.Option(False, "--yes", help="Do not ask again."),
    home: Path | None = HOME,
) -> None:
    """Remove a job's sounds, pictures, names and addresses for good; the rest still verifies."""
    if not yes:
        typer.confirm(f"Remove the evidence and names of job {job} for good?", abort=True)
    removed = open_log(home).remove(job, why=why, at=now())
    print(f"Job {job}: {removed.evidence} files and {removed.facts} private facts removed.")


@shop_app.command()
def push(address: str = _ADDRESS, jobs: list[str] = _JOBS, home: Path | None = HOME) -> None:
    """Give this machine's jobs to the shop."""
    from fieldnote.joblog import shop

    print(f"{shop.push(open_log(home), address, jobs or None)} records were new to the shop.")


@shop_app.command()
def pull(address: str = _ADDRESS, home: Path | None = HOME) -> None:
    """Take in the shop's jobs, checked first as any bundle."""
    from fieldnote.joblog import shop

    _tell("shop", shop.pull(open_log(home), address))


@shop_app.command()
def check(address: str = _ADDRESS) -> None:
    """Verify the shop's database by the same rules as a machine's log."""
    from fieldnote.joblog import shop

    faults = shop.verify(address)
    for fault in faults:
        print(fault)
    if faults:
        raise typer.Exit(1)
    print("The shop's records are as they were written.")
