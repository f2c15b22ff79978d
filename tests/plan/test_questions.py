"""What is not known becomes a question; what is known does not."""

from __future__ import annotations

import datetime as dt

import pytest

from fieldfare.plan.questions import open_questions
from fieldfare.show.record import Fact
from fieldfare.show.show import Act, Camera, HouseMic, Set, Show, Source, Times
from fieldfare.show.venue import Circuit, HouseBox, Position, Room, Stage, Venue

SURE = {"status": "confirmed", "by": "the venue", "on": dt.date(2026, 11, 20)}


def _venue(**more: object) -> Venue:
    known: dict[str, object] = {
        "name": "Hall",
        "room": Room(length_m=10, width_m=8, height_m=4, reverberation_s=Fact[float](value=1.0, **SURE)),
        "stage": Stage(width_m=5, depth_m=3),
        "recordist": Position(at=(-4, 1, 0)),
        "temperature_c": Fact[float](value=20, **SURE),
        "limiter": Fact[str](value="none", **SURE),
    }
    return Venue.model_validate({**known, **more})


def _show(**more: object) -> Show:
    known: dict[str, object] = {
        "title": "Show",
        "date": dt.date(2026, 12, 4),
        "venue": "venue.toml",
        "kit": ("kit.toml",),
        "times": Times(load_in=dt.time(15), soundcheck=dt.time(17), doors=dt.time(19), curfew=dt.time(23)),
        "set": (Set(start=dt.time(20), minutes=60),),
    }
    return Show.model_validate({**known, **more})


def test_a_show_of_which_all_is_known_asks_nothing() -> None:
    assert open_questions(_show(), _venue()) == ()


@pytest.mark.parametrize(
    ("venue", "says"),
    [
        ({"limiter": Fact[str]()}, "limiter"),
        ({"limiter": Fact[str](value="Stage", status="possible")}, "limiter"),
        ({"temperature_c": Fact[float]()}, "warm"),
        ({"house_box": (HouseBox(name="Left", at=(2, 0), lines=8),)}, "isolated"),
        (
            {
                "circuit": (
                    Circuit(
                        name="Stage",
                        rating_a=16,
                        shared_with="the bar",
                        residual_current_device=Fact[bool](value=True, **SURE),
                    ),
                )
            },
            "watts",
        ),
        ({"circuit": (Circuit(name="Stage", rating_a=16),)}, "residual current"),
    ],
)
def test_each_unknown_of_the_venue_becomes_one_question(venue: dict[str, object], says: str) -> None:
    (question,) = open_questions(_show(), _venue(**venue))
    assert says in question.text
    assert question.text.endswith("?")
    assert question.depends


def test_a_limiter_that_cuts_some_circuit_asks_about_the_others() -> None:
    sure = Fact[bool](value=True, **SURE)
    circuits = (
        Circuit(name="Stage", rating_a=16, residual_current_device=sure, cut_by_limiter=sure),
        Circuit(name="Bar", rating_a=16, residual_current_device=sure),
    )
    venue = _venue(limiter=Fact[str](value="Stage", **SURE), circuit=circuits)
    assert [question.text for question in open_questions(_show(), venue)] == ["Does the limiter cut the circuit Bar?"]


def test_a_possible_source_and_an_unowned_house_mic_are_asked_about() -> None:
    unowned = HouseMic(item="headset", owner=Fact[str](ask="house"))
    sources = (
        Source(name="Harmonium", recipe="harmonium", at=(0, 1), status="possible"),
        Source(name="Lead vocal", recipe="lead vocal", at=(0, 1), house_mic=unowned),
    )
    asked = {
        question.ask: question.text
        for question in open_questions(_show(act=(Act(name="Band", source=sources),)), _venue())
    }
    assert asked["band"] == "Does Harmonium play on 4 December?"
    assert asked["house"] == "Who owns and brings the headset for Lead vocal?"


def test_each_missing_time_is_a_question_of_its_own() -> None:
    texts = [question.text for question in open_questions(_show(times=Times(doors=dt.time(19)), set=()), _venue())]
    assert texts == [
        "From what time may we load in?",
        "When is the soundcheck?",
        "When must it be silent?",
        "When do the sets start, and how long are they?",
    ]


def test_a_question_that_was_answered_in_words_is_not_asked_again() -> None:
    asked = {"ask": "band", "text": "Which songs matter most?"}
    said = {**asked, "answer": "the first two", "by": "the fiddler", "on": dt.date(2026, 11, 20)}
    assert [one.text for one in open_questions(_show(question=(asked,)), _venue())] == ["Which songs matter most?"]
    assert open_questions(_show(question=(said,)), _venue()) == ()
    with pytest.raises(ValueError, match="an answer says by whom and on which date"):
        _show(question=({**asked, "answer": "the first two"},))


def test_every_question_about_a_fact_says_where_it_stands() -> None:
    venue = _venue(limiter=Fact[str](), house_box=(HouseBox(name="Left", at=(2, 0), lines=8),))
    places = [question.about for question in open_questions(_show(times=Times()), venue)]
    assert places[:2] == ["venue.limiter", "venue.house_box.0.splits_isolated"]
    assert {"show.times.load_in", "show.times.curfew"} <= set(places)


def test_camera_people_are_asked_what_only_they_know() -> None:
    """Frame rate, and sound of its own on every camera: common practice, no source."""
    cameras = (
        Camera(name="left", at=(0, -5, 1), frame_rate="25"),
        Camera(name="right", at=(3, -5, 1)),
        Camera(name="above", at=(3, -5, 4), scratch_sound=False),
    )
    asked = [(one.ask, one.text) for one in open_questions(_show(camera=cameras), _venue())]
    assert asked == [
        ("cameras", "How many pictures a second do you take with right and above: 25, 29.97 or another number?"),
        ("cameras", "Can you record sound with above all the same, however bad?"),
    ]
