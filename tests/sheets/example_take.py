"""The check of a take, made by hand for its sheet, with findings of every gravity."""

from __future__ import annotations

from sheets.example import english

from fieldfare.show.findings import FileState, Finding, LevelCourse, TakeReport, TrackMeasure

RATE_HZ = 48_000


def take(tracks: int = 20) -> TakeReport:
    """Make the check of a take of nine minutes."""
    rows = tuple(_track(n) for n in range(1, tracks + 1))
    return TakeReport(
        take="Take 1", show="Midwinter Dance", rate_hz=RATE_HZ, frames=540 * RATE_HZ,
        file=tuple(_file(row) for row in rows), track=rows, finding=_findings() if tracks >= 20 else (),
        not_known=("Polarity of tracks 5 and 6: too little in common.",),
    )  # fmt: skip


def _track(n: int) -> TrackMeasure:
    silent = n == 7
    return TrackMeasure(
        file=f"take-01_{n:02d}.wav", label=english(n), channel=1, number=n, input=f"input-{n}", rate_hz=RATE_HZ,
        frames=(531 if n == 4 else 540) * RATE_HZ, bits=24, peak_dbfs=None if silent else -3.2 - n % 9,
        peak_at=1000 * n, rms_dbfs=None if silent else -24.0 - n, loud_dbfs=None if silent else -18.5 - n % 11,
        floor_dbfs=None if silent else -71.3 - n % 13, dc_dbfs=None, clipped_samples=0,
        course=LevelCourse(
            frames=180 * RATE_HZ,
            peak_dbfs=(None,) * 3 if silent else (-12.0, -3.2 - n % 9, -20.0),
            rms_dbfs=(None,) * 3 if silent else (-25.0, -18.5, -70.0),
        ),
    )  # fmt: skip


def _file(row: TrackMeasure) -> FileState:
    return FileState(
        path=row.file, bytes=row.frames * 3, container="WAV", channels=1, rate_hz=RATE_HZ, bits=24, frames=row.frames,
        stated_frames=row.frames, header="good",
    )  # fmt: skip


def _findings() -> tuple[Finding, ...]:
    second = RATE_HZ
    return (
        Finding(
            kind="dead", severity="stop", track="Hand percussion", confidence=1, says="Every sample is zero.",
            remedy="Look whether the line was plugged; the overheads hold the percussion as well.",
        ),
        Finding(
            kind="clipped", severity="warn", track="Snare", start=61 * second, end=61 * second + 40, count=3,
            places=((61 * second, 61 * second + 40), (75 * second, 75 * second + 9), (411 * second, 411 * second + 20)),
            confidence=0.97, says="Three places reach full scale.", remedy="Listen at 0:01:01 before it is mixed.",
        ),
        Finding(
            kind="dropout", severity="stop", track="Lead vocal", start=300 * second, end=302 * second, confidence=0.99,
            says="2.0 s of zeros inside signal.", remedy="Ask whether the house recorded the voice.",
        ),
        Finding(
            kind="wrong length", severity="warn", track="Floor tom", start=531 * second, end=531 * second,
            confidence=1, says="It ends 9.0 s before the others.", remedy="Keep the file as it is; pad a copy.",
        ),
        Finding(
            kind="missing", severity="stop", track="Room right", confidence=1, says="The plan has this track.",
            remedy="Look on the second card.",
        ),
    )  # fmt: skip
