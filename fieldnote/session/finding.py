"""Searching the log with limits as people say them: "over 12 ohms"."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from fieldnote.errors import BadInputError
from fieldnote.joblog import Hit, Index, JobLog
from fieldnote.language import parse
from fieldnote.session.indexing import index_of
from fieldnote.session.wording import VERDICTS


def find(
    log: JobLog,
    words: str = "",
    *,
    over: str | None = None,
    under: str | None = None,
    asset: str | None = None,
    serial: str | None = None,
    label: str | None = None,
    verdict: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> list[Hit]:
    """Entries that fit all that is given, the latest first.

    over, under: a reading in words or digits with its unit; its kind of quantity counts.

    Raises:
        BadInputError: nothing was given to look for; a limit is no reading, or the two are of
            different kinds; there is no such verdict.
    """
    if not any((words, over, under, asset, serial, label, verdict, since, until)):
        raise BadInputError("Nothing to look for.", "Give words or an option (see --help).")
    if verdict and verdict not in VERDICTS:
        raise BadInputError(f"There is no verdict “{verdict}”.", f"Use {', '.join(VERDICTS)}.")
    bounds = {name: _bound(text) for name, text in (("over", over), ("under", under)) if text}
    kinds = {(index.quantity, index.base_unit) for index in bounds.values()}
    if len(kinds) > 1:
        raise BadInputError(f"“{over}” and “{under}” are of different kinds.", "Give one kind.")
    quantity, unit = kinds.pop() if kinds else (None, None)
    return log.search(
        words,
        asset=asset,
        serial=serial,
        label=label,
        verdict=verdict,
        quantity=quantity,
        unit=unit,
        at_least=bounds["over"].base_value if over else None,
        at_most=bounds["under"].base_value if under else None,
        since=since,
        until=until,
    )


def day(text: str, *, end: bool = False) -> datetime:
    """The beginning of a day (or its last moment) where this machine stands.

    Raises:
        BadInputError: the text is no date.
    """
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise BadInputError(f"“{text}” is no day.", "Write for instance 2026-11-25.") from None
    if end and at.time() == time():
        at += timedelta(days=1, microseconds=-1)
    return at.astimezone()


def _bound(text: str) -> Index:
    index = index_of({"entry": parse(text).to_json()})
    if index is None:
        raise BadInputError(
            f"“{text}” is no reading with a unit.", 'Write for instance "12 ohms" or "2.5 bar".'
        )
    return index
