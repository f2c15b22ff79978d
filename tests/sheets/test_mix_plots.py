"""How a piece was mixed, drawn: places and heights are those of the figures; nothing that was typed gets through."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from fieldfare.sheets.drawing import mixed
from fieldfare.sheets.drawing.plot import WIDTH
from fieldfare.sheets.mix_plots import mix_plot
from fieldfare.show.mix import MixCourse, MixSheet, MixSong, MixTarget, MixTrack, Ride, TrackShare

RATE_HZ = 48_000
NAMES = ("Lead vocal", "Kick", "<b>&'", "A name of a track that is much longer than there is room for")


def _sheet(target: float = -16.0) -> MixSheet:
    return MixSheet(
        take="take", rate_hz=RATE_HZ, target=MixTarget(loudness_lufs=target),
        track=tuple(MixTrack(label=name, role="other", gain_db=(0.0,)) for name in NAMES),
        song=(MixSong(title="One", start=RATE_HZ, end=11 * RATE_HZ),),
        ride=(Ride(start=9 * RATE_HZ, end=20 * RATE_HZ, gain_db=-6), Ride(start=0, end=RATE_HZ, gain_db=-6),
              Ride(start=2 * RATE_HZ, end=3 * RATE_HZ, gain_db=3)),
    )  # fmt: skip


COURSE = MixCourse(
    title="One", start=RATE_HZ, end=11 * RATE_HZ, step_s=2.5,
    momentary_lufs=(None, -16.0, None, -7.0), short_lufs=(None, -16.0, -22.0, -90.0), limited_db=(0.0, 6.0, 0.0, 30.0),
    track=(
        TrackShare(label=NAMES[0], pan=0, loudness_lufs=-18.0, shut=((RATE_HZ, 6 * RATE_HZ),)),
        TrackShare(label=NAMES[1], pan=-1, loudness_lufs=-30.0), TrackShare(label=NAMES[2], pan=1, loudness_lufs=None),
        TrackShare(label=NAMES[3], pan=0.5, loudness_lufs=-24.0),
    ),
)  # fmt: skip


def test_heights_are_told_against_the_target_and_lines_break_where_there_is_nothing() -> None:
    plot = mix_plot(COURSE, _sheet())
    assert plot.target == pytest.approx(1 - 9 / 30, abs=1e-3)
    assert [(tick.text, tick.at) for tick in plot.levels][1] == ("−16", plot.target)
    (line,) = plot.short
    assert line == ((0.375, plot.target), (0.625, 0.5), (0.875, 0.0))
    assert [len(points) for points in plot.momentary] == [1, 1]
    assert plot.limited == ((0.0, 0.0), (0.25, 0.0), (0.25, 0.5), (0.5, 0.5), (0.5, 0.0), (0.75, 0.0), (0.75, 1.0),
                            (1.0, 1.0))  # fmt: skip


def test_what_was_turned_down_is_told_along_the_piece_alone() -> None:
    ride, gate = mix_plot(COURSE, _sheet()).lanes
    assert (ride.name, ride.spans) == ("", ((0.8, 1.0),))
    assert (gate.name, gate.spans) == ("Lead vocal", ((0.0, 0.5),))


@pytest.mark.parametrize(("target", "most"), [(-16.0, -12), (-23.0, -18), (-14.0, -12)])
def test_tracks_stand_from_the_loudest_to_the_silent_one(target: float, most: float) -> None:
    plot = mix_plot(COURSE, _sheet(target))
    assert [bar.name for bar in plot.bars] == [NAMES[0], NAMES[3], NAMES[1], NAMES[2]]
    assert [bar.length for bar in plot.bars] == pytest.approx(
        [min(1.0, 1 - (most + 18) / 36), 1 - (most + 24) / 36, 1 - (most + 30) / 36, 0.0], abs=1e-3
    )
    assert plot.bars[-1].level == "silent"


def test_on_a_screen_names_are_escaped_and_everything_lies_inside() -> None:
    plot = mix_plot(COURSE, _sheet())
    for shapes, height in (mixed.course_plot(plot), mixed.share_plot(plot)):
        drawn = ElementTree.fromstring(f"<svg>{shapes}</svg>")
        assert not drawn.findall(".//b")
        for one in drawn.iter():
            for name in ("x", "x1", "x2", "cx"):
                assert 0 <= float(one.get(name, 0)) <= WIDTH
            for name in ("y", "y1", "y2", "cy"):
                assert 0 <= float(one.get(name, 0)) <= height
    words = [one.text for one in ElementTree.fromstring(f"<svg>{mixed.share_plot(plot)[0]}</svg>").iter("text")]
    assert NAMES[2] in words
    assert any(word and word.endswith("…") for word in words)


def test_a_piece_with_nothing_in_it_is_drawn_too() -> None:
    bare = MixCourse(title="One", start=0, end=1, step_s=0.1, momentary_lufs=(None,), short_lufs=(None,),
                     limited_db=(0.0,), track=())  # fmt: skip
    plot = mix_plot(bare, _sheet())
    assert (plot.short, plot.limited, plot.lanes[1:], plot.bars) == ((), (), (), ())
    ElementTree.fromstring(f"<svg>{mixed.course_plot(plot)[0]}{mixed.share_plot(plot)[0]}</svg>")
