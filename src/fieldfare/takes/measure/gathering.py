"""Measuring samples many at a time: what a bucket shows is gathered lane by lane, in wide registers.

Plain loops would keep sums in 64 bits, which halves how many samples a register holds. Where samples are one channel's,
a register holds eight that follow one another; where eight channels lie side by side in the file, it holds one of each,
so that they are measured before they are laid out by channel, and no lanes have to be joined. Both are operations
inside a compiled loop, as those of `lanes` are.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils

from fieldfare.takes.measure.grain import BUCKET, CELL
from fieldfare.takes.measure.lanes import (
    HALF,
    INT,
    LANES,
    LONG,
    WIDE,
    Array,
    Generated,
    lay_rows,
    numbers,
    operation,
    read_eight,
    total_of,
)

_FLUSH = 8  # groups of lanes after which sums of 32 bits go into sums of 64: eight bends of 2^28 fit


def _least(b: ir.IRBuilder, one: Any, other: Any) -> Any:
    return b.select(b.icmp_signed("<", one, other), one, other)


def _most(b: ir.IRBuilder, one: Any, other: Any) -> Any:
    return b.select(b.icmp_signed(">", one, other), one, other)


_JOINS: dict[str, Callable[[ir.IRBuilder, Any, Any], Any]] = {
    "low": _least,
    "high": _most,
    "most": _most,
    "bits": ir.IRBuilder.or_,
    "total": ir.IRBuilder.add,
    "energy": ir.IRBuilder.add,
    "bends": ir.IRBuilder.add,
    "straight": ir.IRBuilder.add,
    "some": ir.IRBuilder.add,
}
_IN_64_BITS = ("total", "energy", "bends")


class _Gathered:
    """What is gathered of samples lane by lane, where the compiler can keep it in registers.

    Sums of 64 bits need two registers, for the even lanes and the odd ones; where all lanes are one channel's, one
    takes both.
    """

    def __init__(self, b: ir.IRBuilder, first: Any, *, one_channel: bool) -> None:
        self._b = b
        self._sides = ("both", "both") if one_channel else ("even", "odd")
        self._none, self._down = ir.Constant(WIDE, None), ir.Constant(HALF, [INT.width] * HALF.count)
        alloca: Callable[..., Any] = cgutils.alloca_once_value
        self._kept = {name: alloca(b, self._none) for name in _JOINS if name not in _IN_64_BITS}
        self._kept |= {name: alloca(b, first) for name in ("low", "high")}
        long = [f"{name} {side}" for name in _IN_64_BITS for side in self._sides]
        self._kept |= {name: alloca(b, ir.Constant(HALF, None)) for name in long}

    def _join(self, name: str, value: Any) -> None:
        kept = self._kept[name]
        self._b.store(_JOINS[name.split()[0]](self._b, self._b.load(kept), value), kept)

    def _join_pairs(self, name: str, even: Any, odd: Any) -> None:
        for side, value in zip(self._sides, (even, odd), strict=True):
            self._join(f"{name} {side}", value)

    def _pairs(self, lanes: Any, shift: Callable[[Any, Any], Any]) -> tuple[Any, Any]:
        """Even and odd lanes in 64 bits, by a shift that keeps the sign or not."""
        pairs = self._b.bitcast(lanes, HALF)
        return shift(self._b.shl(pairs, self._down), self._down), shift(pairs, self._down)

    def take(self, now: Any, bend: Any) -> None:
        """Take eight samples, and how each bends."""
        b = self._b
        self._join("straight", b.zext(b.icmp_signed("==", bend, self._none), WIDE))
        bend = _most(b, bend, b.neg(bend))
        for name, value in (("low", now), ("high", now), ("bits", now), ("most", bend), ("some", bend)):
            self._join(name, value)
        self._join_pairs("energy", *(b.mul(one, one) for one in self._pairs(now, b.ashr)))

    def add(self, total: Any) -> None:
        """Add to the sum of samples."""
        self._join_pairs("total", *self._pairs(total, self._b.ashr))

    def flush(self) -> None:
        """Put bends summed in 32 bits to those in 64."""
        b, kept = self._b, self._kept["some"]
        self._join_pairs("bends", *self._pairs(b.load(kept), b.lshr))
        b.store(self._none, kept)

    def joined(self, name: str) -> Any:
        """Join the lanes of what is gathered under a name to one number."""
        b, vector = self._b, self._b.load(self._kept[f"{name} both" if name in _IN_64_BITS else name])
        lanes = vector.type.count
        while lanes > 1:
            lanes //= 2
            lower, upper = (b.shuffle_vector(vector, vector, numbers(range(side, side + lanes))) for side in (0, lanes))
            vector = _JOINS[name](b, lower, upper)
        return b.extract_element(vector, INT(0))

    def lane(self, lane: int, name: str) -> Any:
        """Return what is gathered under a name in one lane."""
        b = self._b
        if name in _IN_64_BITS:
            return b.extract_element(b.load(self._kept[f"{name} {self._sides[lane % 2]}"]), INT(lane // 2))
        return b.extract_element(b.load(self._kept[name]), INT(lane))


def _tell(
    b: ir.IRBuilder, found: Callable[[str], Any], channel: Any, place: Any, peaks: Array, sums: Array, used: Array
) -> None:
    """Write what is found of a channel's bucket, by name, where `laying` says."""
    for kind, name in enumerate(("low", "high", "most")):
        peaks.write(found(name), LONG(kind), channel, place)
    for kind, name in enumerate(("total", "energy", "bends", "straight")):
        value = found(name)
        sums.write(value if value.type == LONG else b.zext(value, LONG), LONG(kind), channel, place)
    used.write(b.or_(used.read(INT, channel), found("bits")), channel)


@operation
def look(
    typing: Any, x: Any, channel: Any, column: Any, cells: Any, cell: Any, peaks: Any, sums: Any, place: Any, used: Any
) -> Generated:
    """Measure a bucket of one channel, laid out from a column of `x` on; two columns go before it.

    Its cells, from `cell` on, are summed already. What is found goes where `laying` says: into `peaks` and `sums` at
    `place`, and into `used`.
    """

    def generate(context: Any, b: ir.IRBuilder, sig: Any, args: Any) -> Any:
        samples, cell_sums, *found = (Array(context, b, sig.args[place], args[place]) for place in (0, 3, 5, 6, 8))
        _, channel, column, _, cell, _, _, place, _ = args
        gathered = _Gathered(b, samples.read(WIDE, channel, column), one_channel=True)
        with cgutils.for_range(b, LONG(BUCKET // (LANES * _FLUSH))) as turn:
            begin = b.add(column, b.mul(turn.index, LONG(LANES * _FLUSH)))
            for at in range(0, LANES * _FLUSH, LANES):
                now, last, before = (samples.read(WIDE, channel, b.add(begin, LONG(at - ago))) for ago in range(3))
                gathered.take(now, b.sub(b.sub(now, last), b.sub(last, before)))
            gathered.flush()
        for at in range(0, BUCKET // CELL, LANES):
            gathered.add(cell_sums.read(WIDE, channel, b.add(cell, LONG(at))))
        _tell(b, gathered.joined, channel, place, *found)
        return context.get_dummy_value()

    kinds = (types.intp, types.intp, cells, types.intp, peaks, sums, types.intp, used)
    return types.void(x, *kinds), generate


def _eight(b: ir.IRBuilder, samples: Array, channel: Any, column: Any) -> Any:
    """One sample of each of eight neighbouring channels."""
    lanes = ir.Constant(WIDE, None)
    for lane in range(LANES):
        lanes = b.insert_element(lanes, samples.read(INT, b.add(channel, LONG(lane)), column), INT(lane))
    return lanes


@operation
def take_abreast(
    typing: Any,
    packed: Any,
    at: Any,
    step: Any,
    x: Any,
    channel: Any,
    column: Any,
    cells: Any,
    cell: Any,
    peaks: Any,
    sums: Any,
    place: Any,
    used: Any,
) -> Generated:
    """Measure a bucket of eight neighbouring channels, lay it out by channel, and sum its cells.

    `packed` is read from byte `at` on, frames lying `step` bytes apart; two columns go before `column` of `x`. The
    others are those of `laying`, from row `channel` on: `cells` takes sums from `cell` on, `peaks` and `sums` take what
    is found at `place`. Sixteen bends of 2^25 fit 32 bits.
    """

    def generate(context: Any, b: ir.IRBuilder, sig: Any, args: Any) -> Any:
        source, samples, cell_sums, *found = (
            Array(context, b, sig.args[place], args[place]) for place in (0, 3, 6, 8, 9, 11)
        )
        _, at, step, _, channel, column, _, cell, _, _, place, _ = args
        alloca: Callable[..., Any] = cgutils.alloca_once_value
        last, before = (_eight(b, samples, channel, b.sub(column, LONG(ago))) for ago in (1, 2))
        kept, kept_rise = alloca(b, last), alloca(b, b.sub(last, before))
        gathered = _Gathered(b, read_eight(b, source, at), one_channel=False)
        with cgutils.for_range(b, LONG(BUCKET // CELL)) as turn:
            frame = b.mul(turn.index, LONG(CELL))
            rows = [read_eight(b, source, b.add(at, b.mul(step, b.add(frame, LONG(one))))) for one in range(CELL)]
            last, rise = b.load(kept), b.load(kept_rise)
            for now in rows:
                rise_before, rise = rise, b.sub(now, last)
                gathered.take(now, b.sub(rise, rise_before))
                last = now
            b.store(last, kept)
            b.store(rise, kept_rise)
            lay_rows(b, rows, samples, channel, b.add(column, frame))
            total = total_of(b, rows)
            for lane in range(LANES):
                cell_sums.write(
                    b.extract_element(total, INT(lane)), b.add(channel, LONG(lane)), b.add(cell, turn.index)
                )
            gathered.add(total)
            gathered.flush()
        for lane in range(LANES):
            _tell(b, partial(gathered.lane, lane), b.add(channel, LONG(lane)), place, *found)
        return context.get_dummy_value()

    kinds = (types.intp, types.intp, x, types.intp, types.intp, cells, types.intp, peaks, sums, types.intp, used)
    return types.void(packed, *kinds), generate
