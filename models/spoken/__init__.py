"""The recipe of Fieldnote's own Vosk model: `python -m models.spoken STAGE` from the root.

The stages, in order: lexicon, kokoro, synth, digits, train, build; `tests.bench.own_model` scores.
See models/README.md.
"""
