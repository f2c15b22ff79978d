"""Recordings as files: heads read without belief in their sizes, audio in blocks, files written whole or not at all."""

from fieldfare.takes.wave.bext import Bext, make_bext, read_bext
from fieldfare.takes.wave.blocks import blocks, raw_blocks, read_all, read_packed, repack
from fieldfare.takes.wave.containers import read_head, starts_as_recording
from fieldfare.takes.wave.course import Course
from fieldfare.takes.wave.cues import Cue, make_cues, read_cues
from fieldfare.takes.wave.flac_audio import Damage
from fieldfare.takes.wave.form import Form, make_form
from fieldfare.takes.wave.head import Head
from fieldfare.takes.wave.ixml import Ixml, IxmlTrack, make_ixml, read_ixml
from fieldfare.takes.wave.rewrite import Taken, taken_along
from fieldfare.takes.wave.samples import Samples, pack, unpack
from fieldfare.takes.wave.sets import (
    Found,
    Lane,
    Strand,
    Take,
    beside,
    counts_on,
    find_takes,
    gaps_of,
    group,
    same_form,
    since,
    start_of,
)
from fieldfare.takes.wave.writer import WaveWriter, write, write_form, write_whole

__all__ = [
    "Bext",
    "Course",
    "Cue",
    "Damage",
    "Form",
    "Found",
    "Head",
    "Ixml",
    "IxmlTrack",
    "Lane",
    "Samples",
    "Strand",
    "Take",
    "Taken",
    "WaveWriter",
    "beside",
    "blocks",
    "counts_on",
    "find_takes",
    "gaps_of",
    "group",
    "make_bext",
    "make_cues",
    "make_form",
    "make_ixml",
    "pack",
    "raw_blocks",
    "read_all",
    "read_bext",
    "read_cues",
    "read_head",
    "read_ixml",
    "read_packed",
    "repack",
    "same_form",
    "since",
    "start_of",
    "starts_as_recording",
    "taken_along",
    "unpack",
    "write",
    "write_form",
    "write_whole",
]
