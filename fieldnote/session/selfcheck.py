"""Looks at every part of the installation without loading a model."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from fieldnote.errors import FieldnoteError

ROOM_WANTED = 500_000_000
"""Bytes of free disk below which the self-check warns: an hour of clips and some pictures."""


@dataclass(frozen=True, slots=True)
class Part:
    """One line. needed: without it the main job cannot be done at all."""

    name: str
    present: bool
    what: str
    mend: str = ""
    needed: bool = True


def parts(home: Path | None) -> Iterator[Part]:
    """Every part, in the order a reading meets them."""
    yield from _speech()
    yield from _photo()
    yield _microphone()
    yield _voice()
    yield from _log(home)


def _speech() -> Iterator[Part]:
    from fieldnote.speech import available

    statuses = available()
    for status in statuses:
        needed = not any(each.present for each in statuses)
        yield Part(f"ear: {status.name}", status.present, status.detail, status.mend, needed)


def _photo() -> Iterator[Part]:
    from fieldnote.photo import readers

    for status in readers():
        yield Part(f"eye: {status.name}", status.present, status.what, status.mend, needed=False)


def _microphone() -> Part:
    from fieldnote.speech.microphone import load_sounddevice

    try:
        device = load_sounddevice().query_devices(kind="input")
    except FieldnoteError as error:
        return Part("microphone", False, error.what, error.mend, needed=False)
    except Exception as error:  # PortAudio names its own reasons; none of them stops the rest
        mend = "plug one in; sound files can be taken without it"
        return Part("microphone", False, f"none found ({error})", mend, needed=False)
    return Part("microphone", True, str(device["name"]), needed=False)


def _voice() -> Part:
    if shutil.which("espeak-ng"):
        return Part("voice", True, "espeak-ng reads entries back", needed=False)
    return Part(
        "voice", False, "no read-back aloud", "sudo apt-get install espeak-ng", needed=False
    )


def _log(home: Path | None) -> Iterator[Part]:
    from fieldnote.joblog import JobLog

    try:
        with JobLog.open(home) as log:
            yield Part("job log", True, f"{log.home}, {len(log.jobs())} jobs")
            free = shutil.disk_usage(log.home).free
    except FieldnoteError as error:
        yield Part("job log", False, error.what, error.mend)
        return
    mend = "" if free > ROOM_WANTED else "make room, or move old evidence to an archive"
    yield Part("disk space", free > ROOM_WANTED, f"{free / 1e9:.1f} GB free", mend)
