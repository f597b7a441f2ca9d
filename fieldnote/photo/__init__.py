"""Displays in pictures: found, brought upright, read, and either taken or asked about."""

from fieldnote.photo.burst import Burst, BurstReading, read_burst
from fieldnote.photo.display import Box, Display
from fieldnote.photo.explain import crop_bytes, explain
from fieldnote.photo.looking import advice, look, look_at, reader_named, readers
from fieldnote.photo.picture import Picture, read_picture
from fieldnote.photo.profile import DisplayProfile, DisplayRange, GaugeScale
from fieldnote.photo.reading import ReaderStatus

__all__ = [
    "Box", "Burst", "BurstReading", "Display", "DisplayProfile", "DisplayRange", "GaugeScale",
    "Picture", "ReaderStatus", "advice", "crop_bytes", "explain", "look", "look_at", "read_burst",
    "read_picture", "reader_named", "readers",
]  # fmt: skip
