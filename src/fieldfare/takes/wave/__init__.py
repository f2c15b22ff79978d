"""Recordings as files: heads read without belief in their sizes, audio in blocks, files written whole or not at all."""

from fieldfare.takes.wave.bext import Bext, make_bext, read_bext
from fieldfare.takes.wave.blocks import blocks, raw_blocks, read_all
from fieldfare.takes.wave.form import Form, make_form
from fieldfare.takes.wave.head import Head, read_head
from fieldfare.takes.wave.samples import Samples, pack, unpack
from fieldfare.takes.wave.writer import WaveWriter, write, write_form, write_whole

__all__ = [
    "Bext",
    "Form",
    "Head",
    "Samples",
    "WaveWriter",
    "blocks",
    "make_bext",
    "make_form",
    "pack",
    "raw_blocks",
    "read_all",
    "read_bext",
    "read_head",
    "unpack",
    "write",
    "write_form",
    "write_whole",
]
