"""Pictures as phones make them come in upright; what is no picture is refused with the mend."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from fieldnote.errors import BadInputError
from fieldnote.photo import crop_bytes, explain, look, read_picture
from fieldnote.photo.display import Display
from fieldnote.photo.picture import WORKING_SIDE
from fieldnote.session.seen import look_files
from fieldnote.session.wording import entry_text
from tests.photo.panels import meter, photograph


def _corners() -> Image.Image:
    """Red top left, green top right, blue bottom left."""
    pixels = np.zeros((60, 100, 3), np.uint8)
    pixels[:30, :50, 0] = pixels[:30, 50:, 1] = pixels[30:, :50, 2] = 255
    return Image.fromarray(pixels)


# EXIF 2.3 (CIPA DC-008), tag 0x0112: how a camera held that way stores the picture.
_STORED = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    6: Image.Transpose.ROTATE_90,
    8: Image.Transpose.ROTATE_270,
}


@pytest.mark.parametrize("orientation", _STORED)
@pytest.mark.parametrize("suffix", [".jpg", ".png", ".webp"])
def test_exif_orientation_is_applied(tmp_path: Path, orientation: int, suffix: str) -> None:
    path = tmp_path / f"held{suffix}"
    exif = Image.Exif()
    exif[0x0112] = orientation
    _corners().transpose(_STORED[orientation]).save(path, exif=exif)
    pixels = read_picture(path).pixels
    assert pixels.shape == (60, 100, 3)
    assert [int(pixels[y, x].argmax()) for y, x in ((10, 10), (10, 90), (50, 10))] == [2, 1, 0]


def test_damaged_exif_does_not_lose_the_picture(tmp_path: Path) -> None:
    path = tmp_path / "odd.jpg"
    _corners().save(path, exif=b"Exif\x00\x00MM\x00*\xff\xff\xff\xff")
    assert read_picture(path).pixels.shape == (60, 100, 3)


def test_heic(tmp_path: Path) -> None:
    heif = pytest.importorskip("pillow_heif")
    path = tmp_path / "phone.heic"
    heif.from_pillow(_corners().resize((400, 240))).save(path, quality=90)
    pixels = read_picture(path).pixels
    assert pixels.shape == (240, 400, 3)
    assert pixels[20, 20].argmax() == 2


@pytest.mark.parametrize("mode", ["L", "1", "P", "RGBA", "LA", "CMYK", "I;16"])
def test_colour_modes(tmp_path: Path, mode: str) -> None:
    path = tmp_path / ("cmyk.tif" if mode == "CMYK" else "mode.png")
    if mode == "I;16":
        Image.fromarray((np.arange(6000).reshape(60, 100) * 10).astype(np.uint16)).save(path)
    else:
        _corners().convert(mode).save(path)
    pixels = read_picture(path).pixels
    assert pixels.shape == (60, 100, 3)
    assert np.ptp(pixels) > 100


def test_transparent_parts_are_white(tmp_path: Path) -> None:
    path = tmp_path / "cut-out.png"
    Image.new("RGBA", (40, 40), (0, 0, 0, 0)).save(path)
    assert (read_picture(path).pixels == 255).all()


def test_50_megapixels_are_reduced_and_boxes_are_not(tmp_path: Path) -> None:
    path = tmp_path / "phone.jpg"
    cv2.imwrite(str(path), np.full((6144, 8192, 3), 127, np.uint8))
    picture = read_picture(path)
    assert max(picture.pixels.shape) == WORKING_SIDE
    assert picture.scale == 8192 / WORKING_SIDE


def _png_claiming(width: int, height: int) -> bytes:
    def chunk(name: bytes, body: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(name + body))
        return struct.pack(">I", len(body)) + name + body + check

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress(bytes(1000))
    parts = chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts


def _bad(name: str) -> bytes:
    good = cv2.imencode(".jpg", np.random.default_rng(1).integers(0, 255, (300, 400, 3)))[1]
    return {
        "text.jpg": b"12.48 V, written down by hand\n" * 9,
        "empty.jpg": b"",
        "one-pixel.png": cv2.imencode(".png", np.zeros((1, 1, 3), np.uint8))[1].tobytes(),
        "thin.png": cv2.imencode(".png", np.zeros((400, 3, 3), np.uint8))[1].tobytes(),
        "cut-short.jpg": good.tobytes()[:9000],
        "head-only.jpg": good.tobytes()[:25],
        "bomb.png": _png_claiming(60_000, 60_000),
        "lying.png": _png_claiming(4_000, 3_000),
        "clip.mp4": b"\x00\x00\x00\x18ftypmp42" + bytes(200),
        "not.heic": b"\x00\x00\x00\x18ftypheic" + bytes(200),
    }[name]


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("text.jpg", "not a picture"),
        ("empty.jpg", "empty"),
        ("one-pixel.png", "too small"),
        ("thin.png", "too small"),
        ("cut-short.jpg", "cut short"),
        ("head-only.jpg", "not a picture|cut short"),
        ("bomb.png", "120 million"),
        ("lying.png", "cut short"),
        ("clip.mp4", "video"),
        ("not.heic", "not a picture|damaged"),
    ],
)
def test_bad_files_are_refused_in_one_sentence(tmp_path: Path, name: str, says: str) -> None:
    path = tmp_path / name
    path.write_bytes(_bad(name))
    with pytest.raises(BadInputError, match=says) as caught:
        look(path)
    assert str(path) in str(caught.value)
    assert caught.value.mend


def test_missing_file_and_folder(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="no such file"):
        look(tmp_path / "absent.jpg")
    with pytest.raises(BadInputError, match="folder"):
        look(tmp_path)


def test_where_a_photo_was_taken_is_not_carried_on(tmp_path: Path) -> None:
    path = tmp_path / "located.jpg"
    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "N", 2: (1.0, 2.0, 3.0), 3: "E", 4: (4.0, 5.0, 6.0)})
    Image.fromarray(photograph(meter("1.234"), 5)).save(path, exif=exif)
    with Image.open(path) as original:
        assert original.getexif().get_ifd(0x8825)
    display = Display("1.234", 0.9, ((300, 250), (600, 250), (600, 350), (300, 350)), "segments")
    for written in (_saved(tmp_path, crop_bytes(path, display)),
                    explain(path, [display], tmp_path / "why.jpg")):  # fmt: skip
        with Image.open(written) as image:
            assert not dict(image.getexif())
            assert b"GPS" not in written.read_bytes()


def _saved(folder: Path, data: bytes) -> Path:
    path = folder / "crop.jpg"
    path.write_bytes(data)
    return path


def test_a_screenshot_is_told_and_read_all_the_same(tmp_path: Path) -> None:
    screen = np.full((800, 480, 3), 245, np.uint8)
    panel = meter("24.68", "V")
    screen[200 : 200 + panel.shape[0], 40 : 40 + panel.shape[1]] = panel
    drawn, taken = tmp_path / "screen.png", tmp_path / "photo.png"
    cv2.imwrite(str(drawn), screen)
    cv2.imwrite(str(taken), photograph(panel, 5))
    (display, *_) = look(drawn)
    assert display.characters == "24.68"
    assert "screenshot" in " ".join(display.notes)
    assert not look(taken)[0].notes
    assert "screenshot" in entry_text(next(look_files([drawn])))


@pytest.mark.parametrize(("level", "says"), [(4, "dark"), (253, "over-exposed")])
def test_a_picture_that_shows_nothing_says_why(tmp_path: Path, level: int, says: str) -> None:
    path = tmp_path / "nothing.jpg"
    grain = np.random.default_rng(1).normal(level, 2, (300, 400, 3))
    cv2.imwrite(str(path), grain.clip(0, 255).astype(np.uint8))
    (line,) = look_files([path])
    assert line["kind"] == "none"
    assert says in line["reason"]
    assert "closer" in line["reason"]
