"""The pages for people: links that lead somewhere, pins that are named, no traces of a machine."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.tracked import ROOT, tracked

PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
# What tells of one machine or of how the work was arranged, and no user needs. Spelled in halves,
# so that this file does not find itself.
TRACES = re.compile(
    r"(?<!\w)/(?:wo" r"rk|ro" r"ot)/|(?<!\w)/tm" r"p/(?!\$)|\.\./sha" r"red"
    r"|pypi\.o" r"rg|pythonhosted\.o" r"rg|--index-u" r"rl[ =]|proxy\.golang\.o" r"rg"
    r"|\b(?:age" r"nts?|hel" r"pers?)\b",
    re.IGNORECASE,
)  # fmt: skip


def committed() -> dict[str, str]:
    """Path → text of each committed text file."""
    texts = {}
    for name in tracked():
        try:
            texts[name] = (ROOT / name).read_text("utf-8")
        except (UnicodeDecodeError, FileNotFoundError):
            continue
    return texts


@pytest.mark.parametrize("pins", sorted((ROOT / ".requirements").glob("*.txt")), ids=str)
def test_every_pinned_package_has_its_licence_named(pins: Path) -> None:
    page = (ROOT / "docs" / "licences.md").read_text("utf-8")
    rows = dict(re.findall(r"^\| (\S+) \| (\S+) \| \S", page, re.MULTILINE))
    pinned = re.findall(r"^([A-Za-z0-9_.-]+)==(\S+)", pins.read_text("utf-8"), re.MULTILINE)
    assert pinned
    missing = [f"{name} {version}" for name, version in pinned if rows.get(name) != version]
    assert not missing, "run: python docs/licences.py > docs/licences.md"
    assert "not installed here" not in page


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    targets = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", page.read_text("utf-8"))
    broken = [t for t in targets if "://" not in t and not (page.parent / t).exists()]
    assert not broken


def test_nothing_committed_tells_of_a_machine() -> None:
    found = [
        f"{name}: {trace.group()}"
        for name, text in committed().items()
        for trace in TRACES.finditer(text)
    ]
    assert not found
