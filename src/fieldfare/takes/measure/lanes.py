"""Reading packed 24-bit samples many at a time: the widest loads and shuffles that the processor has, told to LLVM.

Plain loops over three-byte samples read one at a time, which is what measuring would then mostly do. Each function here
is one operation inside a compiled loop; there is no bounds check, so callers hand over whole groups only. What LLVM
makes of the vectors fits the processor at hand, wide registers or not; results are the same.

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
_BYTE, _INT = ir.IntType(8), ir.IntType(32)
_PACKED = ir.VectorType(_BYTE, 3 * LANES)
_WIDE = ir.VectorType(_INT, LANES)
Generated = tuple[Any, Callable[..., Any]]


def _operation(build: Callable[..., Generated]) -> Callable[..., Any]:
    """Make a function that compiled loops can call out of one that says what it does in LLVM's words."""
    return cast(Callable[..., Any], intrinsic(build))


def _row_bytes(b: ir.IRBuilder, array: Any) -> Any:
    """Bytes from one row of an array to the next."""
    unpack: Callable[..., list[Any]] = cgutils.unpack_tuple
    return unpack(b, array.strides)[0]


def _numbers(values: Sequence[int]) -> ir.Constant:
    return ir.Constant(ir.VectorType(_INT, len(values)), [ir.Constant(_INT, value) for value in values])


_ABOVE = _numbers([byte for lane in range(LANES) for byte in (3 * LANES, 3 * lane, 3 * lane + 1, 3 * lane + 2)])
_EIGHT = _numbers([8] * LANES)


def _read(b: ir.IRBuilder, base: Any, offset: Any) -> Any:
    """Read eight samples: each into the upper three bytes of a lane, shifted down with its sign."""
    packed = b.load(b.bitcast(b.gep(base, [offset]), _PACKED.as_pointer()), align=1)
    return b.ashr(b.bitcast(b.shuffle_vector(packed, ir.Constant(_PACKED, None), _ABOVE), _WIDE), _EIGHT)


def _transposed(b: ir.IRBuilder, rows: Sequence[Any]) -> list[Any]:
    """Turn eight vectors of eight lanes about their diagonal: blocks of 1, 2 and 4 change places."""
    turned = list(rows)
    for block in (1, 2, 4):
        upper = _numbers([lane if not lane & block else LANES + lane - block for lane in range(LANES)])
        lower = _numbers([lane + block if not lane & block else LANES + lane for lane in range(LANES)])
        for one in (lane for lane in range(LANES) if not lane & block):
            pair = turned[one], turned[one + block]
            turned[one], turned[one + block] = (b.shuffle_vector(*pair, mask) for mask in (upper, lower))
    return turned


def _sum(b: ir.IRBuilder, vectors: Sequence[Any]) -> Any:
    total = vectors[0]
    for one in vectors[1:]:
        total = b.add(total, one)
    return total


def _write(b: ir.IRBuilder, array: Any, offset: Any, value: Any) -> None:
    """Write a vector or a number at so many bytes from an array's start."""
    place = b.gep(b.bitcast(array.data, _BYTE.as_pointer()), [offset])
    b.store(value, b.bitcast(place, value.type.as_pointer()), align=4)


@_operation
def lay_cell(
    typing: Any, packed: Any, at: Any, step: Any, x: Any, channel: Any, column: Any, cells: Any, cell: Any
) -> Generated:
    """Lay 16 frames of eight neighbouring channels out by channel, and sum each channel's into a cell.

    `packed` is read from byte `at` on, frames lying `step` bytes apart. `x`, (channels, columns), takes samples from
    row `channel` and `column` on; `cells`, (channels, cells), takes sums in column `cell`.
    """

    def generate(context: Any, b: ir.IRBuilder, sig: Any, args: Any) -> Any:
        samples, sums = (context.make_array(sig.args[place])(context, b, args[place]) for place in (3, 6))
        base, number = context.make_array(sig.args[0])(context, b, args[0]).data, args[1].type
        rows = [_read(b, base, b.add(args[1], b.mul(args[2], number(frame)))) for frame in range(CELL)]
        total = _sum(b, rows)
        in_row, in_sums = (_row_bytes(b, one) for one in (samples, sums))
        for half in range(0, CELL, LANES):
            for lane, row in enumerate(_transposed(b, rows[half : half + LANES])):
                place = b.mul(b.add(args[4], number(lane)), in_row)
                _write(b, samples, b.add(place, b.mul(b.add(args[5], number(half)), number(4))), row)
        for lane in range(LANES):
            place = b.add(b.mul(b.add(args[4], number(lane)), in_sums), b.mul(args[7], number(4)))
            _write(b, sums, place, b.extract_element(total, _INT(lane)))
        return context.get_dummy_value()

    return types.void(packed, types.intp, types.intp, x, types.intp, types.intp, cells, types.intp), generate


@_operation
def lay_line(typing: Any, packed: Any, at: Any, row: Any, column: Any, cells: Any, cell: Any) -> Generated:
    """Lay 128 samples of one channel, which follow one another from byte `at` on, out in a row; sum eight cells."""

    def generate(context: Any, b: ir.IRBuilder, sig: Any, args: Any) -> Any:
        samples, sums = (context.make_array(sig.args[place])(context, b, args[place]) for place in (2, 4))
        base, number = context.make_array(sig.args[0])(context, b, args[0]).data, args[1].type
        parts = [_read(b, base, b.add(args[1], number(3 * first))) for first in range(0, LINE, LANES)]
        for place, part in enumerate(parts):
            _write(b, samples, b.mul(b.add(args[3], number(place * LANES)), number(4)), part)
        halves = [b.add(*parts[first : first + 2]) for first in range(0, len(parts), 2)]
        _write(b, sums, b.mul(args[5], number(4)), _sum(b, _transposed(b, halves)))
        return context.get_dummy_value()

    return types.void(packed, types.intp, row, types.intp, cells, types.intp), generate


@_operation
def sample(typing: Any, packed: Any, at: Any) -> Generated:
    """Read the one sample that begins at byte `at`."""

    def generate(context: Any, b: ir.IRBuilder, sig: Any, args: Any) -> Any:
        base = context.make_array(sig.args[0])(context, b, args[0]).data
        place = b.bitcast(b.gep(base, [args[1]]), ir.IntType(24).as_pointer())
        return b.sext(b.load(place, align=1), _INT)

    return types.int32(packed, types.intp), generate
