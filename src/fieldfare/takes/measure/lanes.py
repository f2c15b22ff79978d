"""Reading samples many at a time and laying them out: the widest loads and shuffles that the processor has.

Plain loops over three-byte samples read one at a time. Each operation here stands inside a compiled loop, told to LLVM
in its own words; there is no bounds check, so callers hand over whole groups only. What LLVM makes of the vectors fits
the processor at hand, wide registers or not; results are the same. `gathering` measures what is read so.

Sources
-------
The shuffles are those of the LLVM language reference, "shufflevector"; the transposition in log2(n) rounds of swaps is
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, cast

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic

from fieldfare.takes.measure.grain import CELL

LANES = 8  # samples that are read at once
LINE = LANES * CELL  # samples of one channel that `lay_line` takes
BYTE, INT, LONG = ir.IntType(8), ir.IntType(32), ir.IntType(64)
WIDE, HALF = ir.VectorType(INT, LANES), ir.VectorType(LONG, LANES // 2)
_PACKED, _THREE = ir.VectorType(BYTE, 3 * LANES), ir.IntType(24)
Generated = tuple[Any, Callable[..., Any]]


def operation(build: Callable[..., Generated]) -> Callable[..., Any]:
    """Make a function that compiled loops can call out of one that says what it does in LLVM's words."""
    return cast(Callable[..., Any], intrinsic(build))


class Array:
    """An array that an operation is handed, its elements reached by their place."""

    def __init__(self, context: Any, b: ir.IRBuilder, kind: Any, value: Any) -> None:
        array = context.make_array(kind)(context, b, value)
        unpack: Callable[..., list[Any]] = cgutils.unpack_tuple
        self._b, self._strides = b, unpack(b, array.strides)
        self._start = b.bitcast(array.data, BYTE.as_pointer())

    def _at(self, kind: Any, place: Sequence[Any]) -> Any:
        b, offset = self._b, LONG(0)
        for index, stride in zip(place, self._strides, strict=True):
            offset = b.add(offset, b.mul(index, stride))
        return b.bitcast(b.gep(self._start, [offset]), kind.as_pointer())

    def read(self, kind: Any, *place: Any) -> Any:
        """Read a number, or a vector of those from a place on."""
        return self._b.load(self._at(kind, place), align=1 if kind in (_PACKED, _THREE) else 4)

    def write(self, value: Any, *place: Any) -> None:
        """Write a number, or a vector from a place on."""
        self._b.store(value, self._at(value.type, place), align=4)


def numbers(values: Sequence[int]) -> ir.Constant:
    """Return a vector of numbers, as shuffles are told."""
    return ir.Constant(ir.VectorType(INT, len(values)), [ir.Constant(INT, value) for value in values])


_ABOVE = numbers([byte for lane in range(LANES) for byte in (3 * LANES, 3 * lane, 3 * lane + 1, 3 * lane + 2)])
_EIGHT = numbers([8] * LANES)


def read_eight(b: ir.IRBuilder, packed: Array, at: Any) -> Any:
    """Read eight samples from a byte on: each into the upper three bytes of a lane, shifted down with its sign."""
    lanes = b.shuffle_vector(packed.read(_PACKED, at), ir.Constant(_PACKED, None), _ABOVE)
    return b.ashr(b.bitcast(lanes, WIDE), _EIGHT)


def transposed(b: ir.IRBuilder, rows: Sequence[Any]) -> list[Any]:
    """Turn eight vectors of eight lanes about their diagonal: blocks of 1, 2 and 4 change places."""
    turned = list(rows)
    for block in (1, 2, 4):
        upper = numbers([lane if not lane & block else LANES + lane - block for lane in range(LANES)])
        lower = numbers([lane + block if not lane & block else LANES + lane for lane in range(LANES)])
        for one in (lane for lane in range(LANES) if not lane & block):
            pair = turned[one], turned[one + block]
            turned[one], turned[one + block] = (b.shuffle_vector(*pair, mask) for mask in (upper, lower))
    return turned


def total_of(b: ir.IRBuilder, vectors: Sequence[Any]) -> Any:
    """Add vectors up."""
    total = vectors[0]
    for one in vectors[1:]:
        total = b.add(total, one)
    return total


def lay_rows(b: ir.IRBuilder, rows: Sequence[Any], samples: Array, channel: Any, column: Any) -> None:
    """Write frames of eight neighbouring channels by channel, from a row and a column on."""
    for begin in range(0, len(rows), LANES):
        for lane, row in enumerate(transposed(b, rows[begin : begin + LANES])):
            samples.write(row, b.add(channel, LONG(lane)), b.add(column, LONG(begin)))


@operation
def lay_cell(
    typing: Any, packed: Any, at: Any, step: Any, x: Any, channel: Any, column: Any, cells: Any, cell: Any
) -> Generated:
    """Lay 16 frames of eight neighbouring channels out by channel, and sum each channel's into a cell.

    `packed` is read from byte `at` on, frames lying `step` bytes apart. `x`, (channels, columns), takes samples from
    row `channel` and `column` on; `cells`, (channels, cells), takes sums in column `cell`.
    """

    def generate(context: Any, b: ir.IRBuilder, sig: Any, args: Any) -> Any:
        source, samples, sums = (Array(context, b, sig.args[place], args[place]) for place in (0, 3, 6))
        _, at, step, _, channel, column, _, cell = args
        rows = [read_eight(b, source, b.add(at, b.mul(step, LONG(frame)))) for frame in range(CELL)]
        lay_rows(b, rows, samples, channel, column)
        total = total_of(b, rows)
        for lane in range(LANES):
            sums.write(b.extract_element(total, INT(lane)), b.add(channel, LONG(lane)), cell)
        return context.get_dummy_value()

    return types.void(packed, types.intp, types.intp, x, types.intp, types.intp, cells, types.intp), generate


@operation
def lay_line(typing: Any, packed: Any, at: Any, x: Any, column: Any, cells: Any, cell: Any) -> Generated:
    """Lay 128 samples of the only channel, which follow one another from byte `at` on, out; sum eight cells."""

    def generate(context: Any, b: ir.IRBuilder, sig: Any, args: Any) -> Any:
        source, samples, sums = (Array(context, b, sig.args[place], args[place]) for place in (0, 2, 4))
        _, at, _, column, _, cell = args
        parts = [read_eight(b, source, b.add(at, LONG(3 * first))) for first in range(0, LINE, LANES)]
        for place, part in enumerate(parts):
            samples.write(part, LONG(0), b.add(column, LONG(place * LANES)))
        halves = [b.add(*parts[first : first + 2]) for first in range(0, len(parts), 2)]
        sums.write(total_of(b, transposed(b, halves)), LONG(0), cell)
        return context.get_dummy_value()

    return types.void(packed, types.intp, x, types.intp, cells, types.intp), generate


@operation
def sample(typing: Any, packed: Any, at: Any) -> Generated:
    """Read the one sample that begins at byte `at`."""

    def generate(context: Any, b: ir.IRBuilder, sig: Any, args: Any) -> Any:
        return b.sext(Array(context, b, sig.args[0], args[0]).read(_THREE, args[1]), INT)

    return types.int32(packed, types.intp), generate
