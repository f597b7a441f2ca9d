"""A display filmed while its value moves: every frame read, times kept, unread frames counted."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from fieldnote.errors import BadInputError
from fieldnote.photo import BurstReading, read_burst
from fieldnote.photo.burst import repaired
from fieldnote.photo.frames import frames
from tests.photo.panels import meter, photograph

VALUES = [f"{12.4 + 0.7 * i:.1f}" for i in range(8)]


def _film(path: Path, pictures: list[np.ndarray], rate: float = 10.0) -> Path:
    height, width = pictures[0].shape[:2]
    code = cv2.VideoWriter.fourcc(*"mp4v")
    video = cv2.VideoWriter(str(path), code, rate, (width, height))
    for picture in pictures:
        video.write(picture)
    video.release()
    return path


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    pictures = [photograph(meter(v), 40, (640, 480), fill=0.6) for v in VALUES]
    pictures.insert(3, np.full_like(pictures[0], 30))  # a hand before the lens
    return _film(tmp_path_factory.mktemp("film") / "moving.mp4", pictures)


def test_every_frame_is_read_with_its_time(film: Path) -> None:
    counted: list[int] = []
    burst = read_burst(film, progress=counted.append)
    assert counted == list(range(1, len(VALUES) + 2))
    assert [r.time for r in burst.readings] == pytest.approx([i / 10 for i in range(9)], abs=0.011)
    assert burst.readings[3].value is None
    # Every value that is given is right; nothing is invented for the frame that shows none.
    shown = [*VALUES[:3], None, *VALUES[3:]]
    given = [(r.value, want) for r, want in zip(burst.readings, shown, strict=True) if r.value]
    assert all(value == want for value, want in given)
    assert len(given) >= 6
    assert burst.unread == 9 - len(given)
    assert burst.to_json()["unread"] == burst.unread


def test_photos_of_a_burst_take_their_times_from_the_camera(tmp_path: Path) -> None:
    for i in range(3):
        exif = Image.Exif()
        exif.get_ifd(0x8769).update({0x9003: f"2026:03:01 10:00:0{i}", 0x9291: "25"})
        Image.new("RGB", (64, 48), "grey").save(tmp_path / f"{i}.jpg", exif=exif)
    Image.new("RGB", (64, 48), "grey").save(tmp_path / "3.png")
    assert [f.time for f in frames(tmp_path)] == [0.0, 1.0, 2.0, None]


def test_what_is_no_burst(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="no pictures"):
        read_burst(tmp_path)
    with pytest.raises(BadInputError, match="no such file"):
        read_burst(tmp_path / "absent.mp4")
    (tmp_path / "text.mp4").write_text("not a film")
    with pytest.raises(BadInputError, match="not a video"):
        read_burst(tmp_path / "text.mp4")


def _frame(i: int, value: str | None, as_read: str | None = None) -> BurstReading:
    return BurstReading(i, i / 10, value, as_read or value or "", 0.9 if value else 0.3)


def test_an_unsure_digit_is_mended_by_agreeing_frames_only() -> None:
    agreed = [_frame(0, "8.31"), _frame(1, "8.31"), _frame(2, None, "8.37"), _frame(3, "8.31"),
              _frame(4, "8.31")]  # fmt: skip
    assert repaired(agreed)[2].value == "8.31"
    assert repaired(agreed)[2].repaired
    assert repaired(agreed)[2].as_read == "8.37"
    moving = [*agreed[:3], _frame(3, "8.32"), _frame(4, "8.33")]
    assert repaired(moving)[2].value is None
    two_digits = [*agreed[:2], _frame(2, None, "3.37"), *agreed[3:]]
    assert repaired(two_digits)[2].value is None
    point = [*agreed[:2], _frame(2, None, "83.1"), *agreed[3:]]
    assert repaired(point)[2].value is None


def test_a_sure_jump_stands() -> None:
    jump = [_frame(0, "8.31"), _frame(1, "8.31"), _frame(2, "8.37"), _frame(3, "8.31"),
            _frame(4, "8.31")]  # fmt: skip
    assert repaired(jump)[2].value == "8.37"
