"""One measuring point across jobs: its readings over time, and whether they drift."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from statistics import median
from typing import Literal

from fieldnote.joblog.database import Database
from fieldnote.joblog.index import extract
from fieldnote.joblog.lookup import Reader, shown_ref

_DAY = 86_400.0
_FEWEST = 8  # below this the normal approximation of Mann and Kendall's test says nothing
_CERTAIN = 1.959963984540054  # two-sided 5 % point of the standard normal distribution
_MOST = 400  # readings used for the slope: pairs grow with the square

Trend = Literal["rising", "falling", "steady", "too few"]


@dataclass(frozen=True, slots=True)
class Point:
    """One reading of the measuring point that counts.

    Attributes:
        value, unit: as recorded, exact digits, UCUM code.
        base_value, base_unit: the same for arithmetic and charts only.
    """

    at: datetime
    ref: str
    number: int
    value: str
    unit: str | None
    verdict: str | None
    base_value: float
    base_unit: str


@dataclass(frozen=True, slots=True)
class History:
    """Readings of one measuring point in one base unit, the oldest first.

    Attributes:
        per_day: slope in base units a day (Theil and Sen: median of the slopes of all pairs, so
            that one slip does not bend it); None with fewer than two different times.
        drift: last value less the first, in base units.
        trend: by Mann and Kendall's test at 5 %; ``too few`` below 8 readings.
    """

    points: tuple[Point, ...]
    per_day: float | None
    drift: float | None
    trend: Trend


def history_of(points: Sequence[Point]) -> History:
    """Theil and Sen's slope and Mann and Kendall's test over points in order of time."""
    days = [point.at.timestamp() / _DAY for point in points][-_MOST:]
    values = [point.base_value for point in points][-_MOST:]
    slopes = [
        (later - earlier) / (end - begin)
        for (begin, earlier), (end, later) in combinations(zip(days, values, strict=True), 2)
        if end > begin
    ]
    return History(
        points=tuple(points),
        per_day=median(slopes) if slopes else None,
        drift=values[-1] - values[0] if len(values) > 1 else None,
        trend=_trend(values),
    )


def _trend(values: Sequence[float]) -> Trend:
    """Mann 1945, Kendall 1975: is one order of later and earlier values commoner than chance?"""
    n = len(values)
    if n < _FEWEST:
        return "too few"
    score = sum((b > a) - (b < a) for a, b in combinations(values, 2))
    ties = [values.count(value) for value in set(values)]
    variance = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    if variance == 0:
        return "steady"
    z = (score - math.copysign(1, score)) / math.sqrt(variance) if score else 0.0
    if abs(z) <= _CERTAIN:
        return "steady"
    return "rising" if z > 0 else "falling"


def histories(
    db: Database, reader: Reader, label: str, asset: str | None, serial: str | None
) -> dict[str, History]:
    """What counts at a measuring point across jobs, by base unit."""
    points: dict[str, list[Point]] = {}
    for job, base_value, base_unit, *stored in db.rows(
        "SELECT r.job, s.base_value, s.base_unit, r.content, r.hash, r.openings FROM jobs j"
        " CROSS JOIN records r ON r.job = j.id CROSS JOIN results s ON s.id = r.id"
        " WHERE (:asset IS NULL OR j.asset = :asset COLLATE NOCASE)"
        " AND (:serial IS NULL OR j.serial = :serial COLLATE NOCASE)"
        " AND s.label = :label COLLATE NOCASE AND s.counts AND s.base_value IS NOT NULL"
        " AND s.base_unit IS NOT NULL ORDER BY s.at, s.id",
        {"asset": asset, "serial": serial, "label": label},
    ):
        record = reader(*stored)
        found = extract(record.body)
        point = Point(
            at=record.at,
            ref=shown_ref(db, job),
            number=record.number,
            value=found.value or "",
            unit=found.unit,
            verdict=found.verdict,
            base_value=base_value,
            base_unit=base_unit,
        )
        points.setdefault(base_unit, []).append(point)
    return {unit: history_of(found) for unit, found in points.items()}
