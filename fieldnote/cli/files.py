"""Writing a file for a person: whole, or a message that says why not."""

from __future__ import annotations

from pathlib import Path

from fieldnote.errors import StoreError


def write_text(path: Path, text: str) -> None:
    """Raises StoreError with the file's name when it cannot be written."""
    try:
        path.write_text(text, "utf-8")
    except OSError as error:
        raise StoreError(
            f"{path} could not be written: {error.strerror}.", "Choose another place with --out."
        ) from error
