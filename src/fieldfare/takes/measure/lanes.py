"""Reading and measuring samples many at a time: the widest loads and shuffles that the processor has, told to LLVM.

Plain loops over three-byte samples read one at a time, and sums of 64 bits halve how many samples a register holds,
which is what measuring would then mostly do. Each function here is one operation inside a compiled loop; there is no
bounds check, so callers hand over whole groups only. What LLVM makes of the vectors fits the processor at hand, wide
registers or not; results are the same.

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

from fieldfare.takes.measure.grain import BUCKET, CELL

LANES = 8  # samples that are read at once
LINE = LANES * CELL  # samples of one channel that `lay_line` takes
_FLUSH = 8  # groups of lanes after which sums of 32 bits go into sums of 64: eight bends of 2^28 fit
_BYTE, _INT, _LONG = ir.IntType(8), ir.IntType(32), ir.IntType(64)
_PACKED = ir.VectorType(_BYTE, 3 * LANES)
_WIDE, _HALF = ir.VectorType(_INT, LANES), ir.VectorType(_LONG, LANES // 2)
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


def _least(b: ir.IRBuilder, one: Any, other: Any) -> Any:
    return b.select(b.icmp_signed("<", one, other), one, other)


def _most(b: ir.IRBuilder, one: Any, other: Any) -> Any:
    return b.select(b.icmp_signed(">", one, other), one, other)


_JOINS: dict[str, Callable[[ir.IRBuilder, Any, Any], Any]] = {
    "low": _least,
    "high": _most,
    "most": _most,
    "bits": ir.IRBuilder.or_,
    "energy": ir.IRBuilder.add,
    "bends": ir.IRBuilder.add,
    "straight": ir.IRBuilder.add,
    "some": ir.IRBuilder.add,
}


class _Looking:
    """What is gathered of a bucket, lane by lane, where the compiler can keep it in registers."""

    def __init__(self, b: ir.IRBuilder, first: Any) -> None:
        self._b = b
        self._none, self._down = ir.Constant(_WIDE, None), ir.Constant(_HALF, [_INT.width] * _HALF.count)
        begin = dict.fromkeys(_JOINS, self._none) | dict.fromkeys(("low", "high"), first)
        begin |= dict.fromkeys(("energy", "bends"), ir.Constant(_HALF, None))
        alloca: Callable[..., Any] = cgutils.alloca_once_value
        self._kept = {name: alloca(b, value) for name, value in begin.items()}

    def _join(self, name: str, value: Any) -> None:
        self._b.store(_JOINS[name](self._b, self._b.load(self._kept[name]), value), self._kept[name])

    def take(self, now: Any, last: Any, before: Any) -> None:
        """Take eight samples, those one earlier and those two earlier."""
        b = self._b
        bend = b.sub(b.sub(now, last), b.sub(last, before))
        self._join("straight", b.zext(b.icmp_signed("==", bend, self._none), _WIDE))
        bend = _most(b, bend, b.neg(bend))
        for name, value in (("low", now), ("high", now), ("bits", now), ("most", bend), ("some", bend)):
            self._join(name, value)
        pairs = b.bitcast(now, _HALF)
        for one in (b.ashr(b.shl(pairs, self._down), self._down), b.ashr(pairs, self._down)):
            self._join("energy", b.mul(one, one))

    def flush(self) -> None:
        """Put bends summed in 32 bits to those in 64."""
        b, kept = self._b, self._kept["some"]
        pairs = b.bitcast(b.load(kept), _HALF)
        for one in (b.lshr(b.shl(pairs, self._down), self._down), b.lshr(pairs, self._down)):
            self._join("bends", one)
        b.store(self._none, kept)

    def found(self, name: str) -> Any:
        """Join the lanes of what is gathered under a name to one number of 64 bits."""
        b, vector = self._b, self._b.load(self._kept[name])
        lanes = vector.type.count
        while lanes > 1:
            lanes //= 2
            lower, upper = (
                b.shuffle_vector(vector, vector, _numbers(range(side, side + lanes))) for side in (0, lanes)
            )
            vector = _JOINS[name](b, lower, upper)
        number = b.extract_element(vector, _INT(0))
        return b.sext(number, _LONG) if number.type.width < _LONG.width else number


@_operation
def look(typing: Any, row: Any, at: Any) -> Generated:
    """Measure the bucket that begins at a column of a row; two columns go before it.

    Gives lowest and highest sample, largest bend, the bits that are set, energy, sum of bends, how many bends are 0.
    """
    found: Any = cast(Callable[..., Any], types.Tuple)((types.int64,) * 7)

    def generate(context: Any, b: ir.IRBuilder, sig: Any, args: Any) -> Any:
        base, number = context.make_array(sig.args[0])(context, b, args[0]).data, args[1].type

        def at_column(column: Any) -> Any:
            return b.load(b.bitcast(b.gep(base, [column]), _WIDE.as_pointer()), align=4)

        looking = _Looking(b, at_column(args[1]))
        with cgutils.for_range(b, number(BUCKET // (LANES * _FLUSH))) as turn:
            begin = b.add(args[1], b.mul(turn.index, number(LANES * _FLUSH)))
            for place in range(0, LANES * _FLUSH, LANES):
                looking.take(*(at_column(b.add(begin, number(place - ago))) for ago in range(3)))
            looking.flush()
        names = ("low", "high", "most", "bits", "energy", "bends", "straight")
        return context.make_tuple(b, found, [looking.found(name) for name in names])

    return found(row, types.intp), generate
