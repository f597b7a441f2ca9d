"""The generator of training pictures and the nets trained on it, against outside references."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont

from models.display import chunks, decode, glyphs, panel, samples, text

WEIGHTS = Path(__file__).parents[2] / "models" / "display"
seeds = st.integers(0, 2**32 - 1)


@given(seeds)
def test_every_reading_can_be_written_in_the_readers_alphabet(seed: int) -> None:
    shown = text.reading(np.random.default_rng(seed))
    assert shown
    assert set(shown) <= set(text.ALPHABET)
    assert shown.count(".") <= 1 or shown in text.STATES
    assert decode.plausible(shown) or set(shown) <= {"-", "."}


@pytest.mark.parametrize("digit", "0123456789")
def test_lit_segments_are_those_of_the_dseg_typeface(digit: str) -> None:
    """Outside source: DSEG7 Classic (Debian fonts-dseg), a typeface of such displays."""
    path = next(p for p in glyphs.segment_fonts("DSEG7") if p.endswith("DSEG7Classic-Bold.ttf"))
    face = ImageFont.truetype(path, 200)
    left, top, right, bottom = face.getbbox("8")
    picture = Image.new("L", (int(right - left), int(bottom - top)), 0)
    ImageDraw.Draw(picture).text((-left, -top), digit, 255, font=face)
    lit = np.asarray(picture) > 128
    h, w = lit.shape
    places = {  # rows and columns that only this segment crosses, as shares of the cell
        "a": (0, 0.12, 0.35, 0.65), "g": (0.44, 0.56, 0.35, 0.65), "d": (0.88, 1, 0.35, 0.65),
        "f": (0.2, 0.4, 0, 0.2), "b": (0.2, 0.4, 0.8, 1),
        "e": (0.6, 0.8, 0, 0.2), "c": (0.6, 0.8, 0.8, 1),
    }  # fmt: skip
    seen = {
        name
        for name, (y0, y1, x0, x1) in places.items()
        if lit[int(y0 * h) : int(y1 * h), int(x0 * w) : int(x1 * w)].mean() > 0.35
    }
    # Makers light segment f of the seven, or don't; so does the generator.
    assert seen - ({"f"} if digit == "7" else set()) == set(glyphs.SEGMENTS[digit])


@settings(deadline=None, max_examples=40)
@given(seeds)
def test_a_lines_characters_stand_in_order_inside_its_extent(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shown = text.reading(rng)
    line = glyphs.line(rng, shown, 40)
    assert line.text == shown
    assert len(line.boxes) == len(shown)
    middles = (line.boxes[:, 0] + line.boxes[:, 2]) / 2
    assert (np.diff(middles) > 0).all()
    left, top, right, bottom = line.extent
    assert right - left > 2
    assert bottom - top == pytest.approx(40, rel=0.35)
    assert line.lit.max() <= 1.0
    inked = np.flatnonzero((line.lit > 0.25).any(0))
    assert (inked[0], inked[-1] + 1) == (left, right)


def test_crops_are_the_same_for_the_same_seed_and_their_labels_lie_inside() -> None:
    rng, again = np.random.default_rng(3), np.random.default_rng(3)
    for _ in range(40):
        crop, twin = samples.crop(rng), samples.crop(again)
        assert crop.text == twin.text
        assert np.array_equal(crop.picture, twin.picture)
        assert len(crop.xs) == len(crop.text) <= samples.LONGEST
        assert ((crop.xs > 0) & (crop.xs < 1)).all()
        assert (np.diff(crop.xs) > 0).all()
        assert (crop.bottoms > crop.tops).all()
        fitted, width = samples.fit(crop.picture)
        net_input = samples.normalise(fitted, width)
        assert net_input.shape == (3, 48, 320)
        assert not net_input[:, :, width:].any()
        assert abs(float(net_input[:, :, :width].mean())) < 1e-4


def test_scenes_mark_only_what_is_in_the_picture() -> None:
    rng = np.random.default_rng(4)
    readings = 0
    for _ in range(15):
        scene = samples.scene(rng)
        assert scene.picture.shape == (samples.FINDER_SIZE, samples.FINDER_SIZE, 3)
        for quad, kind in zip(scene.quads, scene.kinds, strict=True):
            if kind not in (1, 2):
                continue
            readings += kind == 1
            centre = quad.mean(0)
            assert ((centre > 0) & (centre < samples.FINDER_SIZE)).all()
            assert cv2.contourArea(quad) > 8
    assert readings >= 10


@settings(deadline=None, max_examples=10)
@given(seeds, st.integers(1, 3))
def test_chunks_come_back_from_the_wire_as_they_were(seed: int, count: int) -> None:
    chunk = chunks.crop_chunk(np.random.default_rng(seed), count, 0.5)
    wire = io.BytesIO()
    chunks.write(wire, chunk)
    wire.seek(0)
    back = chunks.read(wire)
    assert back is not None
    assert back.keys() == chunk.keys()
    assert all(np.array_equal(back[name], chunk[name]) for name in chunk)
    assert chunks.read(wire) is None


def test_drawing_processes_give_each_training_its_own_copy_and_never_wait(tmp_path: Path) -> None:
    folders = [tmp_path / "one", tmp_path / "two"]
    command = [sys.executable, "-m", "models.display.chunks", "crop", "--seed", "7", "3"]
    command += ["--to", *map(str, folders), "--count", "4", "--most", "1", "--seconds", "2"]
    subprocess.run(command, check=True, timeout=60, cwd=WEIGHTS.parents[1])
    for folder in folders:
        (path,) = folder.iterdir()  # no more than it may hold, and nothing half-written
        with path.open("rb") as source:
            chunk = chunks.read(source)
        assert chunk is not None
        expected = chunks.crop_chunk(np.random.default_rng([7, 3]), 4, 0.8)
        assert all(np.array_equal(chunk[name], expected[name]) for name in expected)


def test_a_drum_counters_digits_are_marked_where_they_stand() -> None:
    rng = np.random.default_rng(8)
    for _ in range(20):
        shown = panel.drums(rng, 48, 0.5)
        (reading,) = shown.readings
        assert len(reading.boxes) == len(reading.text)
        assert (np.diff((reading.boxes[:, 0] + reading.boxes[:, 2]) / 2) > 0).all()
        for char, (left, top, right, bottom) in zip(reading.text, reading.boxes, strict=True):
            part = shown.picture[int(top) : int(bottom) + 1, int(left) : int(right) + 1]
            assert part.std(axis=(0, 1)).max() > 4, char


@pytest.mark.parametrize("shown", ["0.00", "-12.34", "1987.5", "0L", "00471.36", "-0.8"])
def test_the_reader_reads_the_dseg_typeface_set_without_the_generator(shown: str) -> None:
    """Outside source: text drawn by Pillow in DSEG7 Classic (Debian fonts-dseg)."""
    path = next(p for p in glyphs.segment_fonts("DSEG7") if p.endswith("DSEG7Classic-Bold.ttf"))
    face = ImageFont.truetype(path, 60)
    picture = Image.new("RGB", (int(face.getlength(shown)) + 60, 96), (150, 165, 140))
    ImageDraw.Draw(picture).text((30, 18), shown, (40, 45, 40), font=face)
    found = decode.read(decode.network(WEIGHTS / "reader.onnx"), np.asarray(picture))
    assert found.text == shown
    assert found.confidence > 0.5


def test_the_finder_boxes_held_back_scenes_and_tells_which_way_they_read() -> None:
    finder = decode.network(WEIGHTS / "finder.onnx")
    rng = np.random.default_rng(777)  # no training used this seed
    wanted = found = upright = 0
    for _ in range(32):
        scene = samples.scene(rng)
        boxes = decode.find(finder, scene.picture)
        for quad in scene.quads[scene.kinds == 1]:
            wanted += 1
            best = max(boxes, key=lambda box: _overlap(quad, box.quad()), default=None)
            if best is None or _overlap(quad, best.quad()) < 0.5:
                continue
            found += 1
            reads = (quad[1] - quad[0]) / np.linalg.norm(quad[1] - quad[0])
            upright += float(reads @ best.along) > np.cos(np.deg2rad(15))
    assert wanted >= 30
    assert found >= 0.65 * wanted
    assert upright >= 0.9 * found


def _overlap(one: np.ndarray, other: np.ndarray) -> float:
    """Intersection over union of two quads taken as rectangles."""
    a, b = (cv2.minAreaRect(quad.astype(np.float32)) for quad in (one, other))
    _, shared = cv2.rotatedRectangleIntersection(a, b)
    if shared is None:
        return 0.0
    both = cv2.contourArea(shared)
    return both / (np.prod(a[1]) + np.prod(b[1]) - both)


def test_the_score_of_a_string_is_what_all_its_paths_add_up_to() -> None:
    """Checked against adding up every path one by one."""
    rng = np.random.default_rng(5)
    raw = rng.normal(size=(decode.CLASSES, 3))
    scores = decode.log_softmax(raw)
    total: dict[str, float] = {}
    for path in np.ndindex(*(decode.CLASSES,) * 3):
        shown, before = "", 0
        for symbol in path:
            if symbol and symbol != before:
                shown += text.ALPHABET[symbol - 1]
            before = symbol
        chance = float(np.exp(sum(scores[symbol, t] for t, symbol in enumerate(path))))
        total[shown] = total.get(shown, 0.0) + chance
    for shown in ("", "1", "10", "11", "-2.", "0L"):
        assert np.exp(decode.forward(scores, shown)) == pytest.approx(total[shown])
    assert decode.beam(scores, width=50)[0] == max(total, key=lambda key: total[key])
