"""An installed package has its ear and its eye, also where no checkout lies about."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from zipfile import ZipFile

import pytest

from tests.tracked import ROOT, tracked


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built from what is tracked, so that nothing else of this checkout gets in."""
    source, out = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("dist")
    for name in tracked():
        (source / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, source / name)
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    options = ["--no-deps", "--no-build-isolation", "--no-index", "--wheel-dir", str(out)]
    subprocess.run([*pip, "wheel", *options, str(source)], check=True, timeout=120)
    (built,) = out.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of packages: ours, and a stranger's `models` with a larger vosk model in it."""
    folder = tmp_path_factory.mktemp("installed")
    with ZipFile(wheel) as archive:
        archive.extractall(folder)
    for name, size in [("am/final.mdl", 99_000_000), ("graph/HCLr.fst", 1)]:
        path = folder / "models" / "strange" / name
        path.parent.mkdir(parents=True)
        path.touch()
        os.truncate(path, size)
    return folder


@pytest.fixture
def run(installed: Path, tmp_path: Path):
    """Runs Python elsewhere, with `installed` first on its path."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("FIELDNOTE_")}
    home = str(tmp_path / "home")
    environment = kept | {"PYTHONPATH": str(installed), "FIELDNOTE_HOME": home}

    def python(*arguments: str) -> str:
        command = [sys.executable, "-P", *arguments]
        options = {"cwd": tmp_path, "env": environment, "timeout": 120}
        return subprocess.run(
            command, check=True, stdout=subprocess.PIPE, text=True, **options
        ).stdout

    where = python("-c", "import fieldnote; print(fieldnote.__file__)").strip()
    assert Path(where) == installed / "fieldnote" / "__init__.py"
    return python


def test_it_carries_the_program_and_the_models_but_no_recipe(wheel: Path) -> None:
    program, models = (
        [Path(name) for name in tracked() if name.startswith(f"{part}/")]
        for part in ("fieldnote", "models")
    )
    wanted = {path.as_posix() for path in program if path.suffix != ".pot"}
    wanted |= {
        f"fieldnote/{path.as_posix()}"
        for path in models
        if path.suffix != ".py" and path.parts[1] != "spoken"
    }
    with ZipFile(wheel) as archive:
        carried = {name for name in archive.namelist() if ".dist-info/" not in name}
    assert carried == wanted


def test_the_self_check_finds_ear_and_eye(run) -> None:
    lines = run("-m", "fieldnote", "selfcheck").splitlines()
    for part in ("ear: readings", "ear: witness", "ear: vosk", "eye: nets"):
        assert any(line.startswith(f"present  {part} ") for line in lines), lines
    assert any("model fieldnote-spoken-en" in line for line in lines), lines


def test_it_hears_with_all_of_them(run) -> None:
    sound = str(ROOT / "samples" / "3-resistance.wav")
    lines = run("-m", "fieldnote", "hear", sound, "--json").splitlines()
    heard = [json.loads(line) for line in lines]
    assert {one["engine"] for one in heard} == {"readings+witness+vosk"}
    assert ("27.4", "Ohm") in {(one["value"], one["unit"]) for one in heard}
