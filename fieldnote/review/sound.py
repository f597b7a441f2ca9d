"""The piece of a recording in which a reading was said."""

from __future__ import annotations

import base64
import io
from pathlib import Path

import soundfile

LEAD = 0.15  # s kept before and after the words, so that the ear is not cut off
MUCH = 3.0  # s beyond the utterance that make a recording worth cutting
LONGEST = 60.0  # s; a page is no place for a whole recording
SUFFIXES = frozenset({".wav", ".flac", ".ogg", ".oga", ".aiff", ".aif"})


def clip(path: Path, start: str | None = None, end: str | None = None) -> bytes | None:
    """FLAC (lossless) of what was said.

    Args:
        path: usually the clip of one utterance, which is given whole; a longer recording is cut.
        start, end: s within what was recorded, as the log's strings; they tell how long the
            utterance is, and where to cut a recording much longer than it.

    Returns:
        None where the sound is missing, damaged or too short: a report with a gap that it names is
        worth more than no report.
    """
    begin, finish = _seconds(start), _seconds(end)
    try:
        with soundfile.SoundFile(path) as source:
            rate, first, last = source.samplerate, 0, source.frames
            if begin is not None and finish is not None and _is_longer(source, finish - begin):
                first = max(0, int((begin - LEAD) * rate))
                last = min(last, int((finish + LEAD) * rate))
            last = min(last, first + int(LONGEST * rate))
            if last <= first:
                return None
            source.seek(first)
            samples = source.read(last - first, dtype="int16")
    except (OSError, soundfile.LibsndfileError):
        return None
    encoded = io.BytesIO()
    soundfile.write(encoded, samples, rate, format="FLAC", subtype="PCM_16")
    return encoded.getvalue()


def data_uri(sound: bytes) -> str:
    return "data:audio/flac;base64," + base64.b64encode(sound).decode("ascii")


def _is_longer(source: soundfile.SoundFile, utterance: float) -> bool:
    return bool(source.frames / source.samplerate > utterance + MUCH)


def _seconds(text: str | None) -> float | None:
    try:
        return None if text is None else float(text)
    except ValueError:
        return None
