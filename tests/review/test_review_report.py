"""The report of an invented job: all of it there, nothing from outside, nothing half-written."""

from __future__ import annotations

import base64
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from fieldnote.acceptance import Window
from fieldnote.errors import BadInputError, StoreError
from fieldnote.joblog import JobLog, Record
from fieldnote.review import report
from tests.review import invented_job as invented

VOID = {"meta", "img", "br", "link", "input", "hr"}


class Reader(HTMLParser):
    """Texts, addresses and nesting of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.struck: list[str] = []
        self.addresses: list[str] = []
        self.tags: list[str] = []
        self._open: list[str] = []
        self.feed(page)
        self.close()
        assert self._open == [], f"left open: {self._open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.addresses += [v or "" for name, v in attrs if name in ("src", "href", "srcset")]
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "s" in self._open:
            self.struck.append(data)


@pytest.fixture
def text(log: JobLog, made: dict[str, Record], tmp_path: Path) -> str:
    return report(log, invented.REF, tmp_path / "r.html", locale="en").read_text("utf-8")


def plain(page: str) -> str:
    without = re.sub(r"<(style|script).*?</\1>|<[^>]+>", " ", page, flags=re.S)
    return re.sub(r"[\s\xa0]+", " ", without)


def test_nothing_in_it_comes_from_outside(text: str):
    addresses = Reader(text).addresses
    assert any(a.startswith("data:audio/flac") for a in addresses)
    assert any(a.startswith("data:image/jpeg") for a in addresses)
    assert all(a.startswith(("data:", "#")) for a in addresses)
    assert "url(" not in text
    assert "@import" not in text


def test_it_tells_who_what_and_why(text: str):
    words = plain(text)
    for part in (
        "EX-0417", "3120.5 h", "A. Example", "Quay 2", "Rudder indicator jumps",
        "4 March 2031", "Digital multimeter, bench 1", "18 November 2030", "C-1180",
        invented.FACTS["procedure"]["digest"], "sender to be replaced",
        "The rudder moves without warning", "the maker's manual, local codes",
    ):  # fmt: skip
        assert part.replace("'", "&#39;") in words or part in words, part


def test_readings_keep_their_digits_and_carry_a_verdict_in_words(text: str):
    words = plain(text)
    assert "10.60 Ω" in words
    assert "14.7 Ω" in words
    assert "2.9 Ω beyond the limit" in words
    for verdict in ("pass", "fail", "indeterminate", "unchecked", "withdrawn"):
        assert f" {verdict} " in words


def test_old_values_are_struck_through_with_the_reason(text: str):
    struck = [part.replace("\xa0", " ") for part in Reader(text).struck]
    assert "18.1 Ω" in struck
    assert "0.3 Ω" in struck
    words = plain(text)
    assert "scratch that, one hundred eighty-one" in words
    assert "probe had slipped off the stud" in words


def test_remarks_are_marked_as_unchecked_text(text: str):
    words = plain(text)
    assert words.index("locking tab broken") < words.index("unchecked text")


def test_an_unclear_entry_is_an_open_point_and_no_reading(text: str):
    words = plain(text)
    assert "was not clear; ask again" in words
    assert "None of these counts as a reading" in words


def test_the_code_is_the_end_of_the_chain(log: JobLog, made: dict[str, Record], text: str):
    end = bytes.fromhex(log.records(invented.REF)[-1].hash)
    letters = base64.b32encode(end[:10]).decode()  # 80 bits, RFC 4648 base 32
    assert "-".join(letters[at : at + 4] for at in range(0, 16, 4)) in text
    assert "unbroken" in text


def test_a_missing_sound_is_named_and_not_hidden(
    log: JobLog, made: dict[str, Record], tmp_path: Path
):
    made["good"].evidence[0].path.unlink()
    page = report(log, invented.REF, tmp_path / "r.html", locale="en").read_text("utf-8")
    words = plain(page)
    assert "The sound is not in the store any more." in words
    assert "The record does not verify" in words


def test_what_a_person_says_cannot_become_markup(log: JobLog, tmp_path: Path):
    log.start_job({"asset": "<script>alert(1)</script>"}, at=invented.START, ref="x")
    said = invented.entry("remark", text="<img src=x onerror=alert(2)>")
    log.append("x", "remark", invented.body(said), at=invented.START)
    page = report(log, "x", tmp_path / "x.html", locale="en").read_text("utf-8")
    tags = Reader(page).tags
    assert "script" not in tags
    assert "img" not in tags
    assert "&lt;script&gt;" in page


def test_a_bare_job_still_has_a_report(log: JobLog, tmp_path: Path):
    log.start_job({}, at=invented.START, ref="bare")
    words = plain(report(log, "bare", tmp_path / "b.html", locale="en").read_text("utf-8"))
    assert "No readings were taken" in words
    assert "No instrument is on record" in words
    assert "The job is not closed" in words


def test_decimals_and_dates_follow_the_locale(log: JobLog, made: dict[str, Record], tmp_path: Path):
    words = plain(report(log, invented.REF, tmp_path / "r.html", locale="de").read_text("utf-8"))
    assert "10,60 Ω" in words
    assert "4. März 2031" in words


def test_a_job_that_does_not_exist_is_refused_and_nothing_is_written(log: JobLog, tmp_path: Path):
    with pytest.raises(BadInputError, match="nowhere"):
        report(log, "nowhere", tmp_path / "n.html")
    assert not (tmp_path / "n.html").exists()


def test_other_files_and_unknown_locales_are_refused_and_nothing_is_written(
    log: JobLog, made: dict[str, Record], tmp_path: Path
):
    with pytest.raises(BadInputError, match=r"r\.docx"):
        report(log, invented.REF, tmp_path / "r.docx")
    with pytest.raises(BadInputError, match="xx_YY"):
        report(log, invented.REF, tmp_path / "r.html", locale="xx_YY")
    assert not list(tmp_path.glob("r.*"))


def test_a_folder_that_is_not_there_is_said_so(
    log: JobLog, made: dict[str, Record], tmp_path: Path
):
    with pytest.raises(StoreError, match=r"missing.*could not be written"):
        report(log, invented.REF, tmp_path / "missing" / "r.html")
    assert not (tmp_path / "missing").exists()


def test_a_report_is_replaced_whole(log: JobLog, made: dict[str, Record], tmp_path: Path):
    out = tmp_path / "r.html"
    out.write_text("old")
    report(log, invented.REF, out)
    assert out.read_text("utf-8").startswith("<!doctype html>")
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["r.html"]


def test_a_travel_is_drawn_and_its_finding_told(text: str):
    words = plain(text)
    assert "Travel checks" in words
    assert "10.0 … 10.1 Ω, 11 readings" in words
    assert "data:image/svg+xml;base64," in text
    assert "53.8 Ω" in words[words.index("Travel checks") :]  # the jump from 78.1 to 131.9


def test_the_summary_stays_short_and_names_what_it_leaves_out(log: JobLog, tmp_path: Path):
    log.start_job(invented.FACTS, at=invented.START, ref="many")
    window = Window.between("1", "2", "Ohm")
    for number in range(12):
        said = invented.entry(value=f"{3 + number}.0", unit="Ohm", label=f"point {number}")
        log.append("many", "reading", invented.body(said, window=window), at=invented.START)
    page = report(log, "many", tmp_path / "m.html", locale="en").read_text("utf-8")
    summary = plain(page[: page.index("</header>")])
    assert "9 more; see the measurements." in summary
    assert "7 more; see the end of this report." in summary
    assert "point 11: 14.0 Ω" in plain(page[page.index("Further open points") :]).lower().replace(
        "ω", "Ω"
    )


def test_confirmed_cautions_and_skipped_steps_are_told_in_the_procedures_words(
    log: JobLog, tmp_path: Path
):
    steps = [{"id": "clear", "ask": "Nobody near the tiller."}, {"id": "leak", "ask": "Leak test"}]
    facts = {"procedure": {"name": "p", "steps": steps}}
    log.start_job(facts, at=invented.START, ref="steps")
    moves = (
        {"from": "clear", "step": "leak", "move": "next", "acknowledged": True},
        {"from": "leak", "step": "end", "move": "skip", "why": "sealed"},
    )
    for body in moves:
        log.append("steps", "step", body, at=invented.START)
    words = plain(report(log, "steps", tmp_path / "s.html", locale="en").read_text("utf-8"))
    assert "Confirmed during the job: Nobody near the tiller. 09:12:05" in words
    assert "Step skipped: Leak test sealed" in words
