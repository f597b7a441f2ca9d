"""Finding records: by words, by where and when, by verdict, by quantity and range."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fieldnote.joblog.database import Database
from fieldnote.joblog.index import Indexer, catch_up
from fieldnote.joblog.lookup import Reader, shown_ref
from fieldnote.joblog.record import Record
from fieldnote.joblog.times import microseconds

_FEW = 2000  # so few values in a range are sorted faster than a walk back in time finds them
_RARE = ("fail", "indeterminate")


@dataclass(frozen=True, slots=True)
class Hit:
    """A record found, and the job it belongs to."""

    ref: str
    asset: str | None
    serial: str | None
    record: Record


@dataclass(frozen=True, slots=True)
class Query:
    """What to look for; everything given must hold. Names compare without regard to case.

    Attributes:
        text: words (each may be the beginning of a longer one) and "phrases in quotation marks",
            among remarks, labels, what was heard, assets and serials.
        quantity: kind of quantity.
        unit: UCUM base unit that ``at_least`` and ``at_most`` are in.
        replaced: also what was corrected or withdrawn since.
    """

    text: str = ""
    asset: str | None = None
    serial: str | None = None
    label: str | None = None
    kind: str | None = None
    verdict: str | None = None
    quantity: str | None = None
    unit: str | None = None
    at_least: float | None = None
    at_most: float | None = None
    since: datetime | None = None
    until: datetime | None = None
    replaced: bool = False
    limit: int = 100


def match_expression(text: str) -> str:
    """``text`` as an FTS5 expression: every word by its beginning, quoted phrases as they are.

    Whatever is typed is a search, never a syntax error: https://sqlite.org/fts5.html section 3.
    """
    terms = []
    for phrase, word in re.findall(r'"([^"]*)"?|([^\s"]+)', text.replace("\0", " ")):
        said = phrase or word
        if any(letter.isalnum() for letter in said):
            terms.append(f'"{said}"' + ("" if phrase else "*"))
    return " ".join(terms)


def find(db: Database, query: Query) -> list[int]:
    """Ids of the records that fit, the latest first."""
    words = match_expression(query.text)
    if words or query.label:
        catch_up(db)
    if query.text.strip() and not words:
        return []
    where, values = _conditions(query)
    about_job = query.asset is not None or query.serial is not None
    about_result = any("s." in condition for condition in where)
    job_conditions = [condition for condition in where if condition.startswith("j.")]

    if words or (query.label and not about_job):
        label = f'"{query.label}"' if query.label and '"' not in query.label else ""
        source = "words CROSS JOIN records r ON r.id = words.rowid"
        where.append("words MATCH :words")
        values["words"] = " ".join(filter(None, (words, label)))
        if job_conditions:
            # The plus sign keeps SQLite from asking the words once for every record of the job.
            where.append(
                "+words.rowid IN (SELECT id FROM records WHERE job IN"
                f" (SELECT j.id FROM jobs j WHERE {' AND '.join(job_conditions)}))"
            )
        order = "words.rowid DESC"
    elif about_job:
        source = "jobs j CROSS JOIN records r ON r.job = j.id"
        order = "r.at DESC, r.id DESC"
    elif about_result:
        source = f"results s {_best_index(db, query, values)} CROSS JOIN records r ON r.id = s.id"
        order = "s.at DESC, s.id DESC"
    else:
        source, order = "records r", "r.at DESC, r.id DESC"
    if about_result and "results" not in source:
        source += " CROSS JOIN results s ON s.id = r.id"
    if job_conditions and "jobs" not in source:
        source += " CROSS JOIN jobs j ON j.id = r.job"
    sql = (
        f"SELECT r.id FROM {source} WHERE {' AND '.join(where) or 'TRUE'}"
        f" ORDER BY {order} LIMIT :limit"
    )
    return [row[0] for row in db.rows(sql, values)]


def _conditions(query: Query) -> tuple[list[str], dict[str, Any]]:
    since = None if query.since is None else microseconds(query.since)
    until = None if query.until is None else microseconds(query.until)
    values: dict[str, Any] = {"limit": query.limit}
    where: list[str] = []
    result_only = any(
        value is not None
        for value in (query.label, query.verdict, query.quantity, query.unit, query.at_least)
    ) or (query.at_most is not None)
    at = "s.at" if result_only else "r.at"
    for condition, value in (
        ("j.asset = :asset COLLATE NOCASE", query.asset),
        ("j.serial = :serial COLLATE NOCASE", query.serial),
        ("r.kind = :kind", query.kind),
        ("s.label = :label COLLATE NOCASE", query.label),
        ("s.verdict = :verdict", query.verdict),
        ("s.quantity = :quantity", query.quantity),
        ("s.base_unit = :unit", query.unit),
        ("s.base_value >= :at_least", query.at_least),
        ("s.base_value <= :at_most", query.at_most),
        (f"{at} >= :since", since),
        (f"{at} <= :until", until),
    ):
        if value is not None:
            where.append(condition)
            values[condition.split(":")[1].split()[0]] = value
    if query.verdict in _RARE:  # said again as SQLite's partial index says it, or it is not used
        where.append("s.verdict IN ('fail', 'indeterminate')")
    if not query.replaced:
        where.append("s.counts" if result_only else "NOT r.replaced")
    return where, values


def _best_index(db: Database, query: Query, values: dict[str, Any]) -> str:
    """Which index to walk: SQLite cannot know how many readings lie in a range, so look."""
    if query.verdict in _RARE:
        return "INDEXED BY results_verdict"
    if query.quantity is not None:
        conditions = ["quantity = :quantity"]
        if query.at_least is not None:
            conditions.append("base_value >= :at_least")
        if query.at_most is not None:
            conditions.append("base_value <= :at_most")
        counted = db.row(
            "SELECT count(*) FROM (SELECT 1 FROM results INDEXED BY results_quantity"
            f" WHERE {' AND '.join(conditions)} LIMIT {_FEW + 1})",
            {key: values[key] for key in ("quantity", "at_least", "at_most") if key in values},
        )
        if counted is not None and counted[0] <= _FEW:
            return "INDEXED BY results_quantity"
    return "INDEXED BY results_at"


def hits(db: Database, reader: Reader, query: Query) -> list[Hit]:
    """The records that fit, with their jobs, the latest first."""
    found = []
    for record_id in find(db, query):
        row = db.row(
            "SELECT r.content, r.hash, r.openings, j.asset, j.serial, j.id FROM records r"
            " JOIN jobs j ON j.id = r.job WHERE r.id = ?",
            (record_id,),
        )
        if row is not None:
            found.append(Hit(shown_ref(db, row[5]), row[3], row[4], reader(*row[:3])))
    return found


def reindex(db: Database, reader: Reader, indexer: Indexer) -> int:
    """Give every reading its value in a base unit anew; how many have one now."""
    done = 0
    with db.writing():
        for (record_id,) in db.rows("SELECT id FROM results"):
            row = db.row("SELECT content, hash, openings FROM records WHERE id = ?", (record_id,))
            index = indexer(reader(*row).body) if row else None
            if index is not None:
                db.run(
                    "UPDATE results SET quantity = ?, base_value = ?, base_unit = ? WHERE id = ?",
                    (index.quantity, index.base_value, index.base_unit, record_id),
                )
                done += 1
    return done
