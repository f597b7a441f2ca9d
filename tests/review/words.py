"""The list of all texts of the review, taken from its templates and modules.

    python -m tests.review.words

writes ``fieldnote/review/catalogue/fieldnote.pot`` and brings the languages beside it up to date:
new texts are added to them empty, texts that are gone are dropped.
"""

from __future__ import annotations

import io
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import read_po, write_po
from jinja2.ext import babel_extract

import fieldnote.review
from fieldnote.review.phrases import WIRE_COLOURS
from fieldnote.review.texts import CATALOGUE

PACKAGE = Path(fieldnote.review.__file__).parent
POT = CATALOGUE / "fieldnote.pot"
IN_PYTHON = {"t": None, "texts": None, "count": (1, 2)}


def collected() -> Catalog:
    """All texts, each with the files that use it."""
    catalogue = Catalog(project="Fieldnote review", fuzzy=False, charset="utf-8")
    for path in sorted(PACKAGE.rglob("*.py")):
        with path.open("rb") as file:
            for line, message, _, _ in extract("python", file, keywords=IN_PYTHON):
                add(catalogue, message, path, line)
    for path in sorted(PACKAGE.rglob("*.html")):
        with path.open("rb") as file:
            for line, _, message, _ in babel_extract(file, ("_", "ngettext"), (), {}):
                add(catalogue, message, path, line)
    for name, _ in WIRE_COLOURS.values():
        add(catalogue, name, PACKAGE / "phrases.py", 0)
    return catalogue


def add(catalogue: Catalog, message: object, path: Path, line: int) -> None:
    if isinstance(message, tuple):
        parts = tuple(part for part in message if isinstance(part, str))[:2]
        message = parts[0] if len(parts) == 1 else parts
    if message:
        where = path.relative_to(PACKAGE).as_posix()
        catalogue.add(message, locations=[(where, line)])  # type: ignore[arg-type]


def texts_of(catalogue: Catalog) -> set[str | tuple[str, ...]]:
    return {
        tuple(message.id) if isinstance(message.id, list | tuple) else message.id
        for message in catalogue
        if message.id
    }


def written(catalogue: Catalog) -> bytes:
    out = io.BytesIO()
    write_po(out, catalogue, width=100, no_location=True, sort_output=True, omit_header=False)
    kept = (line for line in out.getvalue().splitlines(True) if b"-Date:" not in line)
    return b"".join(kept)  # no dates: the same words are the same file


def main() -> None:
    words = collected()
    POT.write_bytes(written(words))
    for path in sorted(CATALOGUE.glob("*.po")):
        with path.open("rb") as file:
            language = read_po(file, locale=path.stem)
        language.update(words, no_fuzzy_matching=True)
        language.obsolete.clear()
        path.write_bytes(written(language))
    print(f"{len(texts_of(words))} texts")


if __name__ == "__main__":
    main()
