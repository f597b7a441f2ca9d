"""Two reader nets vote: where they differ, the person is asked; alone, one net works as ever."""

from __future__ import annotations

import shutil
import struct
from pathlib import Path

import numpy as np
import pytest

from fieldnote.photo import look_at
from fieldnote.photo.infer import by_opencv, run
from fieldnote.photo.net_reader import NetReader
from fieldnote.photo.nets import READER, SECOND_READER, reader_nets
from fieldnote.photo.strings import ALPHABET
from fieldnote.weights import weights
from tests.photo.panels import meter, photograph


@pytest.fixture
def models(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The project's nets, with a copy of the reader as the second one."""
    source = weights(READER).parent.parent
    for name in ("display", "annunciators"):
        shutil.copytree(source / name, tmp_path / name, ignore=shutil.ignore_patterns("*.py"))
    shutil.copy(source / READER, tmp_path / SECOND_READER)
    monkeypatch.setenv("FIELDNOTE_MODELS", str(tmp_path))
    return tmp_path


def _never_reading(net: Path, character: str) -> None:
    """Takes `character` out of what the net can read, by the bias of its last layer."""
    data = bytearray(net.read_bytes())
    mark = b"head.bias\x4a\x60"  # ONNX TensorProto: raw_data, 24 floats
    at = data.rindex(mark) + len(mark) + 4 * (1 + ALPHABET.index(character))
    (bias,) = struct.unpack_from("<f", data, at)
    struct.pack_into("<f", data, at, bias - 60)
    net.write_bytes(data)


def test_a_second_reader_that_agrees_changes_nothing(models: Path) -> None:
    picture = photograph(meter("-24.68"), 21)
    two = NetReader().read(picture, None)[0]
    (models / SECOND_READER).unlink()
    assert reader_nets() == (READER,)
    one = NetReader().read(picture, None)[0]
    assert (two.characters, two.doubts) == (one.characters, one.doubts) == ("-24.68", ())
    assert two.score == pytest.approx(one.score)


@pytest.mark.parametrize(("missing", "rival"), [(".", "2468"), ("-", "24.68"), ("8", "")])
def test_where_they_differ_both_are_offered(models: Path, missing: str, rival: str) -> None:
    _never_reading(models / SECOND_READER, missing)
    (first, *_) = look_at(photograph(meter("-24.68"), 21), NetReader())
    assert first.kind == "unclear"
    assert first.reason is not None
    assert "two readers differ" in first.reason
    both = {first.characters, *(text for text, _ in first.alternatives[:1])}
    assert "-24.68" in both
    assert len(both) == 2
    assert not rival or any(rival in text for text in both)


def test_each_number_of_readers_has_its_own_threshold(models: Path) -> None:
    assert NetReader().calibration == "nets, two readers"
    (models / SECOND_READER).unlink()
    assert NetReader().calibration == "nets, one reader"


def test_opencv_and_onnxruntime_agree() -> None:
    """Two independent programs run the same net (ONNX operator set 17)."""
    pytest.importorskip("onnxruntime")
    batch = np.random.default_rng(4).normal(size=(2, 3, 48, 320)).astype(np.float32)
    path = weights(READER)
    assert np.abs(run(path, batch) - by_opencv(path)(batch)).max() < 2e-3
