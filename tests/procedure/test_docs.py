"""The page on the format names everything that the format has."""

import re
import tomllib
from pathlib import Path
from typing import get_args

import pytest

from fieldnote.procedure import shipped
from fieldnote.procedure.instruments import Dial, DisplayFacts, Instrument, MeterRange
from fieldnote.procedure.limits import Limits
from fieldnote.procedure.loading import _step_models

PAGE = (Path(__file__).parents[2] / "docs" / "procedure-format.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "model", [*_step_models(), Limits, Instrument, MeterRange, DisplayFacts, Dial]
)
def test_every_key_is_named(model: type) -> None:
    for name, field in model.model_fields.items():  # type: ignore[attr-defined]
        if name == "kind":
            kind = get_args(field.annotation)[0]
            assert f"| `{kind}` |" in PAGE
            continue
        written = field.alias or name
        assert re.search(rf"\b{re.escape(written)}\b", PAGE), f"{model.__name__}.{written}"


def test_every_shipped_procedure_is_named() -> None:
    for name in shipped():
        assert f"`{name}`" in PAGE


def test_every_example_is_toml() -> None:
    blocks = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    assert len(blocks) >= 4
    for block in blocks:
        # Windows are shown one under another as alternatives: each is read on its own.
        windows = [line for line in block.splitlines() if line.startswith("window = ")]
        for text in windows if len(windows) > 1 else [block]:
            tomllib.loads(text)
