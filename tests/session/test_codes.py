"""Bar codes and QR codes, made by others' rules: segno's QR, and EAN-13 after GS1's tables."""

from pathlib import Path

import cv2
import numpy as np
import pytest
import segno

from fieldnote.errors import BadInputError
from fieldnote.session.codes import read_codes

# GS1 General Specifications, 5.2.1: number sets A, and which digits of the left half use set B
# (from memory). Set B is set C mirrored, set C the complement of set A.
SET_A = [
    "0001101",
    "0011001",
    "0010011",
    "0111101",
    "0100011",
    "0110001",
    "0101111",
    "0111011",
    "0110111",
    "0001011",
]
PARITY = [
    "AAAAAA",
    "AABABB",
    "AABBAB",
    "AABBBA",
    "ABAABB",
    "ABBAAB",
    "ABBBAA",
    "ABABAB",
    "ABABBA",
    "ABBABA",
]
FLIP = str.maketrans("01", "10")


def ean13(digits: str, bar: int = 4) -> np.ndarray:
    sets = {"A": SET_A, "B": [each.translate(FLIP)[::-1] for each in SET_A]}
    left = "".join(
        sets[s][int(d)] for s, d in zip(PARITY[int(digits[0])], digits[1:7], strict=True)
    )
    right = "".join(SET_A[int(d)].translate(FLIP) for d in digits[7:])
    modules = f"101{left}01010{right}101"
    picture = np.full((220, len(modules) * bar + 160), 255, np.uint8)
    for i, module in enumerate(modules):
        if module == "1":
            picture[30:190, 80 + i * bar : 80 + (i + 1) * bar] = 0
    return picture


def on_a_bench(code: np.ndarray, path: Path, degrees: float) -> Path:
    """The label on a grey bench, turned a little, with a lens's blur and noise."""
    height, width = 700, 900
    turn = cv2.getRotationMatrix2D((code.shape[1] / 2, code.shape[0] / 2), degrees, 1)
    turn[:, 2] += [width / 2 - code.shape[1] / 2, height / 2 - code.shape[0] / 2]
    scene = cv2.warpAffine(code, turn, (width, height), borderValue=(90,))
    noise = np.random.default_rng(3).normal(0, 5, scene.shape)
    blurred = cv2.GaussianBlur(scene, (0, 0), 1.0).astype(float)
    cv2.imwrite(str(path), np.clip(blurred + noise, 0, 255).astype(np.uint8))
    return path


@pytest.mark.parametrize("degrees", [0, 6, -9])
def test_an_ean_13(tmp_path: Path, degrees: float) -> None:
    # The worked example that is used all over GS1's user manuals (from memory): 4006381333931.
    picture = on_a_bench(ean13("4006381333931"), tmp_path / "bars.png", degrees)
    assert read_codes(picture) == ("4006381333931",)


@pytest.mark.parametrize("degrees", [0, 20, 90])
def test_a_qr_code(tmp_path: Path, degrees: float) -> None:
    segno.make("INV-0042 / 7", micro=False).save(str(tmp_path / "qr.png"), scale=9, border=4)
    code = cv2.imread(str(tmp_path / "qr.png"), cv2.IMREAD_GRAYSCALE)
    assert code is not None
    assert read_codes(on_a_bench(code, tmp_path / "scene.png", degrees)) == ("INV-0042 / 7",)


def test_a_picture_without_a_code(tmp_path: Path) -> None:
    blank = np.full((100, 200), 255, np.uint8)
    assert read_codes(on_a_bench(blank, tmp_path / "blank.png", 3)) == ()


def test_what_is_no_picture(tmp_path: Path) -> None:
    (tmp_path / "text.jpg").write_text("no picture")
    with pytest.raises(BadInputError):
        read_codes(tmp_path / "text.jpg")
