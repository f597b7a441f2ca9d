"""What helps whoever writes a procedure: the template, and the sheet on paper."""

import shutil
import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest

from fieldnote.procedure import check, digest_text, load, sheet, shipped, template
from fieldnote.procedure.loading import _step_models


def test_the_template_loads_and_shows_every_kind(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(template(), encoding="utf-8")
    assert check(path) == []
    kinds = {step.kind for step in load(path).steps}
    every = {model.model_fields["kind"].annotation.__args__[0] for model in _step_models()}
    assert every == kinds


@pytest.mark.parametrize("name", shipped())
def test_the_sheet_has_every_step_its_limits_and_cautions(name: str) -> None:
    procedure = load(name)
    page = sheet(procedure)
    assert "<script" not in page
    assert page.count("<section>") == len(procedure.steps) + 1
    for step in procedure.steps:
        if step.window is not None:
            assert step.window.describe() in page
    assert procedure.digest in page


def test_the_sheet_has_the_limits_of_points_travels_and_formulas() -> None:
    loop = sheet(load("current-loop"))
    for milliamps in ("4.00", "8.00", "12.00", "16.00", "20.00"):
        assert f"{milliamps} ± 0.08 mA" in loop
    steering = sheet(load("steering-timing"))
    assert "from 35 to -30° within 28 s" in steering
    assert "no step above 20°" in steering
    # IEC 60751 at 100 °C: 138.51 Ω, ±0.30 Ω in class B and ±0.13 Ω in class A.
    assert "at 100 °C: 138.2 to 138.81 Ω; 138.37 to 138.64 Ω where class A" in sheet(load("pt100"))
    # 10 kΩ · exp(3435 · (1/273.15 - 1/298.15)) = 28.704 kΩ at 0 °C, ± 5 %.
    assert "at 0 °C: 27.269 to 30.14 kΩ" in sheet(load("thermistor"))


@pytest.mark.skipif(not shutil.which("chromium"), reason="needs Debian's chromium")
def test_the_printed_qr_code_is_read_back_as_the_digest(tmp_path: Path) -> None:
    procedure = load("rudder-angle-sender")
    page, picture = tmp_path / "sheet.html", tmp_path / "sheet.png"
    page.write_text(sheet(procedure), encoding="utf-8")
    subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--window-size=1000,1400",
         f"--screenshot={picture}", page.as_uri()],
        check=True, capture_output=True, timeout=60,
    )  # fmt: skip
    image = cv2.imread(str(picture))
    assert isinstance(image, np.ndarray)
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(image)
    assert text == digest_text(procedure)


def test_text_of_a_procedure_cannot_become_markup(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(template().replace("What the job is called", "<b>bold</b>"), encoding="utf-8")
    assert "&lt;b&gt;bold" in sheet(load(path))
