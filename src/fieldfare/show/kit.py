"""The kit: all that may be used, each item with an owner. One entry an item, one tag a physical unit."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from fieldfare.show.record import Name, NotNegative, Positive, Record

Owner = Literal["ours", "band", "house", "hired"]
Pattern = Literal["omni", "subcardioid", "cardioid", "supercardioid", "hypercardioid", "figure of eight"]
MicKind = Literal[
    "large dynamic",
    "small dynamic",
    "large condenser",
    "small condenser",
    "clip condenser",
    "ribbon",
    "boundary",
    "headset",
]
Phantom = Literal["needed", "ignored", "harmful"]
StandKind = Literal["tall boom", "short boom", "straight", "table", "clamp"]
End = Literal[
    "xlr-f",
    "xlr-m",
    "jack-ts",
    "jack-trs",
    "jack-socket",
    "mini-jack",
    "rca",
    "usb",
    "mains-plug",
    "mains-socket",
    "locking-4",
]

_RANGE = re.compile(r"^(?P<stem>.*?)(?P<first>\d+)\s*\.\.\s*(?:(?P=stem))?(?P<last>\d+)$")


def spread_tags(written: object) -> object:
    """Turn "C-01..C-12", "C-01..12" or "M-01, M-02", alone or in a list, into single tags.

    Everything else is left to the model.
    """
    if isinstance(written, list | tuple):
        spread = (spread_tags(one) for one in written)
        return tuple(tag for one in spread for tag in (one if isinstance(one, tuple) else (one,)))
    if not isinstance(written, str):
        return written
    tags: list[str] = []
    for part in (piece.strip() for piece in written.split(",")):
        found = _RANGE.match(part)
        if found and int(found["first"]) <= int(found["last"]) < int(found["first"]) + 1000:
            width = len(found["first"])
            tags += [f"{found['stem']}{n:0{width}d}" for n in range(int(found["first"]), int(found["last"]) + 1)]
        elif part:
            tags.append(part)
    return tuple(tags)


Tags = Annotated[
    tuple[Name, ...],
    BeforeValidator(spread_tags, json_schema_input_type=str | tuple[str, ...]),
    Field(min_length=1, description='["M-07"] or "C-01..C-12"'),
]


class Thing(Record):
    """What every entry of the kit says: what it is, which units there are, whose, and where they live."""

    item: Name = Field(description='What it is, in generic words: "small dynamic, supercardioid"')
    tags: Tags
    owner: Owner = Field(default="ours", description="Whose it is")
    bin: str = Field(default="", description="The box, bag or case it lives in")
    weight_kg: NotNegative | None = Field(default=None, description="Of one unit")
    faulty: dict[str, str] = Field(default_factory=dict, description="Tag of each faulty unit and its symptom")
    keep_back: int = Field(default=0, ge=0, description="How many good units are never planned but carried as spares")
    comes_with: tuple[str, ...] = Field(
        default=(), description="What must be packed with each unit: clip, supply, lead"
    )
    value_each: NotNegative | None = Field(default=None, description="What it costs to replace one unit, for insurance")
    serials: dict[str, str] = Field(default_factory=dict, description="Tag of each unit and its serial number")
    note: str = Field(default="", description="Anything worth remembering")

    @property
    def good_tags(self) -> tuple[str, ...]:
        """The units that are fit for use."""
        return tuple(tag for tag in self.tags if tag not in self.faulty)


class Numbered(Thing):
    """A thing with numbered places: sockets of a box, lines of a trunk, channels of a recorder or preamp."""

    dead: dict[str, tuple[int, ...]] = Field(
        default_factory=dict, description='Tag, and which of its sockets, lines or channels are dead: { "B-01" = [2] }'
    )

    @property
    def size(self) -> int:
        """How many places one unit has, dead ones among them."""
        raise NotImplementedError

    def working(self, tag: str) -> tuple[int, ...]:
        """Return the numbers of a unit's places that are fit for use."""
        gone = set(self.dead.get(tag, ()))
        return tuple(number for number in range(1, self.size + 1) if number not in gone)


class Mic(Thing):
    """A microphone."""

    kind: MicKind = Field(description="What sort of microphone it is; the recipes choose by it")
    pattern: Pattern = Field(description="How it hears around itself; of one with a switch, as it stands")
    phantom: Phantom = Field(description="What it makes of phantom power: needs it, ignores it, is harmed by it")
    sensitivity_mv_pa: Positive = Field(description="Output at 94 dB SPL, from its data sheet")
    impedance_ohm: Positive = Field(description="Of its output")
    max_spl_db: Positive | None = Field(
        default=None, description="The loudest it takes; left out where no limit is stated"
    )
    self_noise_dba: NotNegative | None = Field(default=None, description="Equivalent noise level")
    mount: Literal["stand", "clip", "floor"] = Field(
        default="stand", description="How it is held: on a stand, clipped to the instrument, lying on the floor"
    )
    pairs: tuple[tuple[Name, Name], ...] = Field(default=(), description="Tags of units matched for stereo")


class Di(Thing):
    """A DI box: turns an unbalanced instrument or line signal into a balanced one at microphone level."""

    active: bool = Field(description="Needs power; takes a high input impedance")
    channels: Literal[1, 2] = Field(default=1, description="How many inputs it has")
    input_ohm: Positive = Field(description="What a pickup sees")
    output_ohm: Positive = Field(default=150.0, description="Of its output")
    isolated: bool = Field(description="A transformer parts the two sides")
    phantom: Phantom = Field(description="What it makes of phantom power; an active one mostly needs it")
    loss_db: NotNegative = Field(default=20.0, description="From its input to its output")
    max_input_dbu: float | None = Field(default=None, description="The strongest signal it takes, pad out")


class Splitter(Thing):
    """Takes a house microphone's signal to our recorder as well."""

    isolation: Literal["transformer", "active", "none"] = Field(description="What parts our side from theirs")
    loss_db: NotNegative = Field(default=0.0, description="From the microphone to our side")


class Stand(Thing):
    """A microphone stand or clamp, with the heights its microphone can be held at."""

    kind: StandKind = Field(description="What sort of stand it is")
    lowest_m: NotNegative = Field(description="How low the microphone can be held")
    highest_m: Positive = Field(description="How high the microphone can be held")
    reach_m: NotNegative = Field(default=0.0, description="How far the boom holds the microphone from the base")
    bar_m: NotNegative = Field(
        default=0.0, description="With a stereo bar: how far apart it holds the two microphones of a pair; 0 has none"
    )


class Cable(Thing):
    """A lead, from the end that a signal enters to the end it leaves by."""

    signal: Literal["mic", "instrument", "line"] = Field(description="What it is made for")
    from_end: End = Field(description="The end that the signal enters")
    to_end: End = Field(description="The end that the signal leaves by")
    length_m: Positive = Field(description="From plug to plug")
    colour: str = Field(default="", description="The owner's colour for this length")
    capacitance_pf_m: Positive = Field(default=100.0, description="Between its conductors; counts for instrument leads")


class Box(Numbered):
    """A drop box: sockets on the stage and a tail that plugs into the trunk or a recorder."""

    lines: Annotated[int, Field(ge=1, le=128)] = Field(description="How many sockets it has")
    tail_m: NotNegative = Field(description="Length of its tail")

    @property
    def size(self) -> int:
        """How many sockets it has."""
        return self.lines


class Trunk(Numbered):
    """The long multicore from the stage to the recorder, with its own sockets at the stage end."""

    lines: Annotated[int, Field(ge=1, le=256)] = Field(description="How many lines it carries")
    length_m: Positive = Field(description="From the stage end to the recorder")

    @property
    def size(self) -> int:
        """How many lines it carries."""
        return self.lines


class Recorder(Numbered):
    """Interface, preamps and machine that record."""

    preamps: Annotated[int, Field(ge=0, le=256)] = Field(
        description="How many of its channels have a microphone preamp; they are the first ones"
    )
    phantom_bank: Annotated[int, Field(ge=1, description="How many neighbouring preamps share one phantom switch")] = 1
    line_inputs: Annotated[int, Field(ge=0, le=256)] = Field(
        default=0, description="How many channels take line level only; they come after the preamps"
    )
    input_ohm: Positive = Field(default=2000.0, description="What a microphone sees")
    gain_min_db: float = Field(default=0.0, description="Least gain of a preamp")
    gain_max_db: float = Field(default=60.0, description="Most gain of a preamp")
    max_input_dbu: float = Field(description="Highest level a preamp takes at its lowest gain")
    line_max_dbu: float = Field(default=18.0, description="Level at a line input that reads 0 dBFS")
    line_plug: End = Field(default="jack-trs", description="What plugs into a line input")
    ein_dbu: float = Field(default=-128.0, description="Equivalent input noise, 150 Ω, 20 Hz to 20 kHz")
    rates_hz: tuple[int, ...] = Field(default=(44_100, 48_000, 96_000), description="Sample rates it can record at")
    bits: tuple[int, ...] = Field(default=(24,), description="Bit depths it can record at")
    power_w: NotNegative = Field(default=0.0, description="What it takes from the mains")
    needs: tuple[Name, ...] = Field(
        default=(), description="Tags of what it cannot run without: a computer, a hub, a supply of its own"
    )
    file_kind: Literal["mono files", "one interleaved file"] = Field(
        default="mono files", description="How it writes its tracks"
    )

    @property
    def size(self) -> int:
        """How many channels it has."""
        return self.preamps + self.line_inputs


class Preamp(Numbered):
    """A preamplifier whose line outputs feed line inputs of the recorder."""

    channels: Annotated[int, Field(ge=1, le=64)] = Field(description="How many it has")
    phantom: Literal["by channel", "all at once", "none"] = Field(
        default="by channel", description="How its phantom is switched"
    )
    input_ohm: Positive = Field(default=2000.0, description="What a microphone sees")
    gain_min_db: float = Field(default=0.0, description="Least gain")
    gain_max_db: float = Field(default=60.0, description="Most gain")
    max_input_dbu: float = Field(default=10.0, description="The strongest signal it takes at its least gain")
    max_output_dbu: float = Field(default=20.0, description="The strongest signal it gives")
    output_plug: End = Field(default="jack-trs", description="What plugs into a line output")
    ein_dbu: float = Field(default=-128.0, description="Equivalent input noise, 150 Ω, 20 Hz to 20 kHz")
    power_w: NotNegative = Field(default=0.0, description="What it takes from the mains")

    @property
    def size(self) -> int:
        """How many channels it has."""
        return self.channels


class Adapter(Thing):
    """Turns one connector into another."""

    from_end: End = Field(description="The end that the signal enters")
    to_end: End = Field(description="The end that the signal leaves by")


class Supply(Thing):
    """What carries or stores mains power."""

    kind: Literal["battery supply", "power supply", "mains lead", "strip", "reel", "residual current device"] = Field(
        description="What it is"
    )
    length_m: NotNegative = Field(default=0.0, description="Of its lead")
    conductor_mm2: Positive | None = Field(default=None, description="Cross-section of one conductor")
    rating_a: Positive | None = Field(default=None, description="What it may carry")
    rating_w: Positive | None = Field(default=None, description="What it can deliver")
    energy_wh: Positive | None = Field(default=None, description="What it stores")


class Media(Thing):
    """A card or disc that recordings are written or copied to."""

    kind: Literal["card", "disc", "stick"] = Field(description="What it is")
    capacity_gb: Positive = Field(description="Decimal gigabytes, as printed on it")
    write_mb_s: Positive = Field(description="Sustained writing")
    read_mb_s: Positive = Field(description="Sustained reading")
    file_system: Literal["FAT32", "exFAT", "NTFS", "ext4", "APFS", "HFS+"] = Field(
        default="exFAT", description="How it is formatted"
    )


class Sundry(Thing):
    """Anything else that must be in the van: tape, labels, lamp, ear plugs, table."""

    each_show: bool = Field(default=True, description="Goes to every show")
    power_w: NotNegative = Field(default=0.0, description="Mains power it takes, where it is part of the recording rig")


class Bin(Record):
    """A box, bag or case."""

    name: Name = Field(description="What stands on it")
    empty_kg: NotNegative | None = Field(default=None, description="Without anything in it")
    load_order: int = Field(default=0, description="Higher goes in later and comes out sooner")
    length_m: Positive | None = Field(default=None, description="Outside, the longer side")
    width_m: Positive | None = Field(default=None, description="Outside, the shorter side")
    height_m: Positive | None = Field(default=None, description="Outside, as it stands in the vehicle")


class Kit(Record):
    """Everything that may be used, from one owner or several."""

    owner_name: str = Field(default="", description="Whose name stands on the labels")
    length_colours: dict[str, str] = Field(
        default_factory=dict, description='The owner\'s colour for a cable length: { "5" = "green" }'
    )
    bin: tuple[Bin, ...] = ()
    mic: tuple[Mic, ...] = ()
    di: tuple[Di, ...] = ()
    splitter: tuple[Splitter, ...] = ()
    stand: tuple[Stand, ...] = ()
    cable: tuple[Cable, ...] = ()
    box: tuple[Box, ...] = ()
    trunk: tuple[Trunk, ...] = ()
    recorder: tuple[Recorder, ...] = ()
    preamp: tuple[Preamp, ...] = ()
    adapter: tuple[Adapter, ...] = ()
    supply: tuple[Supply, ...] = ()
    media: tuple[Media, ...] = ()
    sundry: tuple[Sundry, ...] = ()

    @property
    def things(self) -> tuple[Thing, ...]:
        """All entries, in the order of the document's kinds."""
        return (
            *self.mic, *self.di, *self.splitter, *self.stand, *self.cable, *self.box, *self.trunk, *self.recorder,
            *self.preamp, *self.adapter, *self.supply, *self.media, *self.sundry,
        )  # fmt: skip

    @property
    def by_tag(self) -> dict[str, Thing]:
        """What each physical unit is."""
        return {tag: thing for thing in self.things for tag in thing.tags}
