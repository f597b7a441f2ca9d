"""Times as RFC 3339 text (what is stored) and as microseconds since 1970 (what is sorted by)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from fieldnote.errors import BadInputError

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


def rfc3339(at: datetime) -> str:
    """The time with its offset, e.g. ``2031-03-04T10:15:00.250000+01:00``.

    Raises:
        BadInputError: ``at`` has no offset: a time of which nobody knows the zone is no evidence.
    """
    offset = at.utcoffset()
    if offset is None:
        raise BadInputError(
            f"The time {at.isoformat()} has no zone.", "Give it with its offset from UTC."
        )
    if offset % timedelta(minutes=1):  # RFC 3339 has no seconds in an offset
        at = at.astimezone(UTC)
    return at.isoformat()


def parse_rfc3339(text: str) -> datetime:
    """Raises ValueError when ``text`` is not a time with an offset."""
    at = datetime.fromisoformat(text)
    if at.utcoffset() is None:
        raise ValueError(f"{text!r} has no offset")
    return at


def microseconds(at: datetime) -> int:
    """Microseconds since 1970-01-01T00:00Z, exact."""
    return (at - _EPOCH) // _MICROSECOND
