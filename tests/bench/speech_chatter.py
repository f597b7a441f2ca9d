"""False entries in talk and noise: ``python -m tests.bench.speech_chatter FOLDER``.

FOLDER has sound files without a reading, such as the ``chatter`` set of ``speech_voices``; noise
of two kinds is added here. Anything stored is false; it is printed and counted by the hour.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

import numpy as np
import soundfile

from fieldnote.session.interpret import hear_files
from tests.bench.speech_noise import RATE, engine, pink

NOISE_SECONDS = 60


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--every", type=int, default=1, help="of so many files take one")
    options = parser.parse_args()
    files = sorted(options.folder.glob("*.wav"))[:: options.every]
    with tempfile.TemporaryDirectory() as folder:
        rng = np.random.default_rng(7)
        for kind in (pink, engine):
            noise = 0.2 * kind(NOISE_SECONDS * RATE, rng)
            files.append(Path(folder) / f"{kind.__name__}.wav")
            soundfile.write(files[-1], np.clip(noise, -1, 1), RATE)
        counts = {"none": 0, "unclear": 0, "stored": 0}
        for line in hear_files(files):
            kind = line["kind"] if line["kind"] in counts else "stored"
            counts[kind] += 1
            if kind == "stored":
                print(f"{line['file']}: {line['kind']} “{line['heard']}” ({line['confidence']})")
        seconds = sum(soundfile.info(file).duration for file in files)
    print(f"{seconds / 60:.1f} minutes, {len(files)} files: {counts}")


if __name__ == "__main__":
    main()
