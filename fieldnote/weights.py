"""Where the trained nets lie."""

from __future__ import annotations

import os
from pathlib import Path

from fieldnote.errors import MissingPartError

VARIABLE = "FIELDNOTE_MODELS"


def folders() -> list[Path]:
    """Folders that may hold models: the one in $FIELDNOTE_MODELS, else the checkout's and the
    package's own. What lies beside an installed package is somebody else's."""
    named = os.environ.get(VARIABLE)
    if named:
        return [Path(named)]
    package = Path(__file__).resolve().parent
    checkout = package.parent
    beside = [checkout / "models"] if (checkout / "pyproject.toml").is_file() else []
    return [*beside, package / "models"]


def find_weights(name: str) -> Path | None:
    """Path of `name` (such as "display/reader.onnx") in the first folder that has it."""
    for folder in folders():
        path = folder / name
        if path.is_file():
            return path
    return None


def weights(name: str) -> Path:
    """As `find_weights`.

    Raises:
        MissingPartError: none of the folders has it.
    """
    path = find_weights(name)
    if path is None:
        looked = " or ".join(str(folder) for folder in folders())
        raise MissingPartError(
            f"The net {name} is not in {looked}.",
            f"Take models/{name} from the project's repository, or set {VARIABLE} "
            "to a folder that has it.",
        )
    return path
