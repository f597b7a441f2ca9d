"""Searching, and the history of one measuring point."""

from __future__ import annotations

import random
import sqlite3
import stat
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.errors import BadInputError
from fieldnote.joblog import Index, JobLog
from fieldnote.joblog.history import history_of
from fieldnote.joblog.search import match_expression

LAYOUT_1 = Path(__file__).parent / "data" / "layout-1.sql"


@pytest.fixture
def filled(log: JobLog, at, make_reading) -> JobLog:
    """Two pumps and a cold store, with readings on three days; invented."""
    for day, (ref, asset, serial) in enumerate(
        [
            ("pump-a", "bilge pump 2", "SN-0042"),
            ("store", "Cold store 3", "SN-0077"),
            ("pump-b", "bilge pump 2", "SN-0042"),
        ]
    ):
        when = at(86_400 * day)
        log.start_job({"asset": asset, "serial": serial, "complaint": "trips"}, at=when, ref=ref)
        for second, (digits, unit, ohms, result) in enumerate(
            [("10.60", "Ohm", 10.6, "pass"), ("2.4", "kOhm", 2400.0, "fail")]
        ):
            body = make_reading(digits, unit, verdict={"result": result})
            body["entry"]["label"] = f"coil {'AB'[second]}"
            log.append(
                ref,
                "reading",
                body,
                at=when + timedelta(seconds=second),
                index=Index("resistance", ohms + day, "Ohm"),
            )
    remark = {"entry": {"kind": "remark", "text": "Dichtung undicht, flange weeping"}}
    log.append("store", "remark", remark, at=at(86_500))
    return log


def found(log: JobLog, *args, **filters) -> list[tuple[str, int]]:
    return [(hit.ref, hit.record.number) for hit in log.search(*args, **filters)]


def test_words_are_found_by_their_beginning_whatever_case_or_accent(filled: JobLog) -> None:
    assert found(filled, "WEEP") == [("store", 4)]
    assert found(filled, "weeping dicht") == [("store", 4)]
    assert found(filled, '"flange weeping"') == [("store", 4)]
    assert found(filled, '"weeping flange"') == []
    assert found(filled, "eeping") == []


def test_assets_serials_labels_and_values_are_words_too(filled: JobLog) -> None:
    assert found(filled, "cold store") == [("store", 1)]
    assert found(filled, "SN-0042") == [("pump-b", 1), ("pump-a", 1)]
    assert found(filled, "coil A") == [("pump-b", 2), ("store", 2), ("pump-a", 2)]
    assert found(filled, "10.60") == [("pump-b", 2), ("store", 2), ("pump-a", 2)]


def test_how_a_record_came_about_is_not_searched(filled: JobLog) -> None:
    assert found(filled, "voice") == []
    assert found(filled, "typed") == []


def test_all_resistances_over_12_ohms_on_this_serial(filled: JobLog) -> None:
    over = {"quantity": "resistance", "unit": "Ohm", "at_least": 12.0}
    assert found(filled, serial="sn-0042", **over) == [("pump-b", 3), ("pump-b", 2), ("pump-a", 3)]
    assert found(filled, **over) == [("pump-b", 3), ("pump-b", 2), ("store", 3), ("pump-a", 3)]
    assert found(filled, at_most=11.0, quantity="resistance") == [("pump-a", 2)]
    assert found(filled, at_least=1.0, quantity="voltage") == []


def test_filters_by_asset_date_verdict_label_and_kind(filled: JobLog, at) -> None:
    assert found(filled, asset="BILGE PUMP 2", verdict="fail") == [("pump-b", 3), ("pump-a", 3)]
    assert found(filled, verdict="fail", since=at(86_400)) == [("pump-b", 3), ("store", 3)]
    assert found(filled, verdict="pass", until=at(100)) == [("pump-a", 2)]
    assert found(filled, label="COIL a", serial="SN-0077") == [("store", 2)]
    assert found(filled, label="coil A") == [("pump-b", 2), ("store", 2), ("pump-a", 2)]
    assert found(filled, kind="remark") == [("store", 4)]
    assert found(filled, "coil", serial="SN-0077", verdict="fail") == [("store", 3)]
    assert found(filled, limit=1) == [("pump-b", 3)]


def test_what_was_replaced_is_found_only_when_asked(filled: JobLog, at, make_reading) -> None:
    index = Index("resistance", 16.6, "Ohm")
    body = make_reading("16.60", why="misheard")
    filled.append("pump-a", "correction", body, at=at(9), refers_to=2, index=index)
    filled.append("pump-a", "withdrawal", {"why": "wrong pin"}, at=at(9), refers_to=3)
    resistances = {"serial": "SN-0042", "quantity": "resistance", "until": at(100)}
    assert found(filled, **resistances) == [("pump-a", 4)]
    assert found(filled, **resistances, replaced=True) == [
        ("pump-a", 4),
        ("pump-a", 3),
        ("pump-a", 2),
    ]
    assert found(filled, "10.60", until=at(100)) == []
    assert found(filled, "misheard") == [("pump-a", 4)]


def test_questions_and_rereadings_are_no_results(log: JobLog, at, make_reading) -> None:
    log.start_job({"serial": "S"}, at=at(), ref="demo")
    log.append("demo", "question", make_reading("13"), at=at())
    log.append("demo", "reading", make_reading("30"), at=at(), refers_to=2)
    log.append("demo", "rereading", make_reading("13"), at=at(), refers_to=3)
    assert found(log, serial="S", unit="Ohm") == [("demo", 3)]


def test_an_indexer_that_knows_units_serves_all_appends_and_old_records(home, at, make_reading):
    def indexer(body) -> Index | None:
        entry = body.get("entry", {})
        factor = {"Ohm": 1.0, "kOhm": 1000.0}.get(entry.get("unit"))
        return (
            None if factor is None else Index("resistance", float(entry["value"]) * factor, "Ohm")
        )

    over = {"quantity": "resistance", "at_least": 1000.0}
    with JobLog.open(home) as log:
        log.start_job({}, at=at(), ref="demo")
        log.append("demo", "reading", make_reading("2.4", "kOhm"), at=at())
        assert found(log, **over) == []
        assert found(log, unit="kOhm", at_least=2.0) == [("demo", 2)]
    with JobLog.open(home, indexer=indexer) as log:
        log.append("demo", "reading", make_reading("3.4", "kOhm"), at=at())
        assert found(log, **over) == [("demo", 3)]
        assert log.reindex(indexer) == 2
        assert found(log, **over) == [("demo", 3), ("demo", 2)]


def test_a_value_to_search_by_must_be_finite(log: JobLog, at, make_reading) -> None:
    log.start_job({}, at=at(), ref="demo")
    body, index = make_reading("1"), Index("resistance", float("inf"), "Ohm")
    with pytest.raises(BadInputError, match="not finite"):
        log.append("demo", "reading", body, at=at(), index=index)
    assert len(log.records("demo")) == 1


def test_words_are_found_however_many_came_before(log: JobLog, at) -> None:
    """Words are indexed in batches of 256 records; nothing may fall between two batches."""
    log.start_job({}, at=at(), ref="demo")
    with log._db.writing():  # only to be quick
        for number in range(600):
            body = {"entry": {"text": f"word{number}"} if number % 3 else {}}
            log.append("demo", "remark", body, at=at())
    for number in range(600):
        wanted = [("demo", number + 2)] if number % 3 else []
        assert found(log, f'"word{number}"') == wanted
    log.append("demo", "remark", {"entry": {"text": "last"}}, at=at())
    assert found(log, "last") == [("demo", 602)]
    assert log.check() == []


@given(st.text(max_size=40))
def test_whatever_is_typed_is_a_search_and_no_syntax_error(text: str) -> None:
    with closing(sqlite3.connect(":memory:")) as db:
        db.execute("CREATE VIRTUAL TABLE words USING fts5(text)")
        expression = match_expression(text)
        if expression:
            db.execute("SELECT * FROM words WHERE words MATCH ?", (expression,)).fetchall()


@pytest.mark.parametrize("text", ["!!!", '"', "* - ()", "NEAR(", "a AND", "text:x", "\0"])
def test_odd_searches_answer_quietly(filled: JobLog, text: str) -> None:
    assert found(filled, text) == []


def test_the_history_of_a_point_spans_jobs(filled: JobLog) -> None:
    history = filled.history("coil A", serial="SN-0042")["Ohm"]
    assert [(p.ref, p.value, p.unit, p.base_value) for p in history.points] == [
        ("pump-a", "10.60", "Ohm", 10.6),
        ("pump-b", "10.60", "Ohm", 12.6),
    ]
    assert history.per_day == pytest.approx(1.0)
    assert history.drift == pytest.approx(2.0)
    assert history.trend == "too few"
    assert filled.history("coil Z", serial="SN-0042") == {}
    with pytest.raises(BadInputError, match="asset or its serial"):
        filled.history("coil A")


@pytest.mark.parametrize("slope", [0.0, 0.02, -0.05])
@pytest.mark.parametrize("seed", range(4))
def test_slope_and_trend_agree_with_scipy(at, slope: float, seed: int) -> None:
    """Outside check: scipy.stats.theilslopes, and kendalltau's p (its exact or normal method)."""
    from fieldnote.joblog import Point

    luck = random.Random(seed)
    days = sorted(luck.sample(range(1000), 40))
    values = [round(10 + slope * day + luck.gauss(0, 3), 2) for day in days]
    points = [
        Point(at(86_400 * day), "j", 2, str(value), "Ohm", None, value, "Ohm")
        for day, value in zip(days, values, strict=True)
    ]
    history = history_of(points)
    assert history.per_day == pytest.approx(scipy.stats.theilslopes(values, days).slope)
    p = scipy.stats.kendalltau(days, values).pvalue
    if abs(p - 0.05) > 0.01:  # the two methods differ a little at the very edge
        rising = "rising" if history.per_day > 0 else "falling"
        assert history.trend == (rising if p < 0.05 else "steady")


def test_a_log_of_the_first_layout_is_brought_forward_with_a_backup(home: Path) -> None:
    (home / "evidence" / "39").mkdir(parents=True)
    sha = "3962d94df62d31827691d5162200baf1d62d688a03d0ae30e23009d620b7866a"
    (home / "evidence" / "39" / f"{sha}.wav").write_bytes(b"an old clip")
    with closing(sqlite3.connect(home / "log.db")) as old:
        old.executescript(LAYOUT_1.read_text())
        contents = old.execute("SELECT content, hash, openings FROM records").fetchall()
    with JobLog.open(home) as log:
        assert log.verify("old-1") == []
        assert log.verify("old-2") == []
        assert log.job("old-1").facts["technician"] == "A. Example"
        assert found(log, "gasket") == [("old-1", 3)]
        assert found(log, verdict="fail") == [("old-2", 2)]
        assert found(log, serial="SN-0042", unit="Ohm") == [("old-1", 4)]
        assert found(log, "Example") == [("old-1", 1)]
    with JobLog.open(home):
        pass  # a second time nothing is left to do, and the copy stays as it was
    backup = home / "backups" / "log-layout-1.db"
    assert stat.S_IMODE(backup.stat().st_mode) == 0o600
    with closing(sqlite3.connect(backup)) as kept:
        assert kept.execute("PRAGMA user_version").fetchone() == (1,)
        assert kept.execute("SELECT content, hash, openings FROM records").fetchall() == contents
    with closing(sqlite3.connect(home / "log.db")) as new:
        assert new.execute("SELECT content, hash, openings FROM records").fetchall() == contents
