"""Procedures from files: read, checked, or refused with every problem told."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from fieldnote.errors import BadInputError
from fieldnote.procedure.limits import Limits, Variant
from fieldnote.procedure.model import Fact, Procedure
from fieldnote.procedure.problems import (
    FileProblemsError,
    Loc,
    Problem,
    closest,
    explained,
)
from fieldnote.procedure.steps import Point, Row, Spread, Step, Stretch

_LARGEST = 1_000_000
_Model = TypeVar("_Model", bound=BaseModel)


def shipped() -> list[str]:
    """Names of the procedures that come with the package, sorted."""
    folder = files("fieldnote.procedure") / "library"
    return sorted(
        each.name.removesuffix(".toml") for each in folder.iterdir() if each.name.endswith(".toml")
    )


def load(name_or_path: str | Path) -> Procedure:
    """A procedure by its shipped name, or from a TOML file.

    Raises:
        FileProblemsError: the file is not a good procedure; every problem with its line and mend.
        BadInputError: no such procedure or file.
    """
    where, text = _text(name_or_path)
    return read_model(Procedure, text, where, table="steps", fields_at=_procedure_fields)


def check(path: str | Path) -> list[Problem]:
    """The problems of a procedure file, in the order of its lines; none when it is good."""
    try:
        load(path)
    except FileProblemsError as error:
        return sorted(error.problems, key=lambda each: each.line or 0)
    return []


def json_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of a procedure file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Procedure.model_json_schema(by_alias=True),
    }


def read_model(model: type[_Model], text: str, file: str, *, table: str, fields_at: Any) -> _Model:
    """A checked model from TOML text; `table` is its repeated table, `fields_at` gives known keys.

    Raises:
        FileProblemsError: with every problem.
    """
    try:
        # Floats become Decimal so that 0.10 keeps its digits.
        content = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        message, _, place = str(error).partition(" (at ")
        line = place.removeprefix("line ").partition(",")[0]
        raise FileProblemsError(
            [
                Problem(
                    file,
                    int(line) if line.isdigit() else None,
                    "",
                    f"This is not TOML: {message[:1].lower()}{message[1:]}.",
                    "Look for a missing quote, bracket or equals sign there.",
                )
            ]
        ) from None
    try:
        return model.model_validate(content)
    except ValidationError as error:
        raise FileProblemsError(explained(error, file, text, fields_at, table)) from None


def read_text(path: Path) -> str:
    """The text of a file that a person wrote.

    Raises:
        BadInputError: it is missing, too large, or not text.
    """
    try:
        if path.stat().st_size > _LARGEST:
            raise BadInputError(f"{path} is too large for a text file.", "Is it the right file?")
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise BadInputError(f"There is no file {path}.", "Check the name.") from None
    except IsADirectoryError:
        raise BadInputError(f"{path} is a folder.", "Name a file in it.") from None
    except UnicodeDecodeError:
        raise BadInputError(f"{path} is not a text file.", "Save it as UTF-8 text.") from None
    except OSError as error:
        raise BadInputError(
            f"{path} cannot be read: {error.strerror}.", "Check its permissions."
        ) from None


def _text(name_or_path: str | Path) -> tuple[str, str]:
    name = str(name_or_path)
    if isinstance(name_or_path, str) and name in shipped():
        resource = files("fieldnote.procedure") / "library" / f"{name}.toml"
        return f"{name}.toml (shipped)", resource.read_text(encoding="utf-8")
    path = Path(name_or_path)
    if path.suffix != ".toml" and not path.exists():
        raise BadInputError(
            f"There is no procedure “{name}”.",
            closest(name, shipped()) + " A file of your own ends in .toml.",
        )
    return str(path), read_text(path)


def _procedure_fields(where: Loc) -> list[str]:
    """Names of the keys that may stand at a place, for spelling hints."""
    names = [part for part in where if isinstance(part, str)]
    kinds = {get_args(each.model_fields["kind"].annotation)[0]: each for each in _step_models()}
    below: dict[str, type[BaseModel]] = {
        "window": Limits, "first": Limits, "last": Limits, "variants": Variant, "points": Point,
        "spread": Spread, "rows": Row, "timed": Stretch, "facts": Fact,
    }  # fmt: skip
    model: type[BaseModel] | None = Procedure
    for name in reversed(names):
        if name in below:
            model = below[name]
            break
        if name in kinds:
            model = kinds[name]
            break
    return [field.alias or name for name, field in model.model_fields.items()] if model else []


def _step_models() -> tuple[type[BaseModel], ...]:
    union = get_args(Step)[0]
    return tuple(get_args(union))
