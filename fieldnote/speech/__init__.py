"""Sound in, timed words out; and the spoken read-back."""

from fieldnote.speech.catalogue import EngineStatus, available, engines
from fieldnote.speech.engine import SAMPLE_RATE, Engine, Hypothesis, Weigher, Word
from fieldnote.speech.microphone import Gap, Microphone
from fieldnote.speech.segment import Segmenter, Utterance
from fieldnote.speech.sound import Sound, clip_bytes, is_silence, length, level_warnings, read_sound
from fieldnote.speech.source import utterances
from fieldnote.speech.start_word import StartWord
from fieldnote.speech.stream import StreamForm, stream_blocks
from fieldnote.speech.voice import TONES, hush, say, spoken, tone

__all__ = [
    "SAMPLE_RATE",
    "TONES",
    "Engine",
    "EngineStatus",
    "Gap",
    "Hypothesis",
    "Microphone",
    "Segmenter",
    "Sound",
    "StartWord",
    "StreamForm",
    "Utterance",
    "Weigher",
    "Word",
    "available",
    "clip_bytes",
    "engines",
    "hush",
    "is_silence",
    "length",
    "level_warnings",
    "read_sound",
    "say",
    "spoken",
    "stream_blocks",
    "tone",
    "utterances",
]
