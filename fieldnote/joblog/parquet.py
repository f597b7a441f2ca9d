"""Plain rows as Parquet, for analysis at scale; needs the extra ``parquet`` (pyarrow)."""

from __future__ import annotations

import io
from collections.abc import Iterable
from datetime import UTC
from decimal import Decimal, InvalidOperation
from importlib import import_module
from typing import Any

from fieldnote.errors import MissingPartError
from fieldnote.joblog.times import parse_rfc3339

_ROWS_AT_ONCE = 50_000


def as_parquet(table: Iterable[dict[str, Any]]) -> bytes:
    """A Parquet file of :data:`fieldnote.joblog.exports.COLUMNS`; see docs/exports.md.

    Raises:
        MissingPartError: pyarrow is not installed.
    """
    try:
        pa, pq = import_module("pyarrow"), import_module("pyarrow.parquet")
    except ImportError as error:
        raise MissingPartError(
            "Exports to Parquet need the package pyarrow.", "pip install 'fieldnote[parquet]'"
        ) from error
    text = pa.string()
    schema = pa.schema(
        [
            ("job", text),
            ("asset", text),
            ("serial", text),
            ("number", pa.int32()),
            ("at", pa.timestamp("us", tz="UTC")),
            ("at_text", text),
            ("kind", text),
            ("state", text),
            ("label", text),
            ("value", text),
            ("value_number", pa.float64()),
            ("decimals", pa.int16()),
            ("unit", text),
            ("verdict", text),
            ("margin", text),
            ("text", text),
            ("evidence", pa.list_(text)),
            ("hash", text),
        ],
        metadata={"about": "value and margin hold the exact digits; units are UCUM codes"},
    )
    out = io.BytesIO()
    with pq.ParquetWriter(out, schema, compression="zstd") as writer:
        batch: list[dict[str, Any]] = []
        for row in table:
            batch.append(_typed(row))
            if len(batch) == _ROWS_AT_ONCE:
                writer.write_table(pa.Table.from_pylist(batch, schema))
                batch.clear()
        writer.write_table(pa.Table.from_pylist(batch, schema))
    return out.getvalue()


def _typed(row: dict[str, Any]) -> dict[str, Any]:
    texts = ("asset", "serial", "margin", "text")  # facts may be any JSON
    plain = {name: None if row[name] is None else str(row[name]) for name in texts}
    try:
        number = None if row["value"] is None else float(Decimal(row["value"]))
    except InvalidOperation:
        number = None
    at = parse_rfc3339(row["at"]).astimezone(UTC)
    return {**row, **plain, "at": at, "at_text": row["at"], "value_number": number}
