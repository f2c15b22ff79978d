"""Every fault is in the samples where the truth says, measured from the file against the same take without faults."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from takes.render.small import INPUTS, RATE_HZ, SOUNDS, small_kit, small_plan, small_show, small_venue

from fieldfare.takes.render.faults import Kind, Planted, demo_faults
from fieldfare.takes.render.programme import plan_programme
from fieldfare.takes.render.truth import TrueFault, Truth
from fieldfare.takes.render.write import file_name, render_show
from fieldfare.takes.wave import read_all, read_head
from fieldfare.units.faults import OutOfRange

SECONDS = 6.0
HOT, LOW, TOP_DBFS, HUM_DBFS, DC_DBFS = 20.0, 30.0, -24.0, -50.0, -40.0
DROPS = ((96_000, 96_064), (131_070, 131_075), (144_000, 146_400))  # the middle one lies over a block's edge
REPEATS = ((120_000, 120_128), (147_450, 147_962))  # so does the last
PLANTED = (
    Planted("dead", "trumpet"),
    Planted("clipped", "kick", HOT),
    Planted("clipped before the converter", "snare-top", TOP_DBFS, ((24_000, 240_000),)),
    Planted("dropout", "fiddle-mic", places=DROPS),
    Planted("repeated block", "room-left", places=REPEATS),
    Planted("hum", "fiddle-di", HUM_DBFS),
    Planted("dc", "overhead-left", DC_DBFS),
    Planted("polarity", "overhead-right", of="overhead-left"),
    Planted("duplicate", "snare-bottom", of="snare-top"),
    Planted("very low", "room-right", LOW),
)
Samples = NDArray[np.int64]


class _Pair:
    """The same take twice: with the faults and without."""

    def __init__(self, folder: Path) -> None:
        self.truth, self.faulty = _render(folder / "faulty", PLANTED)
        self.clean_truth, self.clean = _render(folder / "clean", ())

    def fault(self, kind: Kind) -> TrueFault:
        """Return the one fault of a kind as the truth has it."""
        (found,) = (one for one in self.truth.fault if one.kind == kind)
        return found


def _render(folder: Path, planted: tuple[Planted, ...]) -> tuple[Truth, dict[str, Samples]]:
    truth = render_show(
        small_plan(), small_show(), small_venue(), small_kit(), SOUNDS, folder, duration_s=SECONDS, planted=planted
    )
    files = {one.input: folder / truth.card / one.file for one in truth.track}
    return truth, {name: read_all(read_head(path))[:, 0].astype(np.int64) for name, path in files.items()}


@pytest.fixture(scope="module")
def take(tmp_path_factory: pytest.TempPathFactory) -> _Pair:
    return _Pair(tmp_path_factory.mktemp("take"))


def test_nothing_else_is_touched(take: _Pair) -> None:
    assert {one.input for one in take.truth.fault} == set(take.clean), "every track of this take has a fault of its own"
    assert take.clean_truth.fault == ()
    for name, places in (("fiddle-mic", DROPS), ("room-left", REPEATS)):
        differs = np.flatnonzero(take.faulty[name] != take.clean[name])
        inside = np.zeros(len(differs), bool)
        for first, last in places:
            inside |= (differs >= first - 1) & (differs <= last)
        assert inside.all()


def test_a_dead_line_has_the_noise_of_the_preamp_and_no_more(take: _Pair) -> None:
    noise_dbfs = next(one.noise_dbfs for one in take.truth.track if one.input == "trumpet")
    rms = np.std(take.faulty["trumpet"]) / 2**23
    assert 20 * np.log10(rms * 2**0.5) == pytest.approx(noise_dbfs, abs=0.1)
    assert np.std(take.clean["trumpet"]) > 100 * np.std(take.faulty["trumpet"])


def test_clipped_at_the_converter_stands_at_the_rails_in_the_places_told(take: _Pair) -> None:
    fault, sound = take.fault("clipped"), take.faulty["kick"]
    railed = (sound >= 2**23 - 1) | (sound <= -(2**23))
    told = np.zeros(len(sound), bool)
    for first, last in fault.places:
        assert last - first >= 3
        assert railed[first:last].all()
        assert not railed[first - 1]
        assert not railed[last]
        told[first:last] = True
    assert fault.places
    assert fault.figures["runs"] == len(fault.places)
    assert fault.figures["samples"] == np.sum(told)
    assert (fault.start, fault.end) == (fault.places[0][0], fault.places[-1][1])


def test_clipped_ahead_of_the_converter_is_flat_below_full_scale_and_only_inside_its_place(take: _Pair) -> None:
    fault, sound, clean = take.fault("clipped before the converter"), take.faulty["snare-top"], take.clean["snare-top"]
    top = round(10 ** (TOP_DBFS / 20) * 2**23)
    inside = sound[24_000:240_000]
    assert np.max(np.abs(inside)) <= top + 1
    assert np.array_equal(sound[:24_000], clean[:24_000])
    for first, last in fault.places:
        assert np.all(np.abs(np.abs(sound[first:last]) - top) <= 1)
        assert np.max(np.abs(clean[first:last])) >= top - 1
    assert np.sum(np.abs(clean[24_000:240_000]) > top) <= fault.figures["samples"] + 2 * fault.figures["runs"]


def test_dropouts_are_exactly_as_long_as_told_and_lie_in_signal(take: _Pair) -> None:
    sound = take.faulty["fiddle-mic"]
    assert take.fault("dropout").places == DROPS
    zeros = np.concatenate([[0], (sound == 0).astype(np.int8), [0]])
    edges = np.flatnonzero(np.diff(zeros))
    runs = {(int(first), int(last)) for first, last in zip(edges[::2], edges[1::2], strict=True) if last - first > 4}
    assert runs == set(DROPS)
    for first, last in DROPS:
        assert np.std(take.clean["fiddle-mic"][first:last]) > 1000


def test_a_repeated_block_is_the_block_before_it_once_more(take: _Pair) -> None:
    sound, clean = take.faulty["room-left"], take.clean["room-left"]
    for first, last in REPEATS:
        size = last - first
        assert np.array_equal(sound[first:last], clean[first - size : first])
        assert not np.array_equal(clean[first:last], clean[first - size : first])


@pytest.mark.parametrize(("multiple", "share"), [(1, 1.0), (3, 0.7), (5, 0.4)])
def test_hum_is_there_with_its_harmonics(take: _Pair, multiple: int, share: float) -> None:
    """Goertzel over whole cycles (checks 7.2): a line reads its own level."""
    added = (take.faulty["fiddle-di"] - take.clean["fiddle-di"])[: 4 * RATE_HZ] / 2**23
    turn = np.exp(-2j * np.pi * 50 * multiple * np.arange(len(added)) / RATE_HZ)
    level_db = 20 * np.log10(2 * abs(np.mean(added * turn)))
    assert level_db == pytest.approx(HUM_DBFS + 20 * np.log10(share), abs=0.05)


def test_dc_is_the_mean(take: _Pair) -> None:
    added = np.mean(take.faulty["overhead-left"] - take.clean["overhead-left"]) / 2**23
    assert 20 * np.log10(added) == pytest.approx(DC_DBFS, abs=0.01)


def test_polarity_is_reversed_against_the_clean_take(take: _Pair) -> None:
    both = np.corrcoef(take.faulty["overhead-right"], take.clean["overhead-right"])[0, 1]
    assert both == pytest.approx(-1.0, abs=1e-6)
    assert next(one.polarity for one in take.truth.track if one.input == "overhead-right") == -1
    assert take.fault("polarity").of == "overhead-left"


def test_a_duplicate_is_the_other_track_to_the_bit(take: _Pair) -> None:
    assert np.array_equal(take.faulty["snare-bottom"], take.faulty["snare-top"])


def test_very_low_is_low_by_what_was_asked(take: _Pair) -> None:
    ratio_db = 20 * np.log10(np.std(take.faulty["room-right"]) / np.std(take.clean["room-right"]))
    assert ratio_db == pytest.approx(-LOW, abs=0.5)


def test_a_take_without_faults_has_no_clipping_no_zeros_and_no_offset(take: _Pair) -> None:
    for name, sound in take.clean.items():
        assert np.max(np.abs(sound)) < 2**23 - 1, name
        zero = np.convolve(sound == 0, np.ones(4), "valid")
        assert np.max(zero) < 4, f"{name}: four zeros in a row"
        assert abs(np.mean(sound)) < 0.01 * np.std(sound) + 1, name
        assert np.sum(sound == np.max(sound)) < 3, f"{name}: flat at its peak"


@pytest.mark.parametrize(
    ("name", "spread_db"),
    [("kick", 2.0), ("snare-top", 2.0), ("fiddle-di", 2.0), ("fiddle-mic", 5.0), ("overhead-left", 5.0)],
)
def test_own_sound_peaks_where_the_plan_put_it(take: _Pair, name: str, spread_db: float) -> None:
    """Close to drums and in pickups spill moves the peak little; a soft fiddle and overheads hear several at once."""
    track = next(one for one in take.clean_truth.track if one.input == name)
    assert track.planned_peak_dbfs == -12.0
    assert track.peak_dbfs == pytest.approx(-12.0, abs=spread_db)


@pytest.mark.parametrize(
    ("kind", "state", "amount"),
    [("unfinished header", "unfinished", 0), ("stale header", "stale", 0), ("truncated", "cut", 1000)],
)
def test_files_are_broken_as_the_truth_says(tmp_path: Path, kind: Kind, state: str, amount: float) -> None:
    plan = small_plan(INPUTS[:2])
    truth = render_show(
        plan, small_show(), small_venue(), small_kit(), SOUNDS, tmp_path, duration_s=4.0,
        planted=(Planted(kind, "kick", amount),),
    )  # fmt: skip
    head = read_head(tmp_path / truth.card / truth.fault[0].file)
    assert head.state == state
    assert head.frames == truth.frames - -(-int(amount) // 3)
    assert truth.fault[0].start is None
    assert read_head(tmp_path / truth.card / truth.track[1].file).state == "good"


def test_a_wrong_rate_and_a_missing_file(tmp_path: Path) -> None:
    planted = (Planted("wrong rate", "kick", 44_100), Planted("missing", "snare-top"))
    truth = render_show(
        small_plan(INPUTS[:3]), small_show(), small_venue(), small_kit(), SOUNDS, tmp_path, duration_s=4.0,
        planted=planted,
    )  # fmt: skip
    files = [tmp_path / truth.card / one.file for one in truth.track]
    head = read_head(files[0])
    assert (head.form.rate_hz, head.frames, head.state) == (44_100, truth.frames, "good")
    assert [path.exists() for path in files] == [True, False, True]


@pytest.mark.parametrize(
    ("planted", "says"),
    [
        (Planted("dead", "tuba"), "'dead' on tuba: the plan has no such input"),
        (Planted("duplicate", "kick", of="tuba"), "the plan has no such input"),
        (Planted("duplicate", "kick"), "does not say whose signal is doubled"),
        (Planted("duplicate", "kick", of="kick"), "a track that doubles nobody"),
        (Planted("dropout", "kick"), "it has no place"),
        (Planted("dropout", "kick", places=((5, 5),)), "samples 5 to 5 do not lie inside 288000"),
        (Planted("dropout", "kick", places=((0, 5),)), "samples 0 to 5 do not lie inside"),
        (Planted("repeated block", "kick", places=((60, 124),)), "samples 60 to 124 do not lie inside"),
        (Planted("dropout", "kick", places=((287_990, 288_000),)), "do not lie inside"),
    ],
)
def test_faults_that_cannot_be_put_in_are_refused(tmp_path: Path, planted: Planted, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        render_show(
            small_plan(), small_show(), small_venue(), small_kit(), SOUNDS, tmp_path, duration_s=SECONDS,
            planted=(planted,),
        )  # fmt: skip
    assert list(tmp_path.iterdir()) == []


def test_the_demo_puts_each_fault_on_a_track_of_its_own_and_leaves_the_rest() -> None:
    plan, show = small_plan(), small_show()
    programme = plan_programme(("The First Reel",), 60.0, RATE_HZ, 1)
    found = demo_faults(plan, show, programme)
    inputs = [one.input for one in found]
    assert len(inputs) == len(set(inputs))
    assert {"polarity", "clipped", "hum", "unfinished header", "clipped before the converter"} <= {
        one.kind for one in found
    }
    polarity = next(one for one in found if one.kind == "polarity")
    assert (polarity.input, polarity.of) == ("overhead-right", "overhead-left")
    assert polarity.of not in inputs, "the other side of the pair is clean, or nobody could tell"
    for one in found:
        for first, last in one.places:
            assert programme.songs[0].start <= first < last <= programme.songs[0].end


def test_names_of_files_are_a_recorder_s() -> None:
    assert [file_name(row) for row in INPUTS[:2]] == ["01_kick.wav", "02_snare_top.wav"]
