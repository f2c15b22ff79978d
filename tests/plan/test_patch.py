from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import networkx as nx
import pytest
from plan.checks.little_plan import changed

from fieldfare.plan.patch import extras, thread
from fieldfare.plan.ports import Path, feeders, live_channels, mates, port, socket_for

RIBBON = {"input.trumpet.channel": 8, "input.trumpet.phantom": True}
OUTBOARD = {"input.snare.preamp": "P", "input.snare.preamp_channel": 1, "input.snare.channel": 10}


def _path(name: str, changes: Mapping[str, Any] | None = None) -> Path:
    return next(path for path in changed(changes or {}).paths if path.input.id == name)


def _hops(path: Path) -> list[tuple[str, str]]:
    return [(hop.kind, hop.tag) for hop in thread(path.stations)]


def test_a_mic_goes_by_cable_box_and_trunk_to_the_recorder_s_own_preamp() -> None:
    hops = _hops(_path("snare"))
    assert hops[:4] == [("source", ""), ("mic", "M-1"), ("cable", "C-03"), ("box", "B-1")]
    assert hops[4:] == [("trunk", "TR"), ("preamp", "R"), ("track", "")]


def test_the_trunk_s_own_sockets_are_no_box() -> None:
    assert [kind for kind, _ in _hops(_path("fiddle"))] == ["source", "mic", "cable", "trunk", "preamp", "track"]


def test_without_a_trunk_the_cable_goes_into_the_recorder() -> None:
    path = _path("fiddle", {"input.fiddle.box": "R", "input.fiddle.trunk_line": 0})
    assert [kind for kind, _ in _hops(path)] == ["source", "mic", "cable", "preamp", "track"]


def test_a_di_has_the_instrument_and_its_lead_before_it() -> None:
    assert _hops(_path("bass"))[1:5] == [("line out", ""), ("lead", "I-1"), ("di", "D-1"), ("cable", "C-04")]


def test_an_outboard_preamp_is_led_to_the_recorder_s_line_input() -> None:
    path = _path("snare", OUTBOARD)
    assert _hops(path)[-4:] == [("preamp", "P"), ("lead", "L-1"), ("recorder", "R"), ("track", "")]


def test_a_line_output_meets_the_line_input_through_the_adapter_that_the_kit_has() -> None:
    assert _hops(_path("mix"))[-3:] == [("lead", "A-1"), ("recorder", "R"), ("track", "")]
    assert extras(changed({}).paths) == {"A-1": "House mix"}


def test_no_adapter_is_used_for_two_joints() -> None:
    twice = {"input.snare.taking": "line", "input.snare.unit": "none", "input.snare.line_input": True}
    twice |= {"input.snare.channel": 10, "input.snare.wanted": {"lead_end": "xlr-f", "signal_dbu": 4.0}}
    plan = changed(twice)
    assert extras(plan.paths) == {"A-1": "Snare"}
    assert [mates(gives, takes) for path in plan.paths for _, gives, _, takes in path.joints].count(False) == 1


def test_the_thread_says_what_a_hand_needs_to_know() -> None:
    told = {hop.kind: hop.detail for hop in thread(_path("voice").stations)}
    assert told["cable"] == "5 m, green"
    assert told["box"] == "socket 1"
    assert told["trunk"] == "line 1"
    assert told["preamp"] == "channel 1, gain 36 dB, phantom off"
    assert told["track"] == "track 1"
    assert {hop.kind: hop.detail for hop in thread(_path("snare").stations)}[
        "mic"
    ] == "supercardioid, on T-5 short boom stand"
    named = _path("snare", {"kit.mic.M-1.item": "small dynamic, supercardioid"})
    assert {hop.kind: hop.detail for hop in thread(named.stations)}["mic"] == "on T-5 short boom stand"
    other = _path("snare", {"kit.mic.M-1.item": "dynamic, supercardioid", "kit.mic.M-1.pattern": "cardioid"})
    assert {hop.kind: hop.detail for hop in thread(other.stations)}["mic"] == "cardioid, on T-5 short boom stand"
    padded = _path("snare", {"input.snare.pad_db": 10})
    assert "pad 10 dB" in {hop.kind: hop.detail for hop in thread(padded.stations)}["preamp"]


def test_lines_are_counted_on_from_one_trunk_to_the_next() -> None:
    second = {"tag": "TR-2", "item": "trunk", "at": [-3.0, 0.0], "sockets": 8, "trunk": True}
    boxes = [{"tag": "TR", "item": "trunk", "at": [-3.0, 0.0], "sockets": 2, "trunk": True}, second]
    trunk = {"item": "second trunk", "tags": ["TR-2"], "lines": 8, "length_m": 20}
    plan = changed({"box": [*boxes, {"tag": "B-1", "item": "drop box", "at": [1.0, 2.0], "sockets": 6}], "kit.trunk": [
        {"item": "trunk", "tags": ["TR"], "lines": 2, "length_m": 20}, trunk
    ]})  # fmt: skip
    sockets = {
        path.input.id: station.takes.id
        for path in plan.paths
        for station in path.stations
        if station.hop.kind == "trunk" and station.takes is not None
    }
    assert sockets["snare"] == "TR in 2"
    assert sockets["bass"] == "TR-2 in 2"


def test_every_port_of_the_graph_is_one_station_s_and_the_signal_never_runs_in_a_ring() -> None:
    graph = changed({"input.voice.splitter": "S-9"}).graph
    assert nx.is_directed_acyclic_graph(graph)
    assert all(data["port"].id == node for node, data in graph.nodes(data=True))
    ends = {node for node in graph if graph.out_degree(node) == 0}
    assert {end for end in ends if end.startswith("R ")} == {f"R preamp {n}" for n in range(1, 8)} | {"R line 9"}


def test_a_split_branches_to_the_house_and_to_us() -> None:
    path = _path("voice")
    graph = changed({}).graph
    mic = path.stations[1].gives
    assert mic is not None
    reached = nx.descendants(graph, mic.id)
    assert {"house preamp of Lead vocal", "R preamp 1"} <= reached


@pytest.mark.parametrize(
    ("splitter", "ours", "house", "found"),
    [
        ("S-1", True, True, ("house preamp of Lead vocal",)),  # [Splitters]: a transformer passes no direct current
        ("S-1", True, False, ()),
        ("S-9", True, True, ("R preamp 1", "house preamp of Lead vocal")),
        ("S-9", True, False, ("R preamp 1",)),
        ("S-9", False, False, ()),
    ],
)
def test_phantom_reaches_a_split_mic_as_far_as_direct_current_passes(
    splitter: str, ours: bool, house: bool, found: tuple[str, ...]
) -> None:
    plan = changed(
        {"input.voice.splitter": splitter, "input.voice.phantom": ours, "input.voice.phantom_owner": "house" * house}
    )
    mic = next(path for path in plan.paths if path.input.id == "voice").stations[1].gives
    assert mic is not None
    assert feeders(plan.graph, mic) == found


def test_the_house_s_own_split_passes_direct_current_unless_it_is_known_to_isolate() -> None:
    near = {"name": "Near box", "at": [-2.0, 0.0], "lines": 8, "split_outputs": 2}
    far = {"name": "House box", "at": [2.5, 0.2], "lines": 16, "split_outputs": 2}
    isolated = {**far, "splits_isolated": {"value": True, "status": "expected"}}
    ours = {"input.voice.splitter": "none", "input.voice.phantom": True}
    for boxes, name, fed in (([near, isolated], "House box", ()), ([near, isolated], "Near box", ("R preamp 1",))):
        plan = changed({**ours, "input.voice.house_split": name, "venue.house_box": boxes})
        mic = next(path for path in plan.paths if path.input.id == "voice").stations[1].gives
        assert mic is not None
        assert feeders(plan.graph, mic) == fed, name


def test_a_pickup_is_unbalanced_and_a_line_output_on_xlr_is_not() -> None:
    ports = {path.input.id: path.stations[1].gives for path in changed({}).paths}
    told = {name: (port.level, port.balanced) for name, port in ports.items() if port is not None}
    assert told["bass"] == ("instrument", False)
    assert told["mix"] == ("line", True)


@pytest.mark.parametrize(("ohm", "name"), [(10_000.0, "pickup"), (600.0, "line output")])
def test_what_drives_a_line_is_called_a_line_output_whatever_its_plug(ohm: float, name: str) -> None:
    path = _path("bass", {"input.bass.wanted.source_ohm": ohm})
    assert [hop.name for hop in thread(path.stations) if hop.kind == "line out"] == [name]


def test_one_switch_feeds_its_whole_bank() -> None:
    plan = changed(RIBBON)
    assert live_channels(plan.inputs, plan.things) == {("R", n) for n in range(3, 9)}
    together = changed({**OUTBOARD, "kit.preamp.P.phantom": "all at once", "input.snare.phantom": True})
    assert {("P", 1), ("P", 2)} <= live_channels(together.inputs, together.things)


@pytest.mark.parametrize(
    ("gives", "takes", "fit"),
    [
        ("xlr-m", "xlr-f", True),
        ("xlr-m", "xlr-m", False),
        ("jack-ts", "jack-socket", True),
        ("rca", "jack-socket", False),
    ],
)
def test_what_goes_into_what(gives: Any, takes: Any, fit: bool) -> None:
    assert mates(port("a", gives, "mic"), port("b", takes, "mic")) is fit
    assert mates(port("a", gives, "mic"), socket_for("b", gives, "mic"))
