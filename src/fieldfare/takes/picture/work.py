"""Cameras and second recorders against a take from end to end: found, our mix laid under them, edit lists written."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from fieldfare.show.files import refuse, whole_folder, write_whole
from fieldfare.show.mix import SHEET_FILE, read_mix
from fieldfare.show.picture import Clip, Device, Laid, PictureReport
from fieldfare.show.record import Place3
from fieldfare.takes.axis import Axis
from fieldfare.takes.picture.edit import Piece, clock_of, pieces_of
from fieldfare.takes.picture.edl import edit_list
from fieldfare.takes.picture.lay import Mix, covering, lay, suffix_for
from fieldfare.takes.picture.media import clip_name, media_files, probe
from fieldfare.takes.picture.onto import onto_take
from fieldfare.takes.picture.otio import timeline, write_otio
from fieldfare.takes.picture.sync import subject_of, sync_device
from fieldfare.takes.rough.choose import Stretch
from fieldfare.takes.rough.render import pieces_of as rendered_pieces
from fieldfare.takes.wave import read_head
from fieldfare.units.faults import Fault, NotDone
from fieldfare.units.text import file_stem, free_name, joined_stem

REPORT = "picture.json"
LEAST_S = 3.0  # of a song that a clip has to hold to be laid under it
Tell = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Camera:
    """A camera or a second recorder."""

    name: str
    path: Path  # its file, or the folder of its clips
    at: Place3 | None = None  # where it stood, where somebody said [m]


@dataclass(frozen=True, slots=True)
class Pictures:
    """Clips whose places in a take were found, and what goes with them."""

    report: PictureReport
    camera: tuple[Camera, ...]  # as they were given
    mix: tuple[Mix, ...] = ()  # ours
    song: tuple[Stretch, ...] = ()  # in samples; the whole clips where there are none

    def path_of(self, device: Device, clip: Clip) -> Path:
        """Return where a clip lies."""
        root = next(camera.path for camera in self.camera if camera.name == device.name)
        if not root.is_dir() or (root / clip.file).is_file():
            return root / clip.file if root.is_dir() else root
        return next(path for path in media_files(root) if clip_name(path, root) == clip.file)


def find_cameras(
    axis: Axis,
    cameras: Sequence[Camera],
    temperature_c: float | None = None,
    tell: Tell | None = None,
    *,
    known: Mapping[str, Device] = {},
    keep: Callable[[Device], None] | None = None,
) -> PictureReport:
    """Find where the clips of several cameras lie in a take.

    Parameters
    ----------
    axis
        The take.
    cameras
        Which, no two of one name.
    temperature_c
        Of the room, where somebody said. [°C]
    tell
        Called with what is being done and the share of it that is done.
    known
        Cameras whose clips were found before, by name; they are not looked for again.
    keep
        Called with each camera as soon as its clips are found.

    Raises
    ------
    Fault
        A camera has no such file, one cannot be read, or two are called the same.
    """
    names = [camera.name for camera in cameras]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise Fault(f"two cameras are called {twice}", "--camera", "give each a name of its own")
    for camera in cameras:
        media_files(camera.path)  # before anything is listened to
    devices = dict(known)
    missing = [camera for camera in cameras if camera.name not in known]
    subject = subject_of(axis, temperature_c, tell) if missing else None
    for camera in missing:
        assert subject is not None
        found = devices[camera.name] = sync_device(subject, camera.name, camera.path, camera.at, tell)
        if keep is not None:
            keep(found)
    told = tuple(devices[camera.name] for camera in cameras)
    return PictureReport(take=axis.name, rate_hz=axis.rate_hz, frames=axis.frames, device=told)


def mixes_of(path: Path, axis: Axis) -> tuple[Mix, ...]:
    """Read which mixes there are: a stereo WAV that begins with the take, or the folder of a rough mix with its sheet.

    Raises
    ------
    Fault
        Nothing there can be laid under a picture of this take.
    """
    if path.is_file():
        mixes = [Mix(path, 0, path.stem)]
    elif (path / SHEET_FILE).is_file():
        sheet = read_mix(path / SHEET_FILE)
        if sheet.take != axis.name:
            raise Fault(f"is a mix of {sheet.take}, not of {axis.name}", str(path), "name the take's own with --take")
        pieces = rendered_pieces(axis, sheet, whole=True)
        mixes = [Mix(file, one.start, one.title) for one in pieces if (file := path / f"{one.name}.wav").is_file()]
    else:
        mixes = []
    if not mixes:
        raise Fault("there is no mix in WAV", str(path), "name a stereo WAV, or the folder of a rough mix")
    for mix in mixes:
        _check(mix.path, axis.rate_hz)
    return tuple(mixes)


def _check(path: Path, rate_hz: int) -> None:
    head = read_head(path)
    if head.state == "unreadable" or head.channels != 2 or head.rate_hz != rate_hz:
        raise Fault(f"is not a stereo mix at {rate_hz} Hz", str(path), "render it as WAV at the rate of the take")


def lay_mixes(pictures: Pictures, folder: Path, tell: Tell | None = None) -> PictureReport:
    """Write every camera's pictures with our mix under them: a file a clip and song, or a clip without songs.

    Parameters
    ----------
    pictures
        Where the clips lie, and our mixes.
    folder
        A new one; it must not be there, or hold nothing.
    tell
        Called with what is being done and the share of it that is done.

    Returns
    -------
    The report with what was laid.

    Raises
    ------
    Fault
        No clip with pictures was found where a mix is.
    NotDone
        The folder holds something, or cannot be written; nothing is there.
    """
    refuse(folder)
    report = pictures.report
    jobs = list(_jobs(pictures))
    if not jobs:
        raise Fault(
            "no clip with pictures was found where a mix is", "--lay-to", "look at what was found, and at --mix"
        )
    laid: list[Laid] = []
    with whole_folder(folder) as part:
        for number, (device, clip, mix, span_s, name) in enumerate(jobs):
            if tell is not None:
                tell(f"laying {name}", number / len(jobs))
            laid.append(lay(probe(pictures.path_of(device, clip)), clock_of(clip), mix, part / name,
                            device=device.name, rate_hz=report.rate_hz, span_s=span_s))  # fmt: skip
        done = report.model_copy(update={"laid": tuple(laid)})
        write_whole(part / REPORT, done.model_dump_json(indent=1).encode())
    return done


_Job = tuple[Device, Clip, Mix, tuple[float, float] | None, str]


def _jobs(pictures: Pictures) -> Iterator[_Job]:
    """What is laid under what: each song's own mix, or the mix of all, under each clip that was running then."""
    songs, mixes, rate_hz = pictures.song, pictures.mix, pictures.report.rate_hz
    whole = [mix for mix in mixes if mix.title not in {song.title for song in songs}] or list(mixes)
    names: list[str] = []
    for device in pictures.report.device:
        for clip in device.clip:
            if not clip.found or not clip.picture_rate:
                continue
            suffix = suffix_for(probe(pictures.path_of(device, clip)))
            if not suffix:
                continue
            shot = Path(clip.file).stem
            if not songs:
                names.append(free_name(joined_stem(device.name, shot), suffix, names))
                yield device, clip, whole[0], None, names[-1]
                continue
            spans = [(song.start / rate_hz, song.end / rate_hz) for song in songs]
            running = [
                place for place, span in enumerate(spans) if covering([(clip.start_s, clip.end_s)], span, LEAST_S)
            ]
            for place in running:
                song = songs[place]
                own = next((mix for mix in mixes if mix.title == song.title), whole[0])
                stem = joined_stem(f"{place + 1:02d}", song.title, device.name, shot)
                names.append(free_name(stem, suffix, names))
                yield device, clip, own, spans[place], names[-1]


def write_onto(pictures: Pictures, folder: Path, tell: Tell | None = None) -> PictureReport:
    """Write the sound of every recorder without pictures on the take's axis, a file a clip, as long as the take.

    Parameters
    ----------
    pictures
        Where the clips lie.
    folder
        A new one; it must not be there, or hold nothing.
    tell
        Called with what is being done and the share of it that is done.

    Raises
    ------
    Fault
        No recorder was found.
    NotDone
        The folder holds something, or cannot be written; nothing is there.
    """
    refuse(folder)
    report = pictures.report
    clips = [(device, clip) for device in report.device for clip in device.clip if clip.found and not clip.picture_rate]
    if not clips:
        raise Fault("no recorder without pictures was found", "--onto-take", "look at what was found")
    note: list[str] = []
    names: list[str] = []
    with whole_folder(folder) as part:
        for device, clip in clips:
            if tell is not None:
                tell(f"resampling {clip.file}", len(names) / len(clips))
            names.append(free_name(joined_stem(device.name, Path(clip.file).stem), ".wav", names))
            media = probe(pictures.path_of(device, clip))
            over = onto_take(media, clock_of(clip), part / names[-1], report.rate_hz, report.frames)
            if over:
                note.append(f"{names[-1]}: {over} samples went over full scale in resampling and are held there")
    files = tuple(str(folder / name) for name in names)
    return report.model_copy(update={"onto": files, "note": (*report.note, *note)})


def shown(pictures: Pictures) -> list[tuple[Device, tuple[Piece, ...]]]:
    """Return the cameras with pictures in the take, each with its pieces; none where only sound was found."""
    report = pictures.report
    cut = [(device, pieces_of(device, pictures.song, report.rate_hz, report.frames)) for device in report.device]
    return [(device, pieces) for device, pieces in cut if pieces]


def write_edits(pictures: Pictures, folder: Path, title: str) -> PictureReport:
    """Write a timeline of all cameras (OpenTimelineIO) and an edit list for each (CMX 3600 form), songs marked.

    Parameters
    ----------
    pictures
        Where the clips lie, our mixes for the timeline's sound track, and the songs.
    folder
        Where they go; made if it is not there. Files of the same name are replaced.
    title
        What they are called.

    Returns
    -------
    The report with the files that were written.

    Raises
    ------
    Fault
        No clip with pictures was found.
    NotDone
        The folder cannot be written.
    """
    report = pictures.report
    cut = shown(pictures)
    if not cut:
        raise Fault("no clip with pictures was found", "--edit-to", "look at what was found")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NotDone(f"cannot be made ({error.strerror})", str(folder), "name another folder") from error
    names = {
        (device.name, clip.file): pictures.path_of(device, clip).resolve().as_uri()
        for device, _ in cut
        for clip in device.clip
    }
    sounds = [(str(mix.path.resolve().as_uri()), mix.start, read_head(mix.path).frames) for mix in pictures.mix]
    stem = file_stem(title, "pictures")
    files = [folder / f"{stem}.otio"]
    write_otio(
        files[0], timeline(title, cut, sorted(sounds, key=lambda one: one[1]), pictures.song, report.rate_hz, names)
    )
    for device, pieces in cut:
        for rate in dict.fromkeys(piece.rate for piece in pieces):
            own = [piece for piece in pieces if piece.rate == rate]
            more = "" if len({piece.rate for piece in pieces}) == 1 else _rate(rate)
            taken = [file.name for file in files]
            files.append(folder / free_name(joined_stem(stem, device.name, more), ".edl", taken))
            text = edit_list(f"{title} {device.name}", own, pictures.song, report.rate_hz)
            write_whole(files[-1], text.encode("ascii", "replace"), replace=True)
    return report.model_copy(update={"edit": tuple(str(file) for file in files)})


def _rate(rate: Fraction) -> str:
    return f"{float(rate):.3f}".rstrip("0").rstrip(".").replace(".", "-")
