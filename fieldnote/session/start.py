"""Starting a job: what is known of it, the procedure it follows, the meter it uses."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

from fieldnote.errors import BadInputError
from fieldnote.joblog import Job, JobLog
from fieldnote.procedure import Procedure, Register, load, load_register
from fieldnote.procedure.problems import closest

REGISTER = "instruments.toml"
"""The workshop's register of instruments, in the folder of the job log."""


_HOURS = re.compile(r"\d+([.,]\d+)?( ?h)?")


def begin(
    log: JobLog,
    *,
    at: datetime,
    ref: str | None = None,
    procedure: str | None = None,
    told: Mapping[str, str] | None = None,
    meter: str = "",
    **facts: str,
) -> Job:
    """Start a job.

    The whole procedure goes into its first record, so that the job follows it as it was.

    Args:
        facts: what is known of the job, by name; empty ones are left out. told: facts that the
            procedure asks for, by name; the guide asks for the others.

    Raises:
        BadInputError: an empty asset, hours that are no number, no such procedure, instrument or
            fact, or a job of that reference exists.
    """
    if "asset" in facts and not facts["asset"].strip():
        raise BadInputError("The asset is empty.", "Name the machine or part worked on.")
    if facts.get("hours") and not _HOURS.fullmatch(facts["hours"].strip()):
        raise BadInputError(
            f"“{facts['hours']}” are no running hours.",
            "Write them as the counter shows them: 1240.5",
        )
    body: dict[str, Any] = {name: value for name, value in facts.items() if value}
    if meter:
        body["meter"] = register(log.home).instrument(meter).for_log()
    if told and procedure is None:
        raise BadInputError("Only a procedure asks for facts.", "Name it: --procedure NAME.")
    if procedure is not None:
        chosen = load(procedure)
        body |= _facts_for(chosen, told or {})
        content = chosen.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        body["procedure"] = chosen.for_log() | {"content": content}
    return log.start_job(body, at=at, ref=ref)


def _facts_for(procedure: Procedure, told: Mapping[str, str]) -> dict[str, str]:
    for name, value in told.items():
        fact = procedure.facts.get(name)
        if fact is None:
            raise BadInputError(
                f"{procedure.name} asks for no fact “{name}”.", closest(name, procedure.facts)
            )
        if not fact.takes(value):
            choices = f"one of: {', '.join(fact.choices)}." if fact.choices else "a number."
            raise BadInputError(f"“{value}” does not answer “{fact.ask}”", f"Give {choices}")
    return dict(told)


def followed(log: JobLog, ref: str) -> Procedure | None:
    """The procedure of a job, as it was when the job was started."""
    stated = log.job(ref).facts.get("procedure")
    return Procedure.model_validate(stated["content"]) if stated else None


def register(home: Path) -> Register:
    """The workshop's own register of instruments, else the invented ones of the examples."""
    own = home / REGISTER
    return load_register(own if own.exists() else None)


def overdue(log: JobLog, ref: str, on: date) -> str | None:
    """What is to be said of the job's meter when its calibration has run out, or is not known."""
    meter = log.job(ref).facts.get("meter")
    named = meter.get("id") if isinstance(meter, dict) else meter
    for each in register(log.home).instruments:
        if each.id == named and (each.due is None or each.overdue(on)):
            return each.standing(on)
    return None
