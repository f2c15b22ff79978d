"""From what sounds to what hears: distance, delay, loss, pattern and gain of every path on the stage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, copysign, dist, log10

from fieldfare.physics.acoustics import NEAREST_M, USUAL_C, diffuse_level_db, speed_of_sound
from fieldfare.physics.levels import A_OF_WHITE_DB, sum_incoherent
from fieldfare.physics.microphones import OMNI_SHARE, random_efficiency, response
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.show.record import Place3
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.takes.render.sounders import Sounder

NULL_FLOOR = 10 ** (-24 / 20)  # no real microphone hears less than this from where its pattern has a null; PRACTICE
ASSUMED_REVERBERATION_S = 1.2
CONVERTER_DBFS = -115.0
DI_NOISE_DBU = -112.0  # at the output of a DI box with a pickup on it; PRACTICE
UNKNOWN_NOISE_DBFS = -95.0  # of a wireless receiver and other inputs whose level the plan does not know; PRACTICE
HOUSE_LATENCY_S = 0.0021  # through the house's own mixer
_HOUSE_BALANCE = {"lead vocal": 1.0, "backing vocal": 0.7, "kick": 0.4, "bass": 0.5, "snare": 0.15}
_NOT_IN_HOUSE = ("audience", "slate")


@dataclass(frozen=True, slots=True)
class Ear:
    """What one input of the plan hears with: a mic, a pickup, or the house's mix."""

    row: PlannedInput
    hears: tuple[int, ...]  # places, among the sounders, of its own sound
    gain_db: float  # from dB SPL at the mic, on its axis, to dBFS; of a pickup: of its own sound to dBFS
    share: float  # omni share of its pattern
    noise_dbfs: float

    @property
    def acoustic(self) -> bool:
        """Whether it hears air: a mic or a split of one."""
        return self.row.taking in ("mic", "split")

    @property
    def mixed(self) -> bool:
        """Whether it is fed by the house's mixer."""
        return "mix" in self.row.recipe.casefold().split()


@dataclass(frozen=True, slots=True)
class Path:
    """The direct way from one sounder to one input."""

    sounder: int
    ear: int
    distance_m: float
    delay: float  # samples
    amplitude: float  # peak, re full scale, of a sounder at its loudest; negative where polarity is reversed
    own: bool  # the input is meant for it


@dataclass(frozen=True, slots=True)
class Hall:
    """What the render takes the room to be."""

    volume_m3: float
    reverberation_s: float
    temperature_c: float
    assumed: tuple[str, ...]  # what nobody has said


def hall_of(venue: Venue) -> Hall:
    """Read the room out of the venue; what is not known is assumed, and said."""
    room = venue.room
    temperature_c, reverberation_s = venue.temperature_c.known, room.mid_reverberation_s
    assumed = []
    if temperature_c is None:
        temperature_c, assumed = USUAL_C, [f"air of {USUAL_C:.0f} °C"]
    if reverberation_s is None:
        reverberation_s = ASSUMED_REVERBERATION_S
        assumed.append(f"reverberation time of {ASSUMED_REVERBERATION_S} s")
    return Hall(room.length_m * room.width_m * room.height_m, reverberation_s, temperature_c, tuple(assumed))


def people(plan: Plan, venue: Venue) -> tuple[Sounder, ...]:
    """Who sounds without being a source of the show: the audience in four parts of the room, and whoever slates."""
    head_m = 1.6 - venue.stage.height_m
    depth_m = max(2.0, venue.room.length_m - venue.stage.depth_m)
    audience = [
        Sounder("Audience", f"{side} {way}", "audience", (x * venue.room.width_m, -y * depth_m, head_m), 94.0)
        for way, y in (("front", 0.12), ("back", 0.4))
        for side, x in (("left", 0.22), ("right", -0.22))
    ]
    slates = [
        Sounder(row.source, "voice", row.recipe, _beside(row.at, row.aim, 0.1), 90.0)
        for row in plan.input
        if "talkback" in row.recipe.casefold()
    ]
    return (*audience, *slates)


def ears_of(plan: Plan, show: Show, kit: Kit, sounders: Sequence[Sounder]) -> tuple[Ear, ...]:
    """Return what each input of the plan hears with.

    Parameters
    ----------
    plan, show, kit
        The documents; gain, pad, noise and expected levels are the plan's own.
    sounders
        Everybody who sounds.
    """
    line_dbu = {tag: one.line_max_dbu for one in kit.recorder for tag in one.tags}
    outside = {tag for one in kit.preamp for tag in one.tags}
    found = []
    for row in plan.input:
        through_line = row.preamp in outside or not row.preamp_channel
        full_scale_dbu = max(line_dbu.values()) if through_line and line_dbu else show.recording.full_scale_dbu
        to_dbfs = (row.gain.value or 0.0) - row.pad_db - full_scale_dbu
        peak_dbfs = show.recording.peak_target_dbfs if row.level.value is None else row.level.value + to_dbfs
        own_db = row.spl.value if row.taking in ("mic", "split") and row.spl.value is not None else 0.0
        share = OMNI_SHARE[row.pattern] if row.pattern else 1.0
        hears = _own(row, row.source, sounders)
        for guest in (one.source for one in plan.left_out if one.id in row.shared_by):
            hears += _own(row, guest, sounders)
        found.append(Ear(row, hears, peak_dbfs - own_db, share, _noise_dbfs(row, to_dbfs)))
    return tuple(found)


def paths_of(sounders: Sequence[Sounder], ears: Sequence[Ear], hall: Hall, rate_hz: int) -> tuple[Path, ...]:
    """Return every direct path there is.

    A microphone's own sound comes in at the level that the plan expects there: close to something as large as a drum
    the law of distance does not hold, and the recipes know better. Everything else follows the law.

    Parameters
    ----------
    sounders
        Everybody who sounds.
    ears
        What the inputs hear with.
    hall
        For the speed of sound.
    rate_hz
        Sample rate. [Hz]
    """
    per_m = rate_hz / speed_of_sound(hall.temperature_c)
    found = []
    for place, ear in enumerate(ears):
        if ear.mixed:
            found += _through_house(place, ear, sounders, rate_hz)
        elif ear.acoustic:
            near_db = _near_field_db(ear, sounders)
            for number, sounder in enumerate(sounders):
                own = number in ear.hears
                metres = max(NEAREST_M, dist(sounder.at, ear.row.at))
                level_db = sounder.level_db - 20 * log10(metres) + ear.gain_db + (near_db if own else 0.0)
                sign = -1.0 if own and ear.row.flip else 1.0
                amplitude = sign * 10 ** (level_db / 20) * _pattern(ear, sounder)
                found.append(Path(number, place, metres, metres * per_m, amplitude, own))
        else:
            plugged = dict(
                zip((sounders[number].source for number in reversed(ear.hears)), reversed(ear.hears), strict=True)
            )
            found += [
                Path(number, place, 0.0, 0.0, 10 ** (ear.gain_db / 20), True) for number in sorted(plugged.values())
            ]
    return tuple(path for path in found if path.amplitude != 0.0)


def diffuse_amplitude(sounder: Sounder, hall: Hall) -> float:
    """Strength of the room that a sounder makes, re its sound at 1 m."""
    at_1m_db = 90.0  # any level does: only the difference counts
    return float(
        10 ** ((diffuse_level_db(at_1m_db, hall.volume_m3, hall.reverberation_s, sounder.directivity) - at_1m_db) / 20)
    )


def room_gain(ear: Ear) -> float:
    """From the pressure of the diffuse field, re a peak of 0 dB SPL, to full scale: pattern and gain."""
    return (
        float(10 ** (ear.gain_db / 20) * random_efficiency(ear.share) ** 0.5) if ear.acoustic and not ear.mixed else 0.0
    )


def _own(row: PlannedInput, source: str, sounders: Sequence[Sounder]) -> tuple[int, ...]:
    """The sounders of a source that an input is meant for: those that its part names, or else all."""
    mine = [place for place, one in enumerate(sounders) if one.source == source]
    if row.taking in ("di", "line"):  # a pickup is on the instrument, not on its amplifier
        mine = [place for place in mine if sounders[place].part != "amplifier"] or mine
    exact = [place for place in mine if sounders[place].part == row.part]
    named = [place for place in mine if sounders[place].part and sounders[place].part in row.part]
    return tuple(exact or named or mine)


def _noise_dbfs(row: PlannedInput, to_dbfs: float) -> float:
    """Unweighted noise of an input: as the plan reckons it, with the DI's and the converter's own."""
    parts = [CONVERTER_DBFS]
    if row.noise and row.noise.value is not None:
        parts.append(row.noise.value - A_OF_WHITE_DB)
    elif row.taking in ("mic", "split"):
        parts.append(UNKNOWN_NOISE_DBFS)
    if row.taking == "di":
        parts.append(DI_NOISE_DBU + to_dbfs)
    return sum_incoherent(parts)


def _near_field_db(ear: Ear, sounders: Sequence[Sounder]) -> float:
    """By how much the plan's level at the mic passes that of the law of distance."""
    if not ear.hears or ear.row.spl.value is None:
        return 0.0
    by_law = max(
        sounders[place].level_db - 20 * log10(max(NEAREST_M, dist(sounders[place].at, ear.row.at)))
        for place in ear.hears
    )
    return float(ear.row.spl.value - by_law)


def _pattern(ear: Ear, sounder: Sounder) -> float:
    """Response of the pattern in the direction of a sounder; negative behind some of them."""
    towards = [there - here for there, here in zip(sounder.at, ear.row.at, strict=True)]
    length = dist(sounder.at, ear.row.at)
    axis = ear.row.aim
    if length == 0.0 or not any(axis):
        return 1.0
    cosine = sum(a * b for a, b in zip(towards, axis, strict=True)) / length
    ratio = float(response(ear.share, acos(max(-1.0, min(1.0, cosine)))))
    return copysign(max(abs(ratio), NULL_FLOOR), ratio)


def _through_house(place: int, ear: Ear, sounders: Sequence[Sounder], rate_hz: int) -> list[Path]:
    weights = {
        number: _HOUSE_BALANCE.get(sounder.family, 0.3)
        for number, sounder in enumerate(sounders)
        if sounder.family not in _NOT_IN_HOUSE
    }
    whole = sum(weight**2 for weight in weights.values()) ** 0.5 * 1.4
    scale = 10 ** (ear.gain_db / 20) / max(whole, 1e-9)
    return [
        Path(number, place, 0.0, HOUSE_LATENCY_S * rate_hz, scale * weight, False) for number, weight in weights.items()
    ]


def _beside(at: Place3, aim: Place3, metres: float) -> Place3:
    x, y, z = (here + metres * along for here, along in zip(at, aim, strict=True))
    return (x, y, z)
