"""Whatever is changed behind the log's back is named."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.errors import StoreError
from fieldnote.joblog import JobLog
from fieldnote.joblog.canonical import canonical, plain


@pytest.fixture
def job(log: JobLog, at, facts, make_reading) -> str:
    ref = log.start_job(facts, at=at(), ref="demo").ref
    clip = log.keep(b"a clip", ".wav")
    log.append(ref, "reading", make_reading("10.60"), at=at(1), evidence=[clip])
    log.append(ref, "remark", {"entry": {"text": "seal worn"}}, at=at(2))
    log.append(ref, "correction", make_reading("16.60", why="slip"), at=at(3), refers_to=2)
    log.close_job(ref, at=at(4))
    return ref


def meddle(home: Path, sql: str, *values: object) -> None:
    with closing(sqlite3.connect(home / "log.db")) as other, other:
        other.execute(sql, values)


def edit(home: Path, number: int, old: bytes, new: bytes, *, rehash: bool = False) -> None:
    with closing(sqlite3.connect(home / "log.db")) as other, other:
        (content,) = other.execute(
            "SELECT content FROM records WHERE number = ?", (number,)
        ).fetchone()
        assert old in content
        content = content.replace(old, new)
        other.execute("UPDATE records SET content = ? WHERE number = ?", (content, number))
        if rehash:
            other.execute(
                "UPDATE records SET hash = ? WHERE number = ?",
                (hashlib.sha256(content).hexdigest(), number),
            )


def test_an_untouched_job_has_no_faults(log: JobLog, job: str) -> None:
    assert log.verify(job) == []


def test_a_changed_value_is_named_and_never_shown(log: JobLog, job: str, home: Path) -> None:
    edit(home, 2, b'"value":"10.60"', b'"value":"10.06"')
    fault = log.verify(job)[0]
    assert (fault.number, fault.what) == (2, "altered")
    assert "Record 2 (reading," in str(fault)
    for ask in (log.records, log.standing):
        with pytest.raises(StoreError, match="was altered"):
            ask(job)


def test_a_changed_value_with_its_hash_made_to_fit_breaks_the_chain(log, job, home) -> None:
    edit(home, 2, b'"value":"10.60"', b'"value":"10.06"', rehash=True)
    faults = log.verify(job)
    assert [fault.number for fault in faults] == [2, 2, 3, 4]
    said = "\n".join(str(fault) for fault in faults)
    assert "hangs loose" in said
    assert "its value is 10.06, but was 10.60 when it was written" in said
    assert "follows a record" in said
    assert "points at a record" in said


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE jobs SET closed = 0", "The job's closed mark is 0, but its records say 1"),
        (
            "UPDATE jobs SET serial = 'SN-1'",
            "The job's serial is SN-1, but its records say SN-0042",
        ),
        ("UPDATE jobs SET facts = 2", "The job's facts is 2, but its records say 1"),
        ("UPDATE records SET replaced = 1 WHERE number = 3", "mark of having been replaced"),
        ("UPDATE results SET verdict = 'fail' WHERE id = 2", "its verdict is pass, but was fail"),
        ("UPDATE results SET counts = 1 WHERE id = 2", "wrong about whether it counts"),
    ],
)
def test_a_change_to_what_was_made_of_the_records_is_told(log, job, home, change, said) -> None:
    meddle(home, change)
    assert said in "\n".join(str(fault) for fault in log.verify(job))


def test_a_job_whose_row_is_gone_is_missed_by_the_check(log: JobLog, job: str, home: Path) -> None:
    assert log.check() == []
    meddle(home, "DELETE FROM jobs")
    assert "the row of job 1 is gone" in " ".join(log.check()).lower()


@pytest.mark.parametrize("column", ["ref = 'other'", "facts = 7"])
def test_facts_of_another_job_are_never_shown(log, job, home, at, column: str) -> None:
    log.start_job({"asset": "another"}, at=at(), ref="two")
    meddle(home, f"UPDATE jobs SET {column} WHERE ref = 'demo'")
    with pytest.raises(StoreError, match="damaged"):
        log.jobs()


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
def test_a_removed_record_is_missed(log: JobLog, job: str, home: Path, number: int) -> None:
    meddle(home, "DELETE FROM records WHERE number = ?", number)
    assert any(fault.what == "missing" for fault in log.verify(job))


def test_an_inserted_record_is_noticed(log: JobLog, job: str, home: Path) -> None:
    meddle(
        home,
        "INSERT INTO records (job, number, hash, kind, at, replaced, content)"
        " SELECT job, number, ?, kind, at, 0, content FROM records WHERE number = 3",
        "0" * 64,
    )
    assert "does not fit its hash" in str(log.verify(job)[0])


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        ("number", 7, "its number is 7 where the record says 3"),
        ("kind", "reading", "its kind is reading where the record says remark"),
        ("at", 5, "its time is 5"),
        ("refers_to", "ab" * 32, "its reference to another record is abab"),
    ],
)
def test_a_changed_column_is_told_from_what_the_record_says(
    log: JobLog, job: str, home: Path, column: str, value: object, said: str
) -> None:
    meddle(home, f"UPDATE records SET {column} = ? WHERE number = 3", value)
    assert said in "\n".join(str(fault) for fault in log.verify(job))


def test_a_private_fact_made_up_afterwards_is_named(log: JobLog, job: str, home: Path) -> None:
    openings = json.dumps({"customer": ["00", "Somebody Else"]})
    meddle(home, "UPDATE records SET openings = ? WHERE number = 1", openings)
    assert [(f.number, f.what) for f in log.verify(job)] == [(1, "private")]
    meddle(home, "UPDATE records SET openings = '{broken' WHERE number = 1")
    assert [(f.number, f.what) for f in log.verify(job)] == [(1, "private")]


def test_private_facts_are_not_in_the_hashed_content(log: JobLog, job: str, home: Path) -> None:
    with closing(sqlite3.connect(home / "log.db")) as other:
        contents = b"".join(row[0] for row in other.execute("SELECT content FROM records"))
    assert b"SN-0042" in contents
    assert b"Example" not in contents


def test_altered_and_missing_evidence_is_named(log: JobLog, job: str) -> None:
    path = log.records(job)[1].evidence[0].path
    path.write_bytes(b"a clop")
    (fault,) = log.verify(job)
    assert (fault.number, fault.what) == (2, "evidence")
    assert "was altered" in str(fault)
    path.unlink()
    (fault,) = log.verify(job)
    assert "is missing" in str(fault)
    assert log.verify(job, evidence=False) == []


def test_the_chain_can_be_checked_without_fieldnote(log: JobLog, job: str, home: Path) -> None:
    """docs/data-model.md in eight lines: a reader of our own would need no more."""
    with closing(sqlite3.connect(home / "log.db")) as other:
        rows = other.execute("SELECT hash, content FROM records ORDER BY number").fetchall()
    before = []
    for stored, content in rows:
        assert hashlib.sha256(content).hexdigest() == stored
        assert json.loads(content)["previous"] == before
        before = [stored]


# The two worked examples of RFC 8785, sections 3.2.2 and 3.2.3, without its floating-point
# numbers, which a record may not hold.
RFC_8785 = [
    (
        {
            "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/",
            "literals": [None, True, False],
        },
        '{"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}',
    ),
    (
        {
            "\u20ac": "Euro Sign",
            "\r": "Carriage Return",
            "\ufb33": "Hebrew Letter Dalet With Dagesh",
            "1": "One",
            "\U0001f600": "Emoji: Grinning Face",
            "\u0080": "Control",
            "\u00f6": "Latin Small Letter O With Diaeresis",
        },
        '{"\\r":"Carriage Return","1":"One","\u0080":"Control","ö":"Latin Small Letter O With'
        ' Diaeresis","€":"Euro Sign","\U0001f600":"Emoji: Grinning Face","\ufb33":"Hebrew Letter'
        ' Dalet With Dagesh"}',
    ),
]


@pytest.mark.parametrize(("value", "text"), RFC_8785)
def test_canonical_json_is_that_of_rfc_8785(value: object, text: str) -> None:
    assert canonical(plain(value)) == text.encode()


texts = st.text(st.characters(exclude_categories=["Cs"]))
values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(texts, values, max_size=5))
def test_any_json_body_comes_back_as_it_went_in(body: dict[str, object]) -> None:
    assert json.loads(canonical(plain(body))) == body


@given(values)
def test_the_quick_way_to_canonical_json_gives_the_bytes_of_the_library(value: object) -> None:
    assert canonical(plain(value)) == rfc8785.dumps(value)
