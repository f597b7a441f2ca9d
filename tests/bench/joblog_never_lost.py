"""Is a reading that append() returned from still there, whatever happens next?

    python -m tests.bench.joblog_never_lost [--kills 1000] [--power-cuts 1000] [--flips 1000]
        [--full 200] [--clocks 200] [--writers 20]

Each trial names what was acknowledged (the call returned), does the harm, opens the log again and
looks: everything acknowledged must be there with its digits, and every job must verify. Prints a
table of tried, survived and lost; leaves with status 1 when anything was lost. The continuous
checks run the same with smaller numbers. Data is invented.

Power cuts are played back: ``strace`` records every write, flush, rename and truncation of a
session; for a cut at any moment, what was flushed before it is on the disk, and of what was not, an
arbitrary part (in sectors of 512 bytes, any of them, a truncation or a rename or not).
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from rich.console import Console
from rich.progress import track
from rich.table import Table

from fieldnote.errors import BadInputError, StoreError
from fieldnote.joblog import JobLog, Record

AT = datetime(2031, 3, 4, 9, 0, tzinfo=UTC)
SECTOR = 512


@dataclass
class Tally:
    """Trials of one kind: how many, how many readings were at stake, what was lost."""

    name: str
    tried: int = 0
    at_stake: int = 0
    told: int = 0
    lost: list[str] = field(default_factory=list)


def digits(number: int) -> str:
    return f"{number}.{number % 10}0"


def add(log: JobLog, number: int, at: datetime = AT) -> None:
    """One reading, every third with evidence of its own."""
    clip = [log.keep(f"clip {number} ".encode() * 50, ".wav")] if number % 3 == 0 else []
    body = {"entry": {"kind": "reading", "value": digits(number), "unit": "Ohm"}}
    log.append("demo", "reading", body, at=at, evidence=clip)


def what_is_lost(home: Path, acknowledged: int) -> str | None:
    """Why readings 0 … acknowledged-1 are not all there and sound; None when they are."""
    try:
        with JobLog.open(home) as log:
            if acknowledged == 0 and not log.jobs():
                return None
            got = [record.body["entry"]["value"] for record in log.records("demo")[1:]]
            if got[:acknowledged] != [digits(number) for number in range(acknowledged)]:
                return f"{acknowledged} acknowledged, found {got}"
            if len(got) > acknowledged + 1:
                return f"{len(got)} found, only {acknowledged} acknowledged"
            faults = log.verify("demo") + log.check()
            if faults:
                return str(faults[0])
            add(log, len(got))  # and it goes on
    except Exception as error:
        return f"{type(error).__name__}: {error}"
    return None


# ------------------------------------------------------------------- killed


def kills(count: int, folder: Path, luck: random.Random) -> Tally:
    """kill -9 at a random moment, 20 times in a row on the same log, then a new one."""
    tally = Tally("killed (kill -9) while writing")
    for trial in track(range(count), description=tally.name):
        home = folder / f"kill-{trial // 20}"
        done = 0
        if home.exists():
            with JobLog.open(home) as log:
                done = len(log.records("demo")) - 1 if log.jobs() else 0
        ends = os.pipe()
        child = os.fork()
        if child == 0:
            _write_until_killed(home, done, ends[1])
        os.close(ends[1])
        time.sleep(luck.uniform(0.0, 0.12))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with os.fdopen(ends[0], "rb") as pipe:
            said = len(pipe.read())
        tally.tried += 1
        tally.at_stake += done + said
        lost = what_is_lost(home, done + said)
        if lost:
            tally.lost.append(lost)
        if trial % 20 == 19:
            shutil.rmtree(home)
    return tally


def _write_until_killed(home: Path, done: int, pipe: int) -> None:
    log = JobLog.open(home)
    if not log.jobs():
        log.start_job({}, at=AT, ref="demo")
    while True:
        add(log, done)
        os.write(pipe, b".")
        done += 1


# ------------------------------------------------------------------- full disk


def full_disks(count: int, folder: Path, luck: random.Random) -> Tally:
    """No file may grow beyond a random size; then there is room again."""
    tally = Tally("disk full (RLIMIT_FSIZE) at a random size")
    for trial in track(range(count), description=tally.name):
        home = folder / f"full-{trial}"
        limit = luck.randrange(500, 1_500_000)
        ends = os.pipe()
        child = os.fork()
        if child == 0:
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
            try:
                log = JobLog.open(home)
                log.start_job({}, at=AT, ref="demo")
                for number in range(10_000):
                    add(log, number)
                    os.write(ends[1], b".")
            except StoreError:
                os._exit(0)
            except BaseException:
                os._exit(1)
            os._exit(2)
        os.close(ends[1])
        _, status = os.waitpid(child, 0)
        with os.fdopen(ends[0], "rb") as pipe:
            said = len(pipe.read())
        tally.tried += 1
        tally.at_stake += said
        if status == 0:
            tally.told += 1
        else:
            tally.lost.append(f"limit {limit}: not told plainly (status {status})")
        lost = what_is_lost(home, said)
        if lost:
            tally.lost.append(f"limit {limit}: {lost}")
        if list(home.rglob("*.part")):
            tally.lost.append(f"limit {limit}: half-written evidence is left")
        shutil.rmtree(home, ignore_errors=True)
    return tally


# ------------------------------------------------------------------- power cut

SESSION = """
import os, sys
from pathlib import Path
from tests.bench.joblog_never_lost import AT, add
from fieldnote.joblog import JobLog
log = JobLog.open(Path(sys.argv[1]))
log.start_job({}, at=AT, ref="demo")
for number in range(int(sys.argv[2])):
    add(log, number)
    os.write(1, b".")
"""
CALLS = "openat,creat,close,write,pwrite64,fsync,fdatasync,ftruncate,rename,unlink,mkdir"


@dataclass(frozen=True)
class Step:
    """One recorded system call: what it does to which path."""

    call: str
    path: str
    data: bytes = b""
    offset: int = 0
    target: str = ""


def record_session(home: Path, readings: int) -> list[Step]:
    """What a session asks of the disk, in order; ``ack`` steps are append() returning."""
    trace = home.with_suffix(".trace")
    subprocess.run(
        [
            *("strace", "-f", "-o", trace, "-e", f"trace={CALLS}", "-xx", "-s", "99999999"),
            *(sys.executable, "-c", SESSION, str(home), str(readings)),
        ],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    steps = list(_parse(trace.read_text(), home))
    trace.unlink()
    return steps


def _unhex(text: str) -> bytes:
    return bytes.fromhex(text.replace("\\x", ""))


def _parse(trace: str, home: Path) -> Iterator[Step]:
    open_files: dict[int, str] = {}
    positions: dict[int, int] = {}
    inside = str(home)
    for line in trace.splitlines():
        found = re.match(r"(?:\d+ +)?(\w+)\((.*)\)\s+= (-?\d+)", line)
        if not found or int(found[3]) < 0:
            continue
        call, arguments, result = found[1], found[2], int(found[3])
        strings = [_unhex(text) for text in re.findall(r'"((?:\\x[0-9a-f]{2})*)"', arguments)]
        number = re.match(r"\d+", arguments)
        handle = int(number[0]) if number else -1
        if call == "openat":
            path = os.fsdecode(strings[0])
            open_files[result], positions[result] = path, 0
            if path.startswith(inside) and "O_CREAT" in arguments:
                yield Step("create", path)
        elif call == "close":
            open_files.pop(handle, None)
        elif call == "write" and handle == 1:
            yield Step("ack", "")
        elif call in ("mkdir", "unlink"):
            path = os.fsdecode(strings[0])
            if path.startswith(inside):
                yield Step(call, path)
        elif call == "rename":
            path, target = map(os.fsdecode, strings)
            yield Step("rename", path, target=target)
        elif (path := open_files.get(handle, "")).startswith(inside):
            if call == "write":
                yield Step("write", path, strings[0], positions[handle])
                positions[handle] += result
            elif call == "pwrite64":
                yield Step("write", path, strings[0], int(arguments.rsplit(", ", 1)[1]))
            elif call == "ftruncate":
                yield Step("truncate", path, offset=int(arguments.rsplit(", ", 1)[1]))
            else:
                yield Step("sync", path)


class Disk:
    """What a power cut leaves: all that was flushed, and any part of what was not.

    A file's name is safe once the file or its folder was flushed, a rename or removal once the
    folder was.
    """

    def __init__(self) -> None:
        self.safe: dict[str, bytearray] = {}
        self.pending: dict[str, list[Step]] = {}  # writes by file
        self.names: list[Step] = []  # creations, renames and removals, in order

    def take(self, step: Step) -> None:
        if step.call in ("write", "truncate"):
            self.pending.setdefault(step.path, []).append(step)
        elif step.call in ("create", "rename", "unlink"):
            self.names.append(step)
        elif step.call == "sync":
            self._sync(step.path)

    def _sync(self, path: str) -> None:
        # Either a file, whose data is safe now, or a folder, whose names are.
        left = []
        for step in self.names:
            of_file = step.call == "create" and step.path == path
            if of_file or str(Path(step.target or step.path).parent) == path:
                _rename(self.safe, self.pending, step)
            else:
                left.append(step)
        self.names = left
        for step in self.pending.pop(path, ()):
            _apply(self.safe.setdefault(path, bytearray()), step, None)

    def cut(self, luck: random.Random) -> dict[str, bytes]:
        """The files after a cut at this moment, one of the many ways it may go."""
        files = {path: bytearray(data) for path, data in self.safe.items()}
        share = luck.choice((0.0, 0.5, 0.9, 1.0))
        for path, steps in self.pending.items():
            for step in steps:
                if luck.random() <= share:
                    _apply(files.setdefault(path, bytearray()), step, luck)
        happened = self.names[: luck.randint(0, len(self.names))]
        for step in happened:
            _rename(files, {}, step)
        # A file of which not even the name had reached the disk is not there, whatever was written.
        for step in self.names[len(happened) :]:
            if step.call == "create" and step.path not in self.safe:
                files.pop(step.path, None)
        return {path: bytes(data) for path, data in files.items()}


def _rename(files: dict[str, bytearray], pending: dict[str, list[Step]], step: Step) -> None:
    if step.call == "create":
        files.setdefault(step.path, bytearray())
    elif step.call == "unlink":
        files.pop(step.path, None)
        pending.pop(step.path, None)
    else:
        if step.path in files:
            files[step.target] = files.pop(step.path)
        if step.path in pending:
            pending[step.target] = pending.pop(step.path)


def _apply(data: bytearray, step: Step, luck: random.Random | None) -> None:
    """Carry out a write; with ``luck``, any of its sectors may have missed the disk."""
    if step.call == "truncate":
        del data[step.offset :]
        data.extend(bytes(step.offset - len(data)))
        return
    end = step.offset + len(step.data)
    if len(data) < end:
        data.extend(bytes(end - len(data)))
    whole = luck is None or luck.random() < 0.7
    for at in range(0, len(step.data), SECTOR):
        if whole or (luck is not None and luck.random() < 0.5):
            piece = step.data[at : at + SECTOR]
            data[step.offset + at : step.offset + at + len(piece)] = piece


def power_cuts(count: int, folder: Path, luck: random.Random) -> Tally:
    tally = Tally("power cut at a random moment")
    home = folder / "power"
    steps = record_session(home, readings=130)  # enough for SQLite to fold its log back in
    moments = sorted(luck.randrange(len(steps) + 1) for _ in range(count))
    disk, taken, acknowledged = Disk(), 0, 0
    for moment in track(moments, description=tally.name):
        for step in steps[taken:moment]:
            acknowledged += step.call == "ack"
            disk.take(step)
        taken = moment
        shutil.rmtree(home)
        home.mkdir(mode=0o700)
        for path, data in disk.cut(luck).items():
            if path.endswith("-shm"):
                continue  # shared memory, not stored state: SQLite makes it again
            Path(path).parent.mkdir(parents=True, exist_ok=True)
            Path(path).write_bytes(data)
        tally.tried += 1
        tally.at_stake += acknowledged
        lost = what_is_lost(home, acknowledged)
        if lost:
            tally.lost.append(f"after step {moment} ({acknowledged} acknowledged): {lost}")
    return tally


# ------------------------------------------------------------------- bits, clocks, writers


def _snapshot(log: JobLog) -> list[tuple[object, list[Record]]]:
    return [(job, log.records(job.ref)) for job in log.jobs()]


def bit_flips(count: int, folder: Path, luck: random.Random) -> Tally:
    """One bit of the database turned: told, or without effect; never a different reading."""
    tally = Tally("one bit flipped in the database")
    original = folder / "flip-original"
    with JobLog.open(original) as log:
        log.start_job({"asset": "bilge pump 2", "customer": "Example"}, at=AT, ref="demo")
        for number in range(40):
            add(log, number)
        log.append("demo", "withdrawal", {"why": "slip"}, at=AT, refers_to=4)
        log.close_job("demo", at=AT)
        log.start_job({"asset": "cold store"}, at=AT, ref="other")
        before = _snapshot(log)
    content = (original / "log.db").read_bytes()
    for trial in track(range(count), description=tally.name):
        home = folder / "flip"
        shutil.rmtree(home, ignore_errors=True)
        shutil.copytree(original, home)
        place, bit = luck.randrange(len(content)), luck.randrange(8)
        flipped = bytearray(content)
        flipped[place] ^= 1 << bit
        (home / "log.db").write_bytes(flipped)
        tally.tried += 1
        tally.at_stake += 40
        told = False
        try:
            with JobLog.open(home) as log:
                after = [
                    (job, [_homed(record, original, home) for record in records])
                    for job, records in _snapshot(log)
                ]
                told = bool(log.check() or any(log.verify(job.ref) for job in log.jobs()))
        except StoreError:
            told, after = True, before
        except Exception as error:
            tally.lost.append(f"byte {place}, bit {bit}: {type(error).__name__}: {error}")
            continue
        tally.told += told
        if after != before and not told:
            tally.lost.append(f"byte {place}, bit {bit}: other records, and nobody was told")
        del trial
    return tally


def _homed(record: Record, original: Path, home: Path) -> Record:
    """The record as if it lay in ``original``, to be compared."""
    from dataclasses import replace

    moved = tuple(
        replace(item, path=original / item.path.relative_to(home)) for item in record.evidence
    )
    return replace(record, evidence=moved)


def clocks(count: int, folder: Path, luck: random.Random) -> Tally:
    """The clock jumps, mostly back, before each reading."""
    tally = Tally("clock set back or forth")
    for trial in track(range(count), description=tally.name):
        home = folder / f"clock-{trial}"
        with JobLog.open(home) as log:
            log.start_job({}, at=AT, ref="demo")
            for number in range(10):
                add(log, number, AT + timedelta(seconds=luck.randint(-(10**8), 10**7)))
        tally.tried += 1
        tally.at_stake += 10
        lost = what_is_lost(home, 10)
        if lost:
            tally.lost.append(lost)
        shutil.rmtree(home)
    return tally


def writers(count: int, folder: Path, luck: random.Random) -> Tally:
    """Three programs write to one job at once, and race to make the log."""
    tally = Tally("three programs writing at once")
    for trial in track(range(count), description=tally.name):
        home = folder / f"writers-{trial}"
        children = []
        for who in range(3):
            child = os.fork()
            if child == 0:
                os._exit(_write_beside_others(home, who))
            children.append(child)
        failed = [child for child in children if os.waitpid(child, 0)[1] != 0]
        tally.tried += 1
        tally.at_stake += 45
        with JobLog.open(home) as log:
            records = log.records("demo")[1:]
            said = sorted((record.body["who"], record.body["n"]) for record in records)
            wanted = sorted((str(who), str(n)) for who in range(3) for n in range(15))
            faults = log.verify("demo") + log.check()
        if failed or said != wanted or faults:
            tally.lost.append(f"{len(failed)} failed, {len(said)} of 45 found, {faults[:1]}")
        shutil.rmtree(home)
    del luck
    return tally


def _write_beside_others(home: Path, who: int) -> int:
    try:
        log = JobLog.open(home, wait=60)
        with contextlib.suppress(BadInputError):  # another was first
            log.start_job({}, at=AT, ref="demo")
        for number in range(15):
            log.append("demo", "remark", {"who": str(who), "n": str(number)}, at=AT)
    except Exception as error:
        print(f"a writer failed: {error}", file=sys.stderr)
        return 1
    return 0


TRIALS: dict[str, tuple[int, Callable[[int, Path, random.Random], Tally]]] = {
    "kills": (1000, kills),
    "power-cuts": (1000, power_cuts),
    "full": (200, full_disks),
    "flips": (1000, bit_flips),
    "clocks": (100, clocks),
    "writers": (20, writers),
}


def main() -> int:
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    for name, (count, _) in TRIALS.items():
        options.add_argument(f"--{name}", type=int, default=count)
    options.add_argument("--seed", type=int, default=20310304)
    given = vars(options.parse_args())
    if given["power_cuts"] and not shutil.which("strace"):
        print("Power cuts need strace: apt-get install strace. They are left out.")
        given["power_cuts"] = 0
    table = Table("harm", "tried", "readings at stake", "told plainly", "survived", "lost")
    losses: list[str] = []
    with tempfile.TemporaryDirectory(prefix="joblog-never-lost-") as folder:
        for name, (_, trial) in TRIALS.items():
            count = given[name.replace("-", "_")]
            if not count:
                continue
            tally = trial(count, Path(folder), random.Random(given["seed"]))
            lost = len(tally.lost)
            figures = (tally.tried, tally.at_stake, tally.told, tally.tried - lost, lost)
            table.add_row(tally.name, *map(str, figures))
            losses += [f"{tally.name}: {why}" for why in tally.lost]
    Console(width=120).print(table)
    for why in losses[:20]:
        print(why)
    return 1 if losses else 0


if __name__ == "__main__":
    sys.exit(main())
