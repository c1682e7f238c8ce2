"""Twenty-four places added up side by side, in the vector registers of the processor.

The loop is written in the compiler's own terms, since it is the heart of the search: left to
itself the compiler keeps the sums in memory. It runs on any processor, with what that has.
"""

import numpy as np
from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic

from combwright.playing.compiling import part
from combwright.playing.repertoire import LANES

#: Lanes of one register, and how many terms are under way at once.
_WIDE = 8
_AT_ONCE = 2


@intrinsic
def add_terms(_typing, table, offsets, times, first, last, lanes):
    """Write into `lanes` the sums of times[t] * table[offsets[t] + lane] for t from first to last.

    All are flat arrays of int32.
    """
    signature = types.void(table, offsets, times, first, last, lanes)
    return signature, _written


def _written(context, builder, signature, args):
    arrays = [
        context.make_array(kind)(context, builder, value).data
        for kind, value in zip(signature.args[:3], args[:3], strict=True)
    ]
    lanes = context.make_array(signature.args[5])(context, builder, args[5]).data
    number = arrays[0].type.pointee
    vector = ir.VectorType(number, _WIDE)
    sums = [
        [cgutils.alloca_once_value(builder, ir.Constant(vector, [0] * _WIDE))
         for _ in range(LANES // _WIDE)]
        for _ in range(_AT_ONCE)
    ]  # fmt: skip
    first, last = args[3], args[4]
    two = ir.Constant(first.type, _AT_ONCE)
    even = builder.sub(last, builder.srem(builder.sub(last, first), two))
    with cgutils.for_range_slice(builder, first, even, two, inc=True) as (at, _):
        for n in range(_AT_ONCE):
            _add(builder, arrays, builder.add(at, ir.Constant(at.type, n)), sums[n], vector)
    with cgutils.for_range_slice(builder, even, last, two, inc=True) as (at, _):
        _add(builder, arrays, at, sums[0], vector)
    for block, group in enumerate(zip(*sums, strict=True)):
        total = builder.load(group[0])
        for other in group[1:]:
            total = builder.add(total, builder.load(other))
        place = builder.gep(lanes, [ir.Constant(first.type, block * _WIDE)])
        builder.store(total, builder.bitcast(place, vector.as_pointer()), align=4)
    return context.get_dummy_value()


def _add(builder, arrays, at, sums, vector):
    table, offsets, times = arrays
    offset = builder.sext(builder.load(builder.gep(offsets, [at])), at.type)
    time = builder.load(builder.gep(times, [at]))
    seed = builder.insert_element(
        ir.Constant(vector, ir.Undefined), time, ir.Constant(ir.IntType(32), 0)
    )
    many = ir.Constant(ir.VectorType(ir.IntType(32), _WIDE), [0] * _WIDE)
    spread = builder.shuffle_vector(seed, ir.Constant(vector, ir.Undefined), many)
    for block, total in enumerate(sums):
        begin = builder.add(offset, ir.Constant(at.type, block * _WIDE))
        place = builder.bitcast(builder.gep(table, [begin]), vector.as_pointer())
        values = builder.load(place, align=4)
        builder.store(builder.add(builder.load(total), builder.mul(spread, values)), total)


@part
def rolled(marks, lane):
    """Return 64 bits moved up by so many places, those at the top coming back at the bottom."""
    by = np.uint64(lane)
    return (marks << by) | (marks >> (np.uint64(64) - by)) if lane else marks
