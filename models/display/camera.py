"""What a phone does to a picture: light, glare, focus, shake, sensor, sharpening, JPEG."""

from __future__ import annotations

import cv2
import numpy as np

from models.display.panel import colour, swell


def _lighting(rng: np.random.Generator, picture: np.ndarray, harsh: float) -> np.ndarray:
    h, w = picture.shape[:2]
    if rng.random() < 0.6:
        picture *= (1 + harsh * rng.uniform(0.05, 0.5) * swell(rng, h, w))[..., None]
    if rng.random() < 0.25:  # soft glare
        veil = np.clip(swell(rng, h, w, 5) - rng.uniform(0.2, 1.0), 0, 1)
        picture += (veil * harsh * rng.uniform(40, 230))[..., None] * (
            1 + rng.normal(0, 0.08, 3).astype(np.float32)
        )
    if rng.random() < 0.28:  # hard reflections: windows, edges, the hand that holds the phone
        cover = np.zeros((h, w), np.float32)
        for _ in range(int(rng.integers(1, 4))):
            centre = rng.uniform(0, 1, 2) * (w, h)
            corners = centre + rng.normal(size=(int(rng.integers(3, 7)), 2)) * (w * 0.25, h * 0.4)
            cv2.fillPoly(cover, [np.int32(corners)], float(rng.uniform(0.4, 1)), cv2.LINE_AA)
        cover = cv2.GaussianBlur(cover, (0, 0), max(0.5, h * rng.uniform(0.004, 0.08)))
        dark = rng.random() < 0.35
        tone = colour(rng, 0, 60) if dark else colour(rng, 80, 255)
        picture += (cover * harsh * rng.uniform(0.1, 0.6))[..., None] * (
            tone - picture * (1.0 if dark else 0.4)
        )
    if rng.random() < 0.12:  # lamps: burnt spots
        for _ in range(int(rng.integers(1, 4))):
            spot = np.zeros((h, w), np.float32)
            size = max(1, int(h * rng.uniform(0.02, 0.14)))
            cv2.ellipse(
                spot,
                (int(rng.uniform(0, w)), int(rng.uniform(0, h))),
                (size, max(1, int(size * rng.uniform(0.5, 1.5)))),
                rng.uniform(0, 180),
                0,
                360,
                1.0,
                -1,
                cv2.LINE_AA,
            )
            spot = cv2.GaussianBlur(spot, (0, 0), max(0.5, size * rng.uniform(0.1, 0.7)))
            picture += spot[..., None] * rng.uniform(80, 260)
    if rng.random() < 0.08:  # specks of dirt or paint
        for _ in range(int(rng.integers(3, 40))):
            tone = [float(v) for v in np.full(3, rng.uniform(0, 255)) + rng.normal(0, 20, 3)]
            cv2.circle(
                picture,
                (int(rng.uniform(0, w)), int(rng.uniform(0, h))),
                int(rng.integers(0, max(2, h // 24))),
                tone,
                -1,
            )
    if rng.random() < 0.1:  # scratches
        for _ in range(int(rng.integers(1, 7))):
            path = np.cumsum(
                rng.normal(size=(int(rng.integers(2, 9)), 2)) * (w * 0.06, h * 0.12), 0
            ) + rng.uniform(0, 1, 2) * (w, h)
            tone = [float(v) for v in colour(rng)]
            cv2.polylines(picture, [np.int32(path)], False, tone, 1, cv2.LINE_AA)
    return picture


def _exposure(rng: np.random.Generator, picture: np.ndarray) -> np.ndarray:
    if rng.random() < 0.5:  # white balance
        picture *= np.clip(rng.normal(1, 0.12, 3), 0.6, 1.5).astype(np.float32)
    gain = float(np.exp(rng.normal(0, 0.25)))
    if rng.random() < 0.08:
        gain *= rng.choice([rng.uniform(1.4, 2.2), rng.uniform(0.15, 0.5)])
    picture *= gain
    if rng.random() < 0.4:  # haze on the glass, a raised black level
        picture += rng.uniform(0, 60)
        picture *= rng.uniform(0.75, 1.0)
    if rng.random() < 0.25:  # saturation as phones like it, or pale
        grey = picture.mean(2, keepdims=True)
        picture = grey + (picture - grey) * rng.choice(
            [rng.uniform(0.0, 0.8), rng.uniform(1.1, 2.0)]
        )
    return picture


def _focus(rng: np.random.Generator, picture: np.ndarray, harsh: float, unit: float) -> np.ndarray:
    """unit: px of blur that matter, about 1/40 of the digit height."""
    if rng.random() < 0.75:
        picture = cv2.GaussianBlur(
            picture, (0, 0), max(0.25, unit * (0.3 + harsh * rng.uniform(0.1, 1.9)))
        )
    if rng.random() < 0.05 + 0.15 * harsh:  # shake
        length = int(np.clip(unit * rng.uniform(3, 8), 3, 25))
        kernel = np.zeros((length, length), np.float32)
        kernel[length // 2] = 1
        centre = (length / 2 - 0.5, length / 2 - 0.5)
        kernel = cv2.warpAffine(
            kernel, cv2.getRotationMatrix2D(centre, rng.uniform(0, 180), 1), (length, length)
        )
        picture = cv2.filter2D(picture, -1, kernel / max(float(kernel.sum()), 1e-3))
    return picture


def _sensor(rng: np.random.Generator, picture: np.ndarray, harsh: float) -> np.ndarray:
    h, w = picture.shape[:2]
    if rng.random() < 0.7:
        grain = rng.standard_normal((h, w, 3), dtype=np.float32)
        if rng.random() < 0.4:  # as left by the phone's own denoising: coarse
            grain = cv2.GaussianBlur(grain, (0, 0), rng.uniform(0.5, 1.2)) * 2
        picture += grain * (0.8 + harsh * rng.uniform(0, 15))
    if rng.random() < 0.06:  # moiré of a screen's raster
        yy, xx = np.mgrid[0:h, 0:w].astype(np.float32)
        angle, period = rng.uniform(0, np.pi), rng.uniform(2.2, 9)
        wave = np.sin(
            (xx * np.cos(angle) + yy * np.sin(angle)) * 2 * np.pi / period + rng.uniform(0, 6)
        )
        picture *= (1 + rng.uniform(0.03, 0.15) * wave)[..., None]
    if rng.random() < 0.3:  # sharpening halos
        soft = cv2.GaussianBlur(picture, (0, 0), rng.uniform(0.7, 2.0))
        picture = picture + (picture - soft) * rng.uniform(0.3, 1.6)
    return picture


def shoot(
    rng: np.random.Generator, picture: np.ndarray, unit: float, severity: float = 1.0
) -> np.ndarray:
    """An RGB picture in 0..255 (float32, taken over) as a phone would store it (uint8, the same
    shape)."""
    harsh = severity * float(rng.beta(1.3, 1.9)) * 1.3
    picture = _lighting(rng, picture, harsh)
    picture = _exposure(rng, picture)
    picture = _focus(rng, np.clip(picture, 0, 300), harsh, unit)
    picture = _sensor(rng, picture, harsh)
    stored = np.clip(picture, 0, 255).astype(np.uint8)
    if rng.random() < 0.6:
        quality = int(rng.integers(22, 95))
        coded = cv2.imencode(".jpg", stored, [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
        stored = cv2.imdecode(coded, cv2.IMREAD_COLOR)
    return stored
