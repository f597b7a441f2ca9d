"""A travel from a CSV file: one reading a row."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from fieldnote.acceptance.exact import decimal
from fieldnote.acceptance.travel import TravelPoint
from fieldnote.errors import BadInputError
from fieldnote.procedure.loading import read_text
from fieldnote.procedure.problems import closest

COLUMNS = ("value", "position", "seconds")


def read_series(path: Path) -> list[TravelPoint]:
    """Readings from a CSV file with a header: ``value``, and where known ``position``, ``seconds``.

    Commas or semicolons between the columns; with semicolons a decimal comma is understood.

    Raises:
        BadInputError: naming the file, the line and the mend.
    """
    text = read_text(path).removeprefix("\ufeff")
    first = text.partition("\n")[0]
    delimiter = ";" if ";" in first else ","
    rows = list(csv.reader(io.StringIO(text), delimiter=delimiter))
    if not rows:
        raise BadInputError(
            f"{path} is empty.", "Its first line names the columns: value, seconds."
        )
    names = [name.strip().lower() for name in rows[0]]
    for name in names:
        if name not in COLUMNS:
            raise BadInputError(f"{path}, line 1: “{name}” is no column.", closest(name, COLUMNS))
    if "value" not in names:
        raise BadInputError(
            f"{path}, line 1: no column “value”.", "Name the column of readings so."
        )
    points = []
    for number, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(names):
            raise BadInputError(
                f"{path}, line {number}: {len(row)} values for {len(names)} columns.",
                "Give one value a column.",
            )
        cells = {
            name: cell.strip().replace(",", ".") if delimiter == ";" else cell.strip()
            for name, cell in zip(names, row, strict=True)
        }
        for name, cell in cells.items():
            decimal(cell, f"{path}, line {number}: {name}")
        points.append(TravelPoint(cells["value"], cells.get("position"), cells.get("seconds")))
    return points
