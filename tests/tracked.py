"""What is committed: for tests of the checkout itself."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


def tracked() -> list[str]:
    """Paths of all tracked files that are there, below ROOT."""
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("This is no git checkout, so it cannot be told what is tracked.")
    return [name for name in filter(None, listed.split("\0")) if (ROOT / name).is_file()]
