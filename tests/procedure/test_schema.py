"""The published JSON Schema, checked by an outside validator (the `jsonschema` package)."""

import json
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from fieldnote.procedure import json_schema, shipped, template

PUBLISHED = Path(__file__).parents[2] / "docs" / "procedure.schema.json"


def test_the_published_schema_is_current() -> None:
    assert json.loads(PUBLISHED.read_text(encoding="utf-8")) == json_schema(), (
        "Write it anew: python -m tests.procedure.write_schema"
    )


def errors(content: dict[str, Any]) -> list[str]:
    jsonschema = pytest.importorskip("jsonschema", reason="the outside validator is missing")
    schema = json.loads(PUBLISHED.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    return [each.message for each in validator.iter_errors(content)]


@pytest.mark.parametrize("name", shipped())
def test_every_shipped_procedure_holds_to_it(name: str) -> None:
    folder = files("fieldnote.procedure") / "library"
    text = (folder / f"{name}.toml").read_text(encoding="utf-8")
    assert errors(tomllib.loads(text)) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('kind = "caution"', 'kind = "warning"'),
        ("seconds = 30", "seconds = 0"),
        ('id = "isolated"', 'id = "Is O"'),
        ('unit = "Ohm" ', "unit = 3 "),
        ('mode = "wait"', 'mode = "linger"'),
        ('expect = { 1 = "RD"', 'expect = { 1 = "red"'),
        ('title = "What the job is called"', ""),
        ("ask = ", "aks = "),
    ],
)
def test_faults_of_form_are_seen(old: str, new: str) -> None:
    assert errors(tomllib.loads(template())) == []
    assert old in template()
    assert errors(tomllib.loads(template().replace(old, new, 1)))
