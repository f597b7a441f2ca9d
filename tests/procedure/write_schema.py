"""Writes docs/procedure.schema.json anew: ``python -m tests.procedure.write_schema``."""

import json
from pathlib import Path

from fieldnote.procedure import json_schema

if __name__ == "__main__":
    path = Path(__file__).parents[2] / "docs" / "procedure.schema.json"
    path.write_text(
        json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8"
    )
