"""Procedure files: good ones load, faulty ones are refused with the line, the key and the mend."""

import hashlib
from pathlib import Path

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.errors import BadInputError, FieldnoteError
from fieldnote.procedure import FileProblemsError, check, load, shipped

GOOD = """\
name = "bench"
title = "A bench check"
version = "1"
cautions = ["Follow the maker's manual and local codes."]
sources = ["common practice, no source"]

[facts.system]
ask = "Voltage system?"
choices = ["12 V", "24 V"]

[[steps]]
id = "supply"
kind = "measure"
ask = "Supply"
unit = "V"
window = { from = 12.40, to = "14.8" }

[[steps]]
id = "drop"
kind = "derived"
ask = "Drop"
unit = "V"
formula = "supply - 12"
window = { at_most = 0.50 }

[[steps]]
id = "seen"
kind = "observe"
ask = "Connector"
choices = ["clean", "green"]
good = ["clean"]
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "bench.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_good_file_loads_with_its_digits_kept(tmp_path: Path) -> None:
    procedure = load(written(tmp_path, GOOD))
    supply = procedure.step("supply")
    assert supply is not None
    assert supply.window is not None
    assert (supply.window.lower, supply.window.upper) == ("12.40", "14.8")
    assert check(tmp_path / "bench.toml") == []


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ('unit = "V"\nwindow = { from', 'unit = "Volt"\nwindow = { from', 15, "“Volt” is not"),
        ('unit = "V"\nwindow = { from', 'unit = "Ω"\nwindow = { from', 15, 'UCUM code: "Ohm"'),
        ('to = "14.8"', 'to = "10"', 16, "upside down"),
        ('to = "14.8"', 'to = "14.8", unit = "Ohm"', 16, "different kind"),
        ('to = "14.8"', 'too = "14.8"', 16, "Did you mean “to”?"),
        ('{ from = 12.40, to = "14.8" }', "{ nominal = 12 }", 16, "Add tolerance"),
        ('{ from = 12.40, to = "14.8" }', '{ from = "twelve", to = 13 }', 16, "not a decimal"),
        ('{ from = 12.40, to = "14.8" }', "{ from = true, to = 13 }", 16, "must be a number"),
        ("{ at_most = 0.50 }", "{ at_least = 0, at_most = 0.50 }", 24, "Write from"),
        ("{ at_most = 0.50 }", "{ table = [[0, 1], [1, 2]], tolerance = 1 }", 24, "needs “by”"),
        ('id = "drop"', 'id = "supply"', 19, "stands twice"),
        ('id = "drop"', 'id = "end"', 19, "stands twice, or is taken"),
        ('id = "drop"', 'id = "A Drop"', 19, "small letters"),
        ('kind = "measure"', 'kind = "messure"', 13, "Did you mean “measure”?"),
        ('kind = "measure"\n', "", 11, "“kind” is missing"),
        ('ask = "Drop"\n', "", 18, "“ask” is missing. Add a line ask"),
        ('title = "A bench check"\n', "", None, "“title” is missing"),
        ('id = "supply"', 'id = "supply"\nlabels = ["pin 1"]', 13, "begins a pin"),
        ('id = "drop"\nkind = "derived"\nask = "Drop"\nunit = "V"',
         'id = "drop"\nkind = "derived"\nask = "Drop"\nunit = "mV"', 23, "mixes V (“supply”)"),
        ("supply - 12", "suply - 12", 23, "Did you mean “supply”?"),
        ("supply - 12", "supply -", 23, "cannot be read"),
        ("supply - 12", "__import__('os')", 23, "cannot stand in the formula"),
        ('good = ["clean"]', 'good = ["clear"]', 31, "Did you mean “clean”?"),
        ('good = ["clean"]', 'good = ["clean"]\nwen = { a = "b" }', 32, "Did you mean “when”?"),
        ('good = ["clean"]', 'good = ["clean"]\nwhen = { system = "12V" }', 32, "“12 V”?"),
        ('good = ["clean"]', 'good = ["clean"]\nwhen = { volts = "12 V" }', 32, "not one of"),
        ('choices = ["clean", "green"]', 'choices = ["clean"]', 30, "at least"),
        ('version = "1"', 'version = "1"\nverzion = "1"', 4, "Did you mean “version”?"),
        ('cautions = ["Follow the maker\'s manual and local codes."]', "cautions = []", 4, "empty"),
        ('version = "1"', "version = 1", 3, "Put it in quotes"),
        ('version = "1"', 'version = "1', 3, "not TOML"),
    ],
)  # fmt: skip
def test_a_fault_is_told_with_its_line_and_mend(
    tmp_path: Path, old: str, new: str, line: int | None, words: str
) -> None:
    assert old in GOOD
    path = written(tmp_path, GOOD.replace(old, new, 1))
    with pytest.raises(FileProblemsError) as refused:
        load(path)
    text = str(refused.value)
    assert words in text
    assert str(path) in text
    assert line in [each.line for each in refused.value.problems]
    assert check(path) == sorted(refused.value.problems, key=lambda each: each.line or 0)


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    text = GOOD.replace('unit = "V"', 'unit = "volt"').replace('"clean", "green"', '"clean"')
    assert len(check(written(tmp_path, text))) >= 3


@pytest.mark.parametrize("name", ["rudder-angel-sender", "nothing-like-it", "missing.toml"])
def test_a_name_that_is_not_there(name: str) -> None:
    with pytest.raises(BadInputError, match="There is no"):
        load(name)


def test_files_that_are_no_text(tmp_path: Path) -> None:
    (tmp_path / "p.toml").write_bytes(b"\xff\xfe\x00name")
    with pytest.raises(BadInputError, match="not a text file"):
        load(tmp_path / "p.toml")
    with pytest.raises(BadInputError, match="folder"):
        load(tmp_path)
    (tmp_path / "huge.toml").write_text("#" * 1_000_001)
    with pytest.raises(BadInputError, match="too large"):
        load(tmp_path / "huge.toml")


def test_the_digest_counts_the_content_not_the_layout(tmp_path: Path) -> None:
    plain = load(written(tmp_path, GOOD)).digest
    spaced = GOOD.replace("\n[[steps]]", "\n\n# a comment\n[[steps]]").replace("12.40", '"12.40"')
    assert load(written(tmp_path, spaced)).digest == plain
    assert load(written(tmp_path, GOOD.replace("12.40", "12.4"))).digest != plain
    assert (
        load(written(tmp_path, GOOD.replace('"clean", "green"', '"green", "clean"'))).digest
        != plain
    )


def test_the_digest_is_plain_sha_256_of_canonical_json() -> None:
    procedure = load(shipped()[0])
    content = procedure.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    assert hashlib.sha256(rfc8785.dumps(content)).hexdigest() == procedure.digest


@given(st.text(max_size=300))
def test_no_text_brings_anything_but_a_clear_refusal(tmp_path_factory: object, text: str) -> None:
    folder = Path(tmp_path_factory.getbasetemp())  # type: ignore[attr-defined]
    path = folder / "any.toml"
    path.write_text(text, encoding="utf-8", errors="replace")
    with pytest.raises(FieldnoteError):
        load(path)


@given(
    st.integers(0, len(GOOD)), st.integers(1, 40), st.sampled_from(["", '"', "=", "[[steps]]", "9"])
)
def test_a_mangled_file_loads_or_is_refused(
    tmp_path_factory: object, start: int, length: int, instead: str
) -> None:
    folder = Path(tmp_path_factory.getbasetemp())  # type: ignore[attr-defined]
    path = folder / "mangled.toml"
    path.write_text(GOOD[:start] + instead + GOOD[start + length :], encoding="utf-8")
    for problem in check(path):
        assert problem.what
        assert problem.line is None or 1 <= problem.line <= len(path.read_text().splitlines()) + 1
