"""What each reader of a report gets, on screen and as PDF."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog, Record
from fieldnote.review import report
from tests.review import invented_job as invented


def test_the_customer_gets_plain_words_and_no_working_evidence(
    log: JobLog, made: dict[str, Record], tmp_path: Path
):
    page = report(log, invented.REF, tmp_path / "c.html", locale="en", variant="customer")
    text = page.read_text("utf-8")
    assert "outside its window" in text
    assert "<audio" not in text
    assert "% sure" not in text
    assert made["good"].evidence[0].sha256 not in text
    assert "<s class" in text  # what was corrected is never hidden, from nobody


def test_the_warranty_gets_every_record_and_all_evidence(
    log: JobLog, made: dict[str, Record], tmp_path: Path
):
    page = report(log, invented.REF, tmp_path / "w.html", locale="en", variant="warranty")
    text = page.read_text("utf-8")
    for record in log.records(invented.REF):
        assert record.hash in text
        for item in record.evidence:
            assert item.sha256 in text


def test_a_point_measured_again_shows_before_and_after_and_hides_neither(
    log: JobLog, made: dict[str, Record], tmp_path: Path
):
    text = report(log, invented.REF, tmp_path / "r.html", locale="en").read_text("utf-8")
    after = text[text.index("Before and after") :]
    assert after.index("11.78") < after.index("11.1")
    assert f"measured again as No. {made['again'].number}: 11.1" in text


def test_what_two_machines_said_differently_stands_beside_the_line(log: JobLog, tmp_path: Path):
    def said(value: str, **more: str) -> dict[str, object]:
        return {**invented.body(invented.entry(value=value, unit="Ohm", label="port")), **more}

    log.start_job({}, at=invented.START, ref="x")
    log.append("x", "reading", said("10.60"), at=invented.START)
    with JobLog.open(tmp_path / "other") as other:
        other.import_bundle(log.export_bundle(tmp_path / "1.zip"))
        for each, value, why in ((log, "10.61", "misheard"), (other, "10.69", "seen again")):
            each.append("x", "correction", said(value, why=why), at=invented.START, refers_to=2)
        log.import_bundle(other.export_bundle(tmp_path / "2.zip"))
    text = report(log, "x", tmp_path / "r.html", locale="en").read_text("utf-8")
    row = text[text.index('<tr role="row" id="r2"') :].partition("</tr>")[0]
    for part in ("10.61", "misheard", "10.69", "seen again", log.machine, "unclear"):
        assert part in row, part


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_pdf_is_tagged_and_on_the_paper_asked_for(
    log: JobLog, made: dict[str, Record], tmp_path: Path, paper: str
):
    pytest.importorskip("weasyprint", reason="the PDF is an extra: pip install 'fieldnote[pdf]'")
    out = report(log, invented.REF, tmp_path / "r.pdf", locale="en", paper=paper)
    told = subprocess.run(["pdfinfo", str(out)], capture_output=True, text=True, check=True).stdout
    assert "Tagged:          yes" in told
    assert {"A4": "(A4)", "Letter": "(letter)"}[paper] in told
    run = ["pdfinfo", "-meta", str(out)]  # PDF/UA-1, ISO 14289-1, names itself in the metadata
    assert "pdfuaid:part" in subprocess.run(run, capture_output=True, text=True, check=True).stdout
    run = ["pdftotext", "-layout", "-l", "1", str(out), "-"]
    first = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    assert "What was found" in first
    assert "Verification code" in first
    assert "Cautions" not in first


def test_unknown_variants_and_papers_are_refused(
    log: JobLog, made: dict[str, Record], tmp_path: Path
):
    with pytest.raises(BadInputError, match="variant"):
        report(log, invented.REF, tmp_path / "r.html", variant="secret")
    with pytest.raises(BadInputError, match="paper"):
        report(log, invented.REF, tmp_path / "r.pdf", paper="B5")
    assert not list(tmp_path.glob("r.*"))
