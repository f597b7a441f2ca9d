"""Bundles: out, in, merged in any order, and hostile ones refused with nothing written."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import random
import struct
import tempfile
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from fieldnote.errors import BadInputError, StoreError
from fieldnote.joblog import PRIVATE_FACTS, JobLog, read_bundle
from fieldnote.joblog.location import CannotStripError, without_location

DOCS = Path(__file__).resolve().parents[2] / "docs"


@pytest.fixture
def filled(log: JobLog, at, facts, make_reading) -> JobLog:
    log.start_job(facts, at=at(), ref="pump")
    clip = log.keep(b"a clip" * 100, ".wav")
    log.append("pump", "reading", make_reading("10.60"), at=at(1), evidence=[clip])
    log.append("pump", "correction", make_reading("16.60", why="slip"), at=at(2), refers_to=2)
    log.append("pump", "remark", {"entry": {"text": "<b>gasket</b> weeping"}}, at=at(3))
    log.close_job("pump", {"signed": "A. Example"}, at=at(4))
    log.start_job({"asset": "cold store 3"}, at=at(5), ref="store")
    return log


@pytest.fixture
def bundle(filled: JobLog, tmp_path: Path) -> Path:
    return filled.export_bundle(tmp_path / "jobs.zip")


@pytest.fixture
def other(tmp_path: Path):
    with JobLog.open(tmp_path / "other") as opened:
        yield opened


def everything(log: JobLog) -> object:
    """All that a log says, but for the folder it lies in."""
    return [
        (
            job,
            [
                (r.hash, r.number, r.body, r.refers_to, [(e.sha256, e.size) for e in r.evidence])
                for r in log.records(job.ref)
            ],
            [(item.state, item.record.hash) for item in log.standing(job.ref)],
        )
        for job in sorted(log.jobs(), key=lambda job: job.root)
    ]


def files(home: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(home)): path.read_bytes()
        for path in sorted(home.rglob("*"))
        if path.is_file() and "log.db" not in path.name
    }


def test_a_bundle_gives_the_same_jobs_elsewhere(
    filled: JobLog, bundle: Path, other: JobLog
) -> None:
    merged = other.import_bundle(bundle)
    assert sorted(merged.jobs) == ["pump", "store"]
    counts = (merged.new_records, merged.known_records, merged.new_evidence, merged.conflicts)
    assert counts == (6, 0, 1, ())
    assert everything(other) == everything(filled)
    assert other.verify("pump") == other.verify("store") == []
    assert other.check() == []
    assert other.records("pump")[1].evidence[0].path.read_bytes() == b"a clip" * 100
    assert [hit.record.number for hit in other.search("16.60")] == [3]
    assert other.search("10.60") == []


def test_taking_it_in_again_changes_nothing(bundle: Path, other: JobLog) -> None:
    other.import_bundle(bundle)
    before = everything(other), files(other.home)
    merged = other.import_bundle(bundle)
    assert (merged.new_records, merged.known_records, merged.new_evidence) == (0, 6, 0)
    assert (everything(other), files(other.home)) == before


def test_the_same_jobs_give_the_same_bytes(filled: JobLog, bundle: Path, tmp_path: Path) -> None:
    again = filled.export_bundle(tmp_path / "again.zip", ["store", "pump", "pump"])
    assert again.read_bytes() == bundle.read_bytes()
    one = filled.export_bundle(tmp_path / "one.zip", ["store"])
    assert list(read_bundle(one).jobs) == [filled.job("store").root]


def test_a_bundle_can_be_checked_with_the_standard_library_alone(bundle: Path) -> None:
    with zipfile.ZipFile(bundle) as archive:
        assert archive.testzip() is None
        for line in archive.read("records.jsonl").splitlines():
            held = json.loads(line)
            content = json.dumps(
                held["record"], sort_keys=True, ensure_ascii=False, separators=(",", ":")
            )
            assert hashlib.sha256(content.encode()).hexdigest() == held["hash"]
        page = archive.read("read-me-first.html").decode()
    assert "16.60" in page
    assert "&lt;b&gt;gasket" in page
    assert "<b>gasket" not in page


def test_the_schema_in_the_docs_is_the_one_in_the_bundle_and_holds(bundle: Path) -> None:
    jsonschema = pytest.importorskip("jsonschema", reason="pip install jsonschema")
    with zipfile.ZipFile(bundle) as archive:
        schema = json.loads(archive.read("record.schema.json"))
        lines = [json.loads(line) for line in archive.read("records.jsonl").splitlines()]
    assert json.loads((DOCS / "record.schema.json").read_text("utf-8")) == schema
    validator = jsonschema.Draft202012Validator(schema)
    validator.check_schema(schema)
    assert len(lines) == 6
    for line in lines:
        validator.validate(line)
        for change in ({"number": 0}, {"kind": "note"}, {"body": {"value": 10.5}}, {"extra": 1}):
            assert not validator.is_valid({**line, "record": {**line["record"], **change}})


def test_private_facts_can_be_left_out_and_still_verify(filled, tmp_path, other) -> None:
    out = filled.export_bundle(tmp_path / "public.zip", leave_out=PRIVATE_FACTS)
    with zipfile.ZipFile(out) as archive:
        for name in archive.namelist():
            assert b"Example" not in archive.read(name), name
    other.import_bundle(out)
    assert other.verify("pump") == []
    assert other.records("pump")[0].withheld == ("customer", "technician")
    assert "customer" not in other.job("pump").facts
    assert other.job("pump").facts["serial"] == "SN-0042"
    # Told later, they fit, and the log is the same as if they had come at once.
    other.import_bundle(filled.export_bundle(tmp_path / "whole.zip"))
    assert everything(other) == everything(filled)


def test_evidence_can_be_left_out_and_come_later(filled, bundle, tmp_path, other) -> None:
    other.import_bundle(filled.export_bundle(tmp_path / "light.zip", evidence=False))
    assert files(other.home) == {}
    assert other.verify("pump") == []
    other.import_bundle(bundle)
    assert other.verify("pump") == []
    assert len(files(other.home)) == 1


def test_evidence_that_came_and_was_deleted_is_missed(bundle, other) -> None:
    other.import_bundle(bundle)
    other.records("pump")[1].evidence[0].path.unlink()
    assert [fault.what for fault in other.verify("pump")] == ["evidence"]


def test_two_jobs_of_one_name_are_kept_apart_and_told(filled, bundle, other, at) -> None:
    mine = other.start_job({"asset": "mine"}, at=at(), ref="pump")
    merged = other.import_bundle(bundle)
    assert merged.conflicts == ("Two machines each started a job pump.",)
    with pytest.raises(BadInputError, match=r"Two machines each started a job 'pump'.*pump~"):
        other.job("pump")
    theirs = next(ref for ref in merged.jobs if "~" in ref)
    assert other.job(theirs).root == filled.job("pump").root
    assert other.job(f"pump~{mine.root[:8]}").facts == {"asset": "mine"}
    other.append(f"pump~{mine.root[:8]}", "remark", {}, at=at())
    assert other.verify(theirs) == []


def test_work_apart_on_one_job_is_told_and_joined_by_the_next_record(
    log: JobLog, other: JobLog, at, make_reading, tmp_path
) -> None:
    log.start_job({}, at=at(), ref="demo")
    log.append("demo", "reading", make_reading("1"), at=at())
    other.import_bundle(log.export_bundle(tmp_path / "1.zip"))
    log.append("demo", "correction", make_reading("2", why="x"), at=at(), refers_to=2)
    other.append("demo", "correction", make_reading("3", why="x"), at=at(), refers_to=2)
    merged = log.import_bundle(other.export_bundle(tmp_path / "2.zip"))
    assert len(merged.conflicts) == 2
    assert "changed on two machines" in merged.conflicts[0]
    item = log.standing("demo")[1]
    assert (item.state, item.counts, len(item.claimants)) == ("conflict", False, 2)
    assert log.job("demo").conflicts
    with pytest.raises(BadInputError, match="Two machines each wrote a record 3"):
        log.append("demo", "withdrawal", {"why": "x"}, at=at(), refers_to=3)
    theirs = next(c for c in item.claimants if c.machine == other.machine)
    log.append("demo", "withdrawal", {"why": "not his pin"}, at=at(), refers_to=theirs)
    item = log.standing("demo")[1]
    assert (item.state, item.record.body["entry"]["value"]) == ("corrected", "2")
    assert log.job("demo").conflicts == ()
    assert log.verify("demo") == []
    other.import_bundle(log.export_bundle(tmp_path / "3.zip"))
    assert everything(other) == everything(log)


def test_closed_on_one_machine_and_continued_on_another(log, other, at, tmp_path) -> None:
    log.start_job({}, at=at(), ref="demo")
    other.import_bundle(log.export_bundle(tmp_path / "1.zip"))
    log.close_job("demo", at=at())
    other.append("demo", "remark", {}, at=at())
    merged = log.import_bundle(other.export_bundle(tmp_path / "2.zip"))
    assert any("closed the job while another went on" in told for told in merged.conflicts)
    assert not log.job("demo").closed
    log.close_job("demo", at=at())
    assert log.job("demo").closed
    assert log.job("demo").conflicts == ()
    assert log.verify("demo") == []


# ------------------------------------------------------------------- any order

steps = st.lists(
    st.tuples(
        st.integers(0, 2),
        st.sampled_from(
            ["start", "reading", "correction", "withdrawal", "close", "reopen", "send"]
        ),
        st.integers(0, 5),
        st.integers(0, 2),
    ),
    max_size=14,
)


def act(logs: list[JobLog], folder: Path, step: tuple[int, str, int, int], at) -> None:
    """One thing that may happen on one of the machines; what makes no sense is refused."""
    who, what, which, target = step
    log = logs[who]
    jobs = sorted(log.jobs(), key=lambda job: job.root)
    if what == "start":
        log.start_job({"asset": str(which)}, at=at(which), ref=f"job-{which % 2}-{who}")
    elif what == "send":
        out = log.export_bundle(folder / "sent.zip")
        logs[target].import_bundle(out)
    elif jobs:
        ref = jobs[which % len(jobs)].ref
        if what == "reading":
            # A closed job takes no reading, but what was kept before it was refused would stay.
            shut = [r.kind for r in log.records(ref) if r.kind in ("close", "reopen")][-1:]
            if shut == ["close"]:
                return
            clip = log.keep(bytes([which + 1]) * 9, ".wav")
            body = {"entry": {"value": str(which), "unit": "Ohm", "label": "a"}}
            log.append(ref, "reading", body, at=at(which), evidence=[clip])
        elif what in ("correction", "withdrawal"):
            records = log.records(ref)
            old = records[(which + target) % len(records)]
            body = {"entry": {"value": f"{which}.5", "unit": "Ohm"}, "why": "slip"}
            log.append(ref, what, body, at=at(which), refers_to=old)
        else:
            log.append(ref, what, {}, at=at(which))


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(steps=steps, seed=st.integers(0, 1000))
def test_merging_in_any_order_gives_the_same_log(steps, seed: int, at) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        logs = [JobLog.open(folder / f"machine-{number}") for number in range(3)]
        for step in steps:
            try:
                act(logs, folder, step, at)
            except BadInputError:
                continue
        sent = [log.export_bundle(folder / f"{n}.zip") for n, log in enumerate(logs)]
        luck = random.Random(seed)
        for log in logs:
            order = [*sent, luck.choice(sent)]
            luck.shuffle(order)
            for bundle in order:
                log.import_bundle(bundle)
        said = [everything(log) for log in logs]
        assert said[0] == said[1] == said[2]
        assert len({json.dumps(files(log.home), default=str) for log in logs}) == 1
        last = [log.export_bundle(folder / f"last-{n}.zip") for n, log in enumerate(logs)]
        assert len({path.read_bytes() for path in last}) == 1
        for log in logs:
            assert log.check() == []
            assert [fault for job in log.jobs() for fault in log.verify(job.ref)] == []
            log.close()


# ------------------------------------------------------------------- hostile

Parts = list[tuple[str, bytes]]


def parts_of(bundle: Path) -> Parts:
    with zipfile.ZipFile(bundle) as archive:
        return [(name, archive.read(name)) for name in archive.namelist()]


def write_zip(path: Path, parts: Parts) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts:
            with pytest.warns() if name in archive.namelist() else contextlib.nullcontext():
                archive.writestr(name, data)
    return path


def refused(log: JobLog, path: Path, why: str = "") -> None:
    before = everything(log), files(log.home)
    with pytest.raises(BadInputError, match="was refused") as told:
        log.import_bundle(path)
    assert why in str(told.value)
    assert (everything(log), files(log.home)) == before


def changed(parts: Parts, name: str, change) -> Parts:
    return [(n, change(data) if n.startswith(name) else data) for n, data in parts]


def with_record(parts: Parts, which: int, **changes: object) -> Parts:
    """Change a record of the bundle and make its own hash fit again."""

    def change(data: bytes) -> bytes:
        lines = [json.loads(line) for line in data.splitlines()]
        for line in lines:
            if line["record"]["number"] == which:
                line["record"].update(changes)
                text = json.dumps(
                    line["record"], sort_keys=True, ensure_ascii=False, separators=(",", ":")
                )
                line["hash"] = hashlib.sha256(text.encode()).hexdigest()
        return "\n".join(json.dumps(line) for line in lines).encode()

    return changed(parts, "records.jsonl", change)


def manifest(parts: Parts, **changes: object) -> Parts:
    return changed(
        parts, "manifest.json", lambda data: json.dumps({**json.loads(data), **changes}).encode()
    )


def drop(parts: Parts, name: str) -> Parts:
    return [part for part in parts if not part[0].startswith(name)]


HOSTILE = {
    "a path upwards": lambda p: [*p, ("../../evil.sh", b"x")],
    "an absolute path": lambda p: [*p, ("/etc/evil", b"x")],
    "a path within evidence": lambda p: [*p, ("evidence/../../evil", b"x")],
    "a backslash path": lambda p: [*p, ("evidence\\..\\evil", b"x")],
    "an unknown file": lambda p: [*p, ("notes.txt", b"x")],
    "a file twice": lambda p: [*p, ("records.jsonl", dict(p)["records.jsonl"])],
    "evidence not listed": lambda p: [*p, (f"evidence/{'0' * 64}.wav", b"x")],
    "evidence altered": lambda p: changed(p, "evidence/", lambda data: data[:-1] + b"!"),
    "evidence longer": lambda p: changed(p, "evidence/", lambda data: data + b"!"),
    "evidence missing": lambda p: drop(p, "evidence/"),
    "no manifest": lambda p: drop(p, "manifest.json"),
    "no records": lambda p: drop(p, "records.jsonl"),
    "empty records": lambda p: changed(p, "records.jsonl", lambda data: b""),
    "another format": lambda p: manifest(p, format="other"),
    "a newer version": lambda p: manifest(p, version=2),
    "a wrong count": lambda p: manifest(p, records=5),
    "other jobs": lambda p: manifest(p, jobs=[]),
    "a manifest that is a list": lambda p: changed(p, "manifest.json", lambda data: b"[]"),
    "a manifest that is no JSON": lambda p: changed(p, "manifest.json", lambda data: b"{"),
    "deep JSON": lambda p: changed(p, "manifest.json", lambda data: b"[" * 100_000),
    "a record cut out": lambda p: manifest(
        changed(p, "records.jsonl", lambda d: b"\n".join(d.splitlines()[1:])), records=5
    ),
    "a line twice": lambda p: manifest(
        changed(p, "records.jsonl", lambda d: d + d.splitlines()[-1]), records=7
    ),
    "a line that is no JSON": lambda p: changed(p, "records.jsonl", lambda d: d + b"{]"),
    "a deep record": lambda p: changed(p, "records.jsonl", lambda d: d + b'{"a":' * 99_999),
    "a changed value": lambda p: changed(
        p, "records.jsonl", lambda d: d.replace(b'"10.60"', b'"10.06"')
    ),
    "a changed value, rehashed": lambda p: with_record(p, 2, body={}),
    "an unknown kind": lambda p: with_record(p, 4, kind="note"),
    "a jump in numbers": lambda p: with_record(p, 5, number=9),
    "a reference out of nowhere": lambda p: with_record(p, 5, refers_to="0" * 64),
    "a float": lambda p: with_record(p, 5, body={"value": 1.5}),
    "a time without zone": lambda p: with_record(p, 5, at="2031-03-04T09:00:00"),
    "a start of an evil name": lambda p: with_record(p, 1, ref="../../evil"),
    "a private fact made up": lambda p: changed(
        p, "records.jsonl", lambda d: d.replace(b"Example Harbour Works", b"Somebody Else")
    ),
    "evidence with an evil suffix": lambda p: with_record(
        p, 5, evidence=[{"sha256": "0" * 64, "size": 1, "suffix": "./../x"}]
    ),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_bundles_are_refused_with_nothing_written(
    bundle: Path, other: JobLog, tmp_path: Path, name: str
) -> None:
    bad = write_zip(tmp_path / "bad.zip", HOSTILE[name](parts_of(bundle)))
    refused(other, bad)
    assert not list(tmp_path.rglob("evil*"))
    other.import_bundle(bundle)  # and the good one still comes in
    refused(other, bad)


def test_a_good_bundle_put_together_by_hand_is_taken(bundle, other, tmp_path) -> None:
    """So that the refusals above are for the harm done, not for the way these files are made."""
    other.import_bundle(write_zip(tmp_path / "by-hand.zip", parts_of(bundle)))
    assert other.verify("pump") == []


def test_a_zip_bomb_is_refused_unread(bundle: Path, other: JobLog, tmp_path: Path) -> None:
    parts = changed(parts_of(bundle), "read-me-first.html", lambda data: bytes(300 << 20))
    refused(other, write_zip(tmp_path / "bomb.zip", parts), "claims to unpack")


def test_ten_gigabytes_claimed_are_refused(bundle: Path, other: JobLog, tmp_path: Path) -> None:
    data = bytearray(bundle.read_bytes())
    entry = data.rindex(b"PK\x01\x02")
    struct.pack_into("<I", data, entry + 24, 0xFFFF0000)
    (tmp_path / "claimed.zip").write_bytes(data)
    refused(other, tmp_path / "claimed.zip", "claims to unpack")


def test_other_files_and_missing_ones_are_refused(other: JobLog, tmp_path: Path) -> None:
    (tmp_path / "text.zip").write_text("hello")
    refused(other, tmp_path / "text.zip")
    refused(other, tmp_path / "none.zip", "No such file")
    refused(other, tmp_path)


def test_truncated_bundles_are_refused(bundle: Path, other: JobLog, tmp_path: Path) -> None:
    data = bundle.read_bytes()
    for length in range(0, len(data), 101):
        (tmp_path / "cut.zip").write_bytes(data[:length])
        refused(other, tmp_path / "cut.zip")


def test_fuzzed_bundles_are_refused_or_mean_the_same(
    filled: JobLog, bundle: Path, tmp_path: Path
) -> None:
    """Any bytes changed: refused with nothing written, or what came in is what was sent."""
    good, luck = bundle.read_bytes(), random.Random(3)
    wanted = everything(filled)
    with JobLog.open(tmp_path / "fuzzed") as log:
        taken = 0
        for _ in range(400):
            data = bytearray(good)
            for _ in range(luck.choice((1, 1, 2, 8))):
                data[luck.randrange(len(data))] = luck.randrange(256)
            (tmp_path / "fuzz.zip").write_bytes(data)
            try:
                log.import_bundle(tmp_path / "fuzz.zip")
            except BadInputError:
                if not taken:
                    assert log.jobs() == []
                    assert files(log.home) == {}
            else:
                taken += 1
                assert everything(log) == wanted
    assert taken < 400


def test_a_disk_that_fails_midway_leaves_nothing(bundle, other, monkeypatch) -> None:
    from fieldnote.joblog import merge

    def full(*arguments: object) -> None:
        raise StoreError("The disk is full.")

    monkeypatch.setattr(merge, "refresh_job", full)
    with pytest.raises(StoreError):
        other.import_bundle(bundle)
    assert other.jobs() == []
    assert files(other.home) == {}


# ------------------------------------------------------------------- location


def picture(kind: str, *, place: bool, orientation: int = 6) -> bytes:
    image = Image.new("RGB", (40, 20), "orange")
    image.putpixel((3, 4), (1, 2, 3))
    exif = Image.Exif()
    exif[0x0112] = orientation
    if place:
        exif.get_ifd(0x8825)[1] = "N"
        exif.get_ifd(0x8825)[2] = (54.0, 19.0, 10.0)
    out = io.BytesIO()
    image.save(out, kind, exif=exif)
    return out.getvalue()


@pytest.mark.parametrize(("kind", "suffix"), [("JPEG", ".jpg"), ("PNG", ".png")])
def test_a_place_is_taken_out_and_the_picture_stays(kind: str, suffix: str) -> None:
    """Outside check: Pillow reads the tags and the pixels."""
    data = picture(kind, place=True)
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(0x8825)
    before, after = (
        Image.open(io.BytesIO(data)),
        Image.open(io.BytesIO(without_location(data, suffix))),
    )
    assert not after.getexif().get_ifd(0x8825)
    assert after.getexif()[0x0112] == 6
    assert after.tobytes() == before.tobytes()


@pytest.mark.parametrize(("kind", "suffix"), [("JPEG", ".jpg"), ("PNG", ".png")])
def test_a_picture_without_a_place_stays_as_it_is(kind: str, suffix: str) -> None:
    data = picture(kind, place=False)
    assert without_location(data, suffix) == data


def test_what_hangs_behind_a_jpeg_goes_too() -> None:
    data = picture("JPEG", place=False)
    hung = without_location(data + picture("JPEG", place=True), ".jpg")
    assert len(hung) < len(data) + 10
    assert Image.open(io.BytesIO(hung)).tobytes() == Image.open(io.BytesIO(data)).tobytes()


@pytest.mark.parametrize("suffix", [".heic", ".mp4", ".tif", ".jpg", ".png"])
def test_formats_it_does_not_know_and_broken_files_are_told(suffix: str) -> None:
    for data in (b"", b"ftypheic", b"\xff\xd8\xff\xe1", b"\x89PNG\r\n\x1a\n\0\0"):
        with pytest.raises(CannotStripError):
            without_location(data, suffix)


@given(st.data())
@settings(max_examples=60)
def test_no_broken_picture_makes_it_stumble(data) -> None:
    whole = picture("JPEG", place=True)
    cut = data.draw(st.integers(0, len(whole)))
    broken = whole[:cut] + data.draw(st.binary(max_size=8)) + whole[cut + 4 :]
    with contextlib.suppress(CannotStripError):
        without_location(broken, ".jpg")


def test_pictures_leave_without_their_place_unless_asked(log, other, at, tmp_path) -> None:
    log.start_job({}, at=at(), ref="demo")
    kept = log.keep(picture("JPEG", place=True), ".jpg")
    heic = log.keep(b"ftypheic", ".heic")
    log.append("demo", "photo", {"caption": "meter"}, at=at(), evidence=[kept, heic])
    out = log.export_bundle(tmp_path / "demo.zip")
    with zipfile.ZipFile(out) as archive:
        lines = {
            line["sha256"]: line for line in json.loads(archive.read("manifest.json"))["evidence"]
        }
        (name,) = [name for name in archive.namelist() if name.startswith("evidence/")]
        assert not Image.open(archive.open(name)).getexif().get_ifd(0x8825)
    assert "place" in lines[kept.sha256]["instead"]
    assert "could not be removed" in lines[heic.sha256]["left_out"]
    other.import_bundle(out)
    assert other.verify("demo") == []
    shown = other.records("demo")[1].evidence[0]
    assert shown.sha256 == kept.sha256
    assert not Image.open(shown.path).getexif().get_ifd(0x8825)
    shown.path.write_bytes(b"meddled")
    assert [fault.what for fault in other.verify("demo")] == ["evidence"]
    # With the place, the originals come, and count.
    other.import_bundle(log.export_bundle(tmp_path / "all.zip", location=True))
    assert other.records("demo")[1].evidence[0].path.read_bytes() == kept.path.read_bytes()
    assert other.verify("demo") == []
