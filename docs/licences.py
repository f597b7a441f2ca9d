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
    "check": "Added for the tests, benchmarks and the extra `pdf`",
}
# Where a package's metadata is silent or misleading: what its own files say, settled by hand.
SETTLED: dict[str, str] = {
    "axe-playwright-python": "MIT (its LICENSE file); carries axe-core, MPL-2.0",
}
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
    return "\n".join(lines)


if __name__ == "__main__":
    print(page(), end="")
