"""A small night made of noise: who plays when is written down, so that every edge is known to the sample."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fieldfare.takes.wave import Bext, Cue, Ixml, IxmlTrack, make_bext, make_cues, make_ixml, write

RATE_HZ = 8_000
LONG_S = 115
SONGS_S = ((8.0, 26.0), (36.0, 60.0), (73.0, 105.0))
NAMES = ("kick", "guitar", "bass di", "lead vocal", "room left")
ORIGIN = 19 * 3600 * RATE_HZ
TALK_S = (64.0, 70.0)


def play_night(folder: Path, *, late: int = 0) -> Path:
    """Write the tracks of a night; the last of them armed late by so many samples."""
    take = folder / "take"
    take.mkdir(parents=True)
    rng = np.random.default_rng(5)
    for number, name in enumerate(NAMES, 1):
        sound = 0.0005 * rng.standard_normal(LONG_S * RATE_HZ)
        for song, (begin, end) in enumerate(SONGS_S):
            at = np.arange(round(begin * RATE_HZ), round(end * RATE_HZ))
            beat = (0.5, 0.42, 0.6)[song]
            swing = np.exp(-((at / RATE_HZ - begin) % beat) * 12)
            sound[at] += 0.2 * rng.standard_normal(len(at)) * (0.3 + 0.7 * swing)
        if name == "lead vocal":
            talk = slice(*(round(at * RATE_HZ) for at in TALK_S))
            sound[talk] += 0.1 * rng.standard_normal(talk.stop - talk.start)
        whole = np.rint(np.clip(sound, -1, 1 - 2**-23) * (1 << 23)).astype(np.int32)
        skipped = late if number == len(NAMES) else 0
        chunks = (
            (b"bext", make_bext(Bext(description="a night", time_reference=ORIGIN + skipped, umid=bytes(range(64)),
                                     loudness_lufs=-20.0, history="A=PCM\r\n"))),
            (b"iXML", make_ixml(Ixml(project="A night", rate_hz=RATE_HZ, bits=24, time_reference=ORIGIN + skipped,
                                     family_uid="family", total_files=5, track=(IxmlTrack(number, 1, name),)))),
        )  # fmt: skip
        file = take / f"{number:02d}_{name.replace(' ', '_')}.wav"
        with write(file, RATE_HZ, 24, 1, before=chunks, behind=make_cues([Cue(45 * RATE_HZ, "solo")])) as out:
            out.write(whole[skipped:])
    return folder
