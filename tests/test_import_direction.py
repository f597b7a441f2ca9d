"""The arrows of DEVELOPERS.md: no part reaches against them."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import fieldnote

ROOT = Path(fieldnote.__file__).parent
MAY_IMPORT: dict[str, set[str]] = {
    "language": set(),
    "speech": {"language", "weights"},
    "photo": {"language", "weights"},
    "acceptance": {"language"},
    "procedure": {"acceptance"},
    "session": {"language", "speech", "photo", "acceptance", "procedure", "joblog"},
    "joblog": set(),
    "review": {"joblog", "acceptance"},
}
"""Parts a part may import, beside itself and `errors`. `cli` may import all.

The design lets `session` use the five readers and judges; writing its effects to the log is done in
one module of it, `record`, which is why `joblog` stands here (see the next table)."""

LOGGING = {
    f"{name}.py"
    for name in ("record", "start", "free", "finding", "indexing", "wording", "selfcheck")
}
ONLY_THERE = {("session", "joblog"): LOGGING}
"""Exceptions narrowed to single files: an arrow that only these files may use."""


def imports_of(path: Path) -> set[str]:
    """First-level parts of fieldnote that a file imports, wherever in it the import stands."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import; write the full name"
            names = [node.module or ""]
            if node.module == "fieldnote":
                names = [f"fieldnote.{alias.name}" for alias in node.names]
        found |= {name.split(".")[1] for name in names if name.startswith("fieldnote.")}
    return found


@pytest.mark.parametrize("part", sorted(MAY_IMPORT))
def test_part_keeps_to_the_arrows(part: str) -> None:
    files = sorted((ROOT / part).rglob("*.py"))
    assert files, f"the part {part} is gone; mend this table"
    for file in files:
        others = imports_of(file) - {part, "errors"}
        allowed = {
            other
            for other in MAY_IMPORT[part]
            if file.name in ONLY_THERE.get((part, other), {file.name})
        }
        assert others <= allowed, f"{file.relative_to(ROOT)} imports {sorted(others - allowed)}"


def test_a_wrong_arrow_would_be_seen(tmp_path: Path) -> None:
    wrong = tmp_path / "eye.py"
    wrong.write_text("def f():\n    from fieldnote.acceptance import Window\n    return Window\n")
    assert imports_of(wrong) == {"acceptance"}


def test_every_part_is_in_the_table() -> None:
    parts = {path.parent.name for path in ROOT.glob("*/__init__.py")}
    assert parts == set(MAY_IMPORT) | {"cli"}
