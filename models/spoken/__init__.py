"""The recipe of Fieldnote's own Vosk model: `python -m models.spoken STAGE` from the repository's
root.

The stages, in order: lexicon, synth, train, build (export and graph), evaluate. See
models/README.md.
"""
