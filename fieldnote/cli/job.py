"""The job: start, list, show, search, correct, withdraw, close, verify, report."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fieldnote.cli.progress import working
from fieldnote.errors import BadInputError

if TYPE_CHECKING:
    from fieldnote.joblog import JobLog

JOB = typer.Option(
    None, "--job", "-j", metavar="REF", help="Which job; without it, the newest open one."
)
ANY_JOB = typer.Option(
    None, "--job", "-j", metavar="REF", help="Which job; without it, the newest (open ones first)."
)
HOME = typer.Option(
    None,
    "--home",
    metavar="FOLDER",
    envvar="FIELDNOTE_HOME",
    help="Folder of the job log, if not the usual one.",
)


FACT = typer.Option(
    [],
    "--fact",
    metavar="NAME=VALUE",
    help="A fact that the procedure asks for; repeat for more. What is left out is asked for.",
)


def named_facts(facts: list[str]) -> dict[str, str]:
    """Facts as typed, by name."""
    given = {}
    for fact in facts:
        name, sign, value = fact.partition("=")
        if not sign:
            raise typer.BadParameter(f"“{fact}” is not NAME=VALUE.")
        given[name.strip()] = value.strip()
    return given


def _number(text: str) -> int:
    """An entry's number as typed."""
    if not text.isdecimal():
        raise typer.BadParameter(f"“{text}” is no number; `fieldnote show` prints them as No.")
    return int(text)


_NUMBER = typer.Argument(
    ..., metavar="NO", parser=_number, help="Number of the entry, as `fieldnote show` prints it."
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


def chosen(log: JobLog, ref: str | None, *, closed_too: bool = False) -> str:
    """The job named, or the newest open one; with closed_too the newest closed one if none is."""
    if ref is not None:
        return log.job(ref).ref
    jobs = log.jobs()
    candidates = [job for job in jobs if not job.closed] or (jobs if closed_too else [])
    if not candidates:
        raise BadInputError(
            "No job is open." if jobs else "There is no job yet.",
            'Start one with: fieldnote start --asset "..." (see --help).',
        )
    return max(candidates, key=lambda job: job.at).ref


def start(
    asset: str = typer.Option(
        ..., metavar="WORDS", help="The machine or part worked on, in your words."
    ),
    serial: str = typer.Option("", metavar="NUMBER", help="Its serial number."),
    hours: str = typer.Option(
        "", metavar="HOURS", help="Its running hours, as the counter shows them."
    ),
    complaint: str = typer.Option("", metavar="WORDS", help="What the customer says is wrong."),
    technician: str = typer.Option("", metavar="NAME", help="Who does the work."),
    meter: str = typer.Option(
        "", metavar="ID", help="The meter used: its id in the register, for instance bench-meter."
    ),
    procedure: str | None = typer.Option(
        None,
        metavar="PROCEDURE",
        help="Follow this one: a name that `fieldnote procedures` lists, or a TOML file.",
    ),
    facts: list[str] = FACT,
    ref: str | None = typer.Option(
        None, metavar="REF", help="Reference of your own; else one is made of the date."
    ),
    home: Path | None = HOME,
) -> None:
    """Start a job. Everything taken afterwards goes into its log.

    Example: fieldnote start --asset "bilge pump, port" --serial 1042 --complaint "trips its fuse"
    """
    from fieldnote.session.start import begin

    if not asset.strip():
        raise BadInputError("--asset is empty.", "Name the machine or part worked on.")
    job = begin(
        open_log(home),
        at=now(),
        ref=ref,
        procedure=procedure,
        told=named_facts(facts),
        asset=asset,
        serial=serial,
        hours=hours,
        complaint=complaint,
        technician=technician,
        meter=meter,
    )
    print(f"Job {job.ref} started: {asset}.")
    guided = "`fieldnote guide` leads you through its steps; " if procedure else ""
    print(f"Next: {guided}`fieldnote take` takes what you say, photograph or type.")


def jobs(home: Path | None = HOME) -> None:
    """List all jobs, newest first."""
    from rich.console import Console
    from rich.table import Table

    log = open_log(home)
    found = sorted(log.jobs(), key=lambda job: job.at, reverse=True)
    if not found:
        print('There is no job yet. Start one with: fieldnote start --asset "..." (see --help).')
        return
    table = Table("job", "started", "asset", "serial", "state", "size")
    for job in found:
        facts = job.facts
        table.add_row(
            job.ref,
            f"{job.at:%Y-%m-%d %H:%M}",
            str(facts.get("asset", "")),
            str(facts.get("serial", "")),
            "closed" if job.closed else "open",
            f"{log.size(job.ref) / 1e6:.1f} MB",
        )
    Console().print(table)


def show(job: str | None = ANY_JOB, home: Path | None = HOME) -> None:
    """Show a job's log as a table.

    Each entry with its number, time, value, window and verdict; what was corrected or withdrawn
    stays to be seen. Example: fieldnote show --job 2026-11-25-1
    """
    from rich.console import Console

    from fieldnote.review import table

    log = open_log(home)
    Console().print(table(log, chosen(log, job, closed_too=True)))


def find(
    words: str = typer.Argument(
        "", metavar="WORDS", help="Words to look for; leave out to search by options only."
    ),
    asset: str | None = typer.Option(None, metavar="WORDS", help="Only this asset."),
    serial: str | None = typer.Option(None, metavar="NUMBER", help="Only this serial number."),
    label: str | None = typer.Option(None, metavar="WORDS", help="Only this measuring point."),
    verdict: str | None = typer.Option(
        None,
        metavar="VERDICT",
        help="Only readings judged so: pass, fail, indeterminate, unchecked.",
    ),
    over: str | None = typer.Option(
        None, metavar="READING", help='Only readings over this, for instance "12 ohms".'
    ),
    under: str | None = typer.Option(
        None, metavar="READING", help='Only readings under this, for instance "2 bar".'
    ),
    since: str | None = typer.Option(None, metavar="DAY", help="From this day on: 2026-11-25."),
    until: str | None = typer.Option(None, metavar="DAY", help="Up to this day, it included."),
    home: Path | None = HOME,
) -> None:
    """Search the entries of all jobs.

    Searched are remarks, names of measuring points, heard words, assets, serials and values.

    Example: fieldnote find --serial 1042 --over "12 ohms"
    """
    from fieldnote.session.finding import day
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
        since=day(since) if since else None,
        until=day(until, end=True) if until else None,
    )
    for hit in hits:
        print(hit_text(hit.ref, hit.record))
    if not hits:
        print("Nothing was found.")
        raise typer.Exit(1)


def history(
    label: str = typer.Argument(
        ..., metavar="POINT", help="The measuring point, as the log calls it."
    ),
    asset: str | None = typer.Option(None, metavar="WORDS", help="The asset it belongs to,"),
    serial: str | None = typer.Option(None, metavar="NUMBER", help="or its serial number."),
    home: Path | None = HOME,
) -> None:
    """Show one measuring point over all jobs, with its trend.

    Example: fieldnote history port --serial INVENTED-17
    """
    from fieldnote.language import symbol

    if not (asset or serial):
        raise BadInputError("Of which machine?", "Name it with --asset or --serial.")
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
    number: int = _NUMBER,
    text: str = typer.Argument(
        ..., metavar="TEXT", help='What it should say, for instance "ten point four ohms".'
    ),
    why: str = typer.Option(
        ..., metavar="REASON", help="Why it is corrected; kept with the old value."
    ),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Correct an entry. The old value stays on record, struck through.

    Example: fieldnote correct 7 "ten point four ohms" --why "misread"
    """
    from fieldnote.session.record import Recorder

    log = open_log(home)
    outcome = Recorder(log, chosen(log, job), clock=now).correct(number, text, why)
    print(outcome.message)


def withdraw(
    number: int = _NUMBER,
    why: str = typer.Option(..., metavar="REASON", help="Why it does not count; kept with it."),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Withdraw an entry. It stays on record, marked as withdrawn.

    Example: fieldnote withdraw 7 --why "measured on the wrong pins"
    """
    from fieldnote.session.record import Recorder

    log = open_log(home)
    print(Recorder(log, chosen(log, job), clock=now).withdraw(number, why).message)


def close(
    sign: bool = typer.Option(False, "--sign", help="Sign the seal with this machine's key."),
    job: str | None = JOB,
    home: Path | None = HOME,
) -> None:
    """Close a job: its log is sealed.

    Reopening is possible and leaves a trace. Example: fieldnote close --job 2026-11-25-1
    """
    log = open_log(home)
    ref = chosen(log, job)
    if log.job(ref).closed:
        raise BadInputError(f"The job {ref} is closed already.", "`fieldnote reopen` opens it.")
    log.close_job(ref, at=now(), sign=sign)
    seal = log.seals(ref)[-1]
    signed = f", signed with the key {seal.key}" if seal.key else ""
    print(f"Job {ref} closed and sealed. Code to compare: {seal.code}{signed}.")


def reopen(
    ref: str = typer.Argument(..., metavar="JOB", help="The closed job."),
    why: str = typer.Option(..., metavar="REASON", help="Why it is opened again; kept on record."),
    home: Path | None = HOME,
) -> None:
    """Open a closed job again.

    Example: fieldnote reopen 2026-11-25-1 --why "one more reading"
    """
    if not why.strip():
        raise BadInputError("A reopening must say why.", "Give the reason with --why.")
    open_log(home).reopen_job(ref, {"why": why}, at=now())
    print(f"Job {ref} is open again.")


def verify(job: str | None = ANY_JOB, home: Path | None = HOME) -> None:
    """Check that a job's log and evidence are as written.

    Example: fieldnote verify --job 2026-11-25-1

    Leaves with 1 and names the first entry that does not fit, if one does not.
    """
    log = open_log(home)
    ref = chosen(log, job, closed_too=True)
    with working("Checking records and evidence"):
        faults = log.verify(ref)
    for fault in faults:
        print(fault)
    if faults:
        raise typer.Exit(1)
    print(f"Job {ref}: {len(log.records(ref))} records and their evidence are as written.")


def report(
    out: Path | None = typer.Option(
        None, "--out", "-o", metavar="FILE", help="File to write, .html or .pdf; else JOB.html."
    ),
    variant: str = typer.Option(
        "service",
        metavar="FOR",
        help="For whom: service, customer (plain words), warranty (all evidence).",
    ),
    paper: str = typer.Option("A4", metavar="SIZE", help="Of a PDF: A4 or Letter."),
    locale: str | None = typer.Option(
        None, metavar="LANGUAGE", help="Language and number style, for instance de."
    ),
    units: str | None = typer.Option(
        None,
        metavar="UNITS",
        help="Also in the customer's units: SI, US, or UCUM codes such as N.m,Cel.",
    ),
    job: str | None = ANY_JOB,
    home: Path | None = HOME,
) -> None:
    """Write the report for the customer or the office.

    It is one HTML file with sounds and pictures in it, or a PDF (extra `pdf`).
    Example: fieldnote report -o report.pdf --variant customer
    """
    from fieldnote.review import report as write_report

    log = open_log(home)
    ref = chosen(log, job, closed_too=True)
    path = out or Path(f"{ref}.html")
    with working("Writing the report"):
        write_report(log, ref, path, locale=locale, variant=variant, paper=paper, units=units)
    print(f"Report: {path}")
