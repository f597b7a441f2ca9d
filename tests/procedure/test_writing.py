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
