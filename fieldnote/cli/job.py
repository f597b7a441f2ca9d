"""The job: start, list, show, search, correct, withdraw, close, verify, report."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fieldnote.errors import BadInputError

if TYPE_CHECKING:
    from fieldnote.joblog import JobLog

JOB = typer.Option(
    None, "--job", "-j", metavar="REF", help="Which job; without it, the newest open one."
)
HOME = typer.Option(
    None, "--home", envvar="FIELDNOTE_HOME", help="Folder of the job log, if not the usual one."
)


def register(app: typer.Typer) -> None:
    for seen in (start, jobs, show, find, history, report):
        app.command()(seen)
    for changing in (correct, withdraw, close, reopen, verify):
        app.command()(changing)


def now() -> datetime:
    """The wall clock with the offset of this machine's time zone."""
    return datetime.now().astimezone()


def open_log(home: Path | None) -> JobLog:
    from fieldnote.joblog import JobLog
    from fieldnote.session.indexing import index_of

    return JobLog.open(home, indexer=index_of)


def chosen(log: JobLog, ref: str | None) -> str:
    """The job named, or the newest open one."""
    if ref is not None:
        return log.job(ref).ref
    still_open = [job for job in log.jobs() if not job.closed]
    if not still_open:
        raise BadInputError(
            "No job is open.", 'Start one with: fieldnote start --asset "..." (see --help).'
        )
    return max(still_open, key=lambda job: job.at).ref


def start(
    asset: str = typer.Option(..., help="The machine or part worked on, in your words."),
    serial: str = typer.Option("", help="Its serial number."),
    hours: str = typer.Option("", help="Its running hours, as the counter shows them."),
    complaint: str = typer.Option("", help="What the customer says is wrong."),
    technician: str = typer.Option("", help="Who does the work."),
    meter: str = typer.Option("", help="The meter used: its id in the register of instruments."),
    procedure: str | None = typer.Option(None, help="Procedure to follow: a name or a TOML file."),
    ref: str | None = typer.Option(None, help="Reference of your own for the job."),
    home: Path | None = HOME,
) -> None:
    """Start a job. Everything taken afterwards goes into its log.

    Example: fieldnote start --asset "bilge pump, port" --serial 1042 --complaint "trips its fuse"
    """
    from fieldnote.session.start import begin

    job = begin(
        open_log(home),
        at=now(),
        ref=ref,
        procedure=procedure,
        asset=asset,
        serial=serial,
        hours=hours,
        complaint=complaint,
        technician=technician,
        meter=meter,
    )
    print(f"Job {job.ref} started: {asset}.")


def jobs(home: Path | None = HOME) -> None:
    """List all jobs, newest first."""
    from rich.console import Console
    from rich.table import Table

    table = Table("job", "started", "asset", "serial", "state")
    for job in sorted(open_log(home).jobs(), key=lambda job: job.at, reverse=True):
        facts = job.facts
        table.add_row(
            job.ref,
            f"{job.at:%Y-%m-%d %H:%M}",
            str(facts.get("asset", "")),
            str(facts.get("serial", "")),
            "closed" if job.closed else "open",
        )
    Console().print(table)


def show(job: str | None = JOB, home: Path | None = HOME) -> None:
    """Show a job's log as a table: time, step, value, window, verdict."""
    from rich.console import Console

    from fieldnote.review import table

    log = open_log(home)
    Console().print(table(log, chosen(log, job)))


def find(
    words: str = typer.Argument("", help="Words to look for; leave out to search by options only."),
    asset: str | None = typer.Option(None, help="Only this asset."),
    serial: str | None = typer.Option(None, help="Only this serial number."),
    label: str | None = typer.Option(None, help="Only this measuring point."),
    verdict: str | None = typer.Option(
        None, help="Only readings judged so: pass, fail, indeterminate, unchecked."
    ),
    over: str | None = typer.Option(None, help='Only readings over this, for instance "12 ohms".'),
    under: str | None = typer.Option(None, help='Only readings under this, for instance "2 bar".'),
    since: datetime | None = typer.Option(None, help="Only from this day on."),
    until: datetime | None = typer.Option(None, help="Only up to this day."),
    home: Path | None = HOME,
) -> None:
    """Search the entries of all jobs: remarks, labels, heard words, assets, serials, values.

    Example: fieldnote find --serial 1042 --over "12 ohms"
    """
    from fieldnote.session.finding import find as search
    from fieldnote.session.wording import hit_text

    hits = search(
        open_log(home),
        words,
        over=over,
        under=under,
        asset=asset,
        serial=serial,
        label=label,
        verdict=verdict,
        since=since.astimezone() if since else None,
        until=until.astimezone() if until else None,
    )
    for hit in hits:
        print(hit_text(hit.ref, hit.record))
    if not hits:
        print("Nothing was found.")
        raise typer.Exit(1)


def history(
    label: str = typer.Argument(..., help="The measuring point, as the log calls it."),
    asset: str | None = typer.Option(None, help="The asset it belongs to."),
    serial: str | None = typer.Option(None, help="Or its serial number."),
    home: Path | None = HOME,
) -> None:
    """Show one measuring point over all jobs, with its trend."""
    from fieldnote.language import symbol

    found = open_log(home).history(label, asset=asset, serial=serial)
    for base, line in found.items():
        for point in line.points:
            unit = symbol(point.unit) if point.unit else ""
            verdict = point.verdict or "unchecked"
            print(f"{point.at:%Y-%m-%d %H:%M}  {point.ref}  {point.value} {unit}  {verdict}")
        drift = "" if line.drift is None else f", last less first {line.drift:+.4g} {symbol(base)}"
        print(f"Trend: {line.trend}{drift}")
    if not found:
        print(f"No reading is called “{label}” there.")
        raise typer.Exit(1)


def correct(
    number: int = typer.Argument(..., help="Number of the entry, as `fieldnote show` prints it."),
    text: str = typer.Argument(..., help='What it should say, for instance "ten point four ohms".'),
    why: str = typer.Option(..., help="Why it is corrected; kept with the old value."),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Correct an entry. The old value stays on record, struck through."""
    from fieldnote.session.record import Recorder

    log = open_log(home)
    outcome = Recorder(log, chosen(log, job), clock=now).correct(number, text, why)
    print(outcome.message)


def withdraw(
    number: int = typer.Argument(..., help="Number of the entry, as `fieldnote show` prints it."),
    why: str = typer.Option(..., help="Why it does not count; kept with it."),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Withdraw an entry. It stays on record, marked as withdrawn."""
    from fieldnote.session.record import Recorder

    log = open_log(home)
    print(Recorder(log, chosen(log, job), clock=now).withdraw(number, why).message)


def close(job: str | None = JOB, home: Path | None = HOME) -> None:
    """Close a job: its log is sealed. Reopening is possible and leaves a trace."""
    log = open_log(home)
    ref = chosen(log, job)
    log.close_job(ref, at=now())
    print(f"Job {ref} closed and sealed.")


def reopen(
    ref: str = typer.Argument(..., metavar="JOB", help="The closed job."),
    why: str = typer.Option(..., help="Why it is opened again; kept on record."),
    home: Path | None = HOME,
) -> None:
    """Open a closed job again."""
    open_log(home).reopen_job(ref, {"why": why}, at=now())
    print(f"Job {ref} is open again.")


def verify(job: str | None = JOB, home: Path | None = HOME) -> None:
    """Check that a job's log and its evidence are as they were written.

    Leaves with 1 and names the first entry that does not fit, if one does not.
    """
    log = open_log(home)
    ref = log.job(job).ref if job else chosen(log, None)
    faults = log.verify(ref)
    for fault in faults:
        print(fault)
    if faults:
        raise typer.Exit(1)
    print(f"Job {ref}: {len(log.records(ref))} records and their evidence are as written.")


def report(
    out: Path | None = typer.Option(
        None, "--out", "-o", help="File to write, .html or .pdf; default JOB.html."
    ),
    variant: str = typer.Option(
        "service", help="For whom: service, customer (plain words), warranty (all evidence)."
    ),
    paper: str = typer.Option("A4", help="Of a PDF: A4 or Letter."),
    locale: str | None = typer.Option(None, help="Language and number style, for instance de."),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Write the report: one HTML file with sounds and pictures in it, or a PDF (extra `pdf`)."""
    from fieldnote.review import report as write_report

    log = open_log(home)
    ref = chosen(log, job)
    path = out or Path(f"{ref}.html")
    write_report(log, ref, path, locale=locale, variant=variant, paper=paper)
    print(f"Report: {path}")
