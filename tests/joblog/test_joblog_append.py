"""Jobs, records, corrections and withdrawals, as the other parts use them."""

from __future__ import annotations

import stat
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog


def test_a_job_is_named_by_date_and_counter(log: JobLog, at, facts) -> None:
    assert log.start_job(facts, at=at()).ref == "2031-03-04-1"
    assert log.start_job(facts, at=at(5)).ref == "2031-03-04-2"
    assert log.start_job({}, at=at(86400)).ref == "2031-03-05-1"
    assert [job.ref for job in log.jobs()] == ["2031-03-05-1", "2031-03-04-2", "2031-03-04-1"]


def test_the_counter_goes_past_nine_and_ignores_given_names(log: JobLog, at) -> None:
    log.start_job({}, at=at(), ref="2031-03-04-9")
    log.start_job({}, at=at(), ref="2031-03-04-pump")
    assert log.start_job({}, at=at()).ref == "2031-03-04-10"
    assert log.start_job({}, at=at()).ref == "2031-03-04-11"


def test_starting_the_same_reference_twice_says_that_the_job_exists(log: JobLog, at, facts) -> None:
    log.start_job(facts, at=at(), ref="demo")
    with pytest.raises(BadInputError, match="The job demo exists already"):
        log.start_job(facts, at=at(), ref="demo")
    assert len(log.jobs()) == 1
    assert len(log.records("demo")) == 1


@pytest.mark.parametrize("ref", ["", "../up", "a/b", "-x", "a b", "x" * 65, "a~b", "a\n"])
def test_a_reference_that_could_not_name_a_file_is_refused(log: JobLog, at, ref: str) -> None:
    with pytest.raises(BadInputError, match="reference"):
        log.start_job({}, at=at(), ref=ref)
    assert log.jobs() == []


def test_facts_come_back_as_given(log: JobLog, at, facts) -> None:
    job = log.start_job(facts, at=at(), ref="demo")
    assert dict(job.facts) == facts
    assert log.job("demo") == job
    assert (job.at, job.closed, job.records, job.conflicts) == (at(), False, 1, ())


def test_records_come_back_in_order_with_their_digits(log: JobLog, at, make_reading) -> None:
    job = log.start_job({}, at=at(), ref="demo")
    clip = log.keep(b"not really sound", ".wav")
    written = log.append("demo", "reading", make_reading("10.60"), at=at(1), evidence=[clip])
    log.append("demo", "remark", {"entry": {"text": "schwergängig, 45 °C"}}, at=at(2))
    start, first, second = log.records("demo")
    assert start.hash == job.root
    assert first == written
    assert first.body["entry"]["value"] == "10.60"
    assert first.evidence == (clip,)
    assert first.evidence[0].path.read_bytes() == b"not really sound"
    assert [record.number for record in (start, first, second)] == [1, 2, 3]
    assert second.previous == (first.hash,)
    assert second.body["entry"]["text"] == "schwergängig, 45 °C"


def test_times_keep_their_offset_and_need_one(log: JobLog, at) -> None:
    local = datetime(2031, 3, 4, 12, 0, 0, 250, tzinfo=timezone(timedelta(hours=5, minutes=30)))
    log.start_job({}, at=local, ref="demo")
    stored = log.job("demo").at
    assert stored == local
    assert stored.utcoffset() == timedelta(hours=5, minutes=30)
    with pytest.raises(BadInputError, match="no zone"):
        log.append("demo", "remark", {}, at=datetime(2031, 3, 4))


def test_order_is_that_of_writing_even_when_the_clock_is_set_back(log: JobLog, at) -> None:
    log.start_job({}, at=at(100), ref="demo")
    for seconds in (50, 0, 200):
        log.append("demo", "remark", {"seconds": str(seconds)}, at=at(seconds))
    assert [r.body["seconds"] for r in log.records("demo")[1:]] == ["50", "0", "200"]
    assert log.verify("demo") == []


@pytest.mark.parametrize(
    ("body", "place"),
    [
        ({"entry": {"value": 10.6}}, "body.entry.value"),
        ({"source": {"box": [[1, 2], [3, 4.5]]}}, r"body.source.box\[1\]\[1\]"),
        ({"entry": {"n": 2**53}}, "body.entry.n"),
        ({"entry": {"text": "\ud800"}}, "body.entry.text"),
        ({"entry": {1: "x"}}, "body.entry"),
        ({"entry": b"x"}, "body.entry"),
    ],
)
def test_what_cannot_be_stored_exactly_is_refused_by_name(log: JobLog, at, body, place) -> None:
    log.start_job({}, at=at(), ref="demo")
    with pytest.raises(BadInputError, match=place):
        log.append("demo", "reading", body, at=at())
    assert len(log.records("demo")) == 1


def test_a_record_too_long_is_refused(log: JobLog, at) -> None:
    log.start_job({}, at=at(), ref="demo")
    with pytest.raises(BadInputError, match="holds 1048576 at most"):
        log.append("demo", "remark", {"entry": {"text": "x" * (1 << 20)}}, at=at())


def test_unknown_jobs_kinds_and_evidence_are_refused(log: JobLog, at, home: Path) -> None:
    log.start_job({}, at=at(), ref="demo")
    with pytest.raises(BadInputError, match="no job 'other'"):
        log.append("other", "remark", {}, at=at())
    for kind in ("start", "note", ""):
        with pytest.raises(BadInputError, match="no kind of record"):
            log.append("demo", kind, {}, at=at())
    elsewhere = JobLog.open(home.with_name("elsewhere")).keep(b"x", ".wav")
    with pytest.raises(BadInputError, match="is not in this log"):
        log.append("demo", "photo", {}, at=at(), evidence=[elsewhere])
    assert len(log.records("demo")) == 1


def test_a_correction_takes_the_place_of_the_old_reading(log: JobLog, at, make_reading) -> None:
    log.start_job({}, at=at(), ref="demo")
    old = log.append("demo", "reading", make_reading("10.60"), at=at(1))
    new = log.append(
        "demo", "correction", make_reading("16.60", why="misheard"), at=at(2), refers_to=old
    )
    start, item = log.standing("demo")
    assert start.state == "stands"
    assert (item.state, item.record, item.original, item.replaced) == (
        "corrected",
        new,
        old,
        (old,),
    )
    assert item.counts
    assert new.refers_to == old.hash
    assert log.records("demo")[1] == old


@pytest.mark.parametrize("name", [lambda r: r, lambda r: r.number, lambda r: r.hash[:6]])
def test_a_record_is_pointed_at_by_itself_number_or_hash(log: JobLog, at, name) -> None:
    log.start_job({}, at=at(), ref="demo")
    old = log.append("demo", "remark", {}, at=at())
    gone = log.append("demo", "withdrawal", {"why": "slip"}, at=at(), refers_to=name(old))
    item = log.standing("demo")[1]
    assert (item.state, item.record, item.withdrawal) == ("withdrawn", old, gone)
    assert not item.counts


def test_withdrawing_a_correction_leaves_nothing_standing(log: JobLog, at, make_reading) -> None:
    log.start_job({}, at=at(), ref="demo")
    log.append("demo", "reading", make_reading("1"), at=at())
    log.append("demo", "correction", make_reading("2", why="slip"), at=at(), refers_to=2)
    log.append("demo", "withdrawal", {"why": "wrong pin"}, at=at(), refers_to=3)
    item = log.standing("demo")[1]
    assert item.state == "withdrawn"
    assert [record.number for record in (*item.replaced, item.record)] == [2, 3]


def test_corrections_of_corrections_chain(log: JobLog, at, make_reading) -> None:
    log.start_job({}, at=at(), ref="demo")
    log.append("demo", "reading", make_reading("1"), at=at())
    for target in (2, 3, 4):
        log.append(
            "demo", "correction", make_reading(str(target), why="x"), at=at(), refers_to=target
        )
    item = log.standing("demo")[1]
    assert item.record.body["entry"]["value"] == "4"
    assert [record.number for record in item.replaced] == [2, 3, 4]


def test_nonsense_corrections_and_withdrawals_are_refused(log: JobLog, at, make_reading) -> None:
    log.start_job({}, at=at(), ref="demo")
    log.append("demo", "reading", make_reading("1"), at=at())
    log.append("demo", "reading", make_reading("2"), at=at())
    log.append("demo", "withdrawal", {"why": "slip"}, at=at(), refers_to=2)
    log.append("demo", "correction", make_reading("3", why="slip"), at=at(), refers_to=3)
    before = log.records("demo")
    cases = [
        ("correction", 99, {"why": "x"}, "has no record 99"),
        ("correction", "zzzz", {"why": "x"}, "has no record zzzz"),
        ("correction", 2, {"why": "x"}, "2 of demo was withdrawn by record 4"),
        ("withdrawal", 2, {"why": "x"}, "2 of demo was withdrawn by record 4"),
        ("correction", 3, {"why": "x"}, "already corrected by record 5"),
        ("withdrawal", 4, {"why": "x"}, "is a withdrawal, which cannot be withdrawn"),
        ("withdrawal", 1, {"why": "x"}, "is a start, which cannot be withdrawn"),
        ("correction", 5, {}, "must say why"),
        ("withdrawal", None, {"why": "x"}, "must say which record"),
        ("rereading", None, {}, "must say which record"),
        ("rereading", 1, {}, "nothing to read again"),
    ]
    for kind, target, body, message in cases:
        with pytest.raises(BadInputError, match=message):
            log.append("demo", kind, body, at=at(), refers_to=target)
    assert log.records("demo") == before


def test_records_of_another_job_cannot_be_corrected(log: JobLog, at) -> None:
    log.start_job({}, at=at(), ref="one")
    log.start_job({}, at=at(), ref="two")
    other = log.append("one", "remark", {}, at=at())
    with pytest.raises(BadInputError, match="The job two has no record"):
        log.append("two", "correction", {"why": "x"}, at=at(), refers_to=other)


def test_a_rereading_stands_beside_and_never_counts_by_itself(
    log: JobLog, at, make_reading
) -> None:
    log.start_job({}, at=at(), ref="demo")
    old = log.append("demo", "reading", make_reading("10.60"), at=at())
    again = log.append("demo", "rereading", make_reading("16.60"), at=at(), refers_to=old)
    item = log.standing("demo")[1]
    assert (item.state, item.record, item.rereadings) == ("stands", old, (again,))


def test_a_question_is_open_until_a_record_that_counts_answers_it(
    log: JobLog, at, make_reading
) -> None:
    log.start_job({}, at=at(), ref="demo")
    question = log.append("demo", "question", make_reading("13"), at=at())
    assert (log.standing("demo")[1].state, log.standing("demo")[1].counts) == ("stands", False)
    answer = log.append("demo", "reading", make_reading("30"), at=at(), refers_to=question.number)
    item = log.standing("demo")[1]
    assert (item.state, item.answers, item.counts) == ("answered", (answer,), False)
    log.append("demo", "withdrawal", {"why": "slip"}, at=at(), refers_to=answer)
    assert log.standing("demo")[1].state == "stands"
    log.append("demo", "withdrawal", {"why": "noise"}, at=at(), refers_to=question)
    assert log.standing("demo")[1].state == "withdrawn"


def test_correcting_the_start_corrects_the_facts(log: JobLog, at, facts) -> None:
    log.start_job(facts, at=at(), ref="demo")
    right = {**facts, "serial": "SN-0043", "customer": "Example Dredging"}
    log.append("demo", "correction", {**right, "why": "read off the plate"}, at=at(), refers_to=1)
    assert dict(log.job("demo").facts) == right
    assert log.records("demo")[0].body["serial"] == "SN-0042"


def test_a_closed_job_takes_nothing_until_it_is_reopened(log: JobLog, at) -> None:
    log.start_job({}, at=at(), ref="demo")
    with pytest.raises(BadInputError, match="is open"):
        log.reopen_job("demo", at=at())
    seal = log.close_job("demo", {"signed": "A. Example"}, at=at())
    assert log.job("demo").closed
    for kind in ("remark", "close", "correction", "withdrawal"):
        with pytest.raises(BadInputError, match="The job demo is closed"):
            log.append("demo", kind, {"why": "x"}, at=at(), refers_to=1)
    log.reopen_job("demo", {"why": "second visit"}, at=at())
    assert not log.job("demo").closed
    log.append("demo", "remark", {}, at=at())
    assert log.records("demo")[1] == seal
    log.close_job("demo", at=at())
    assert log.job("demo").closed
    assert log.verify("demo") == []


def test_text_is_found_whatever_its_case(log: JobLog, at) -> None:
    log.start_job({"asset": "Cold store 3"}, at=at(), ref="demo")
    log.append("demo", "remark", {"entry": {"text": "Door seal torn"}}, at=at(1))
    log.append("demo", "remark", {"entry": {"text": "seal replaced"}}, at=at(2))
    assert [hit.record.number for hit in log.search("seal")] == [3, 2]
    assert [hit.record.number for hit in log.search("door")] == [2]
    assert log.search("compressor") == []


def test_what_is_stored_survives_closing_and_opening(home: Path, at, facts, make_reading) -> None:
    with JobLog.open(home) as log:
        log.start_job(facts, at=at(), ref="demo")
        log.append("demo", "reading", make_reading(), at=at(1))
        before, machine = log.records("demo"), log.machine
    with JobLog.open(home) as log:
        assert log.records("demo") == before
        assert log.machine == machine
        assert log.verify("demo") == []


def test_everything_in_the_home_is_private(home: Path, log: JobLog, at) -> None:
    log.start_job({}, at=at(), ref="demo")
    log.keep(b"x", ".jpg")
    everything = [home, *home.rglob("*")]
    assert len(everything) >= 7
    for path in everything:
        mode = stat.S_IMODE(path.stat().st_mode)
        assert mode == (0o700 if path.is_dir() else 0o600), path


def test_the_home_comes_from_the_environment(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setenv("FIELDNOTE_HOME", str(tmp_path / "named"))
    JobLog.open().close()
    assert (tmp_path / "named" / "log.db").is_file()
    monkeypatch.delenv("FIELDNOTE_HOME")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    JobLog.open().close()
    assert (tmp_path / "data" / "fieldnote" / "log.db").is_file()
