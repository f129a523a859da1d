"""Functions of a PDF (ISO 32000-1, 7.10): what mixes an ink from other colours."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise, product
from typing import Any

from propagate.io.pdf.calculator import calculate

__all__ = ["evaluate_function"]

_DEEPEST = 4
_MOST_INPUTS = 6
_MOST_SAMPLES = 4_000_000
"""Bytes of a table."""


def evaluate_function(function: Any, values: Sequence[float], depth: int = 0) -> list[float] | None:
    """What a function gives for some values; None when it cannot be told."""
    if depth > _DEEPEST:
        return None
    inputs = _hold_within([float(v) for v in values], _list_pairs(function.get("/Domain")))
    kind = int(function.get("/FunctionType", -1))
    if kind == 0:
        found = _evaluate_sampled(function, inputs)
    elif kind == 2:
        found = _evaluate_exponential(function, inputs[0])
    elif kind == 3:
        found = _evaluate_stitched(function, inputs[0], depth)
    elif kind == 4:
        found = calculate(bytes(function.read_bytes()), inputs)
    else:
        return None
    return None if found is None else _hold_within(found, _list_pairs(function.get("/Range")))


def _list_pairs(numbers: Any) -> list[tuple[float, float]]:
    values = [] if numbers is None else [float(v) for v in numbers]
    return list(zip(values[::2], values[1::2], strict=False))


def _hold_within(values: Sequence[float], limits: Sequence[tuple[float, float]]) -> list[float]:
    """Values at the nearest place of their limits, as many as there are limits if there are any."""
    if not limits:
        return list(values)
    return [min(max(v, low), high) for v, (low, high) in zip(values, limits, strict=False)]


def _map(value: float, source: tuple[float, float], target: tuple[float, float]) -> float:
    """Run from one interval to another (7.10.2, interpolation)."""
    run = source[1] - source[0]
    return target[0] + ((value - source[0]) / run if run else 0.0) * (target[1] - target[0])


def _evaluate_exponential(function: Any, x: float) -> list[float]:
    low = [float(v) for v in function.get("/C0", [0.0])]
    high = [float(v) for v in function.get("/C1", [1.0])]
    share = x ** float(function.get("/N", 1))
    return [a + share * (b - a) for a, b in zip(low, high, strict=False)]


def _evaluate_stitched(function: Any, x: float, depth: int) -> list[float] | None:
    (domain,) = _list_pairs(function["/Domain"])
    ends = list(pairwise([domain[0], *(float(v) for v in function["/Bounds"]), domain[1]]))
    parts, codes = list(function["/Functions"]), _list_pairs(function["/Encode"])
    which = min(sum(x >= end for _, end in ends[:-1]), len(parts) - 1)
    return evaluate_function(parts[which], [_map(x, ends[which], codes[which])], depth + 1)


def _evaluate_sampled(function: Any, values: Sequence[float]) -> list[float] | None:
    """A table, between whose entries is interpolated along straight lines in every input."""
    sizes, bits = [int(v) for v in function["/Size"]], int(function["/BitsPerSample"])
    limits, domain = _list_pairs(function["/Range"]), _list_pairs(function["/Domain"])
    decode = _list_pairs(function.get("/Decode")) or limits
    encode = _list_pairs(function.get("/Encode")) or [(0.0, size - 1.0) for size in sizes]
    data = bytes(function.read_bytes())
    count = math.prod(sizes) * len(limits)
    if (
        not len(sizes) == len(domain) == len(values) <= _MOST_INPUTS
        or min(sizes) < 1
        or bits not in (1, 2, 4, 8, 12, 16, 24, 32)
        or not count * bits <= len(data) * 8 <= 8 * _MOST_SAMPLES
    ):
        return None
    ways = []
    for x, source, target, size in zip(values, domain, encode, sizes, strict=True):
        place = min(max(_map(x, source, target), 0.0), size - 1.0)
        low = min(math.floor(place), size - 1)
        ways.append([(low, 1.0 - (place - low)), (min(low + 1, size - 1), place - low)])
    mixed = [0.0] * len(limits)
    for corner in product(*ways):
        weight = math.prod(share for _, share in corner)
        if weight:
            index, step = 0, 1
            for (at, _), size in zip(corner, sizes, strict=True):
                index, step = index + at * step, step * size
            for i in range(len(limits)):
                mixed[i] += weight * _read_sample(data, index * len(limits) + i, bits)
    return [_map(v, (0.0, 2.0**bits - 1), pair) for v, pair in zip(mixed, decode, strict=True)]


def _read_sample(data: bytes, number: int, bits: int) -> int:
    first, last = number * bits, (number + 1) * bits
    word = int.from_bytes(data[first // 8 : -(-last // 8)])
    return (word >> (-last % 8)) & ((1 << bits) - 1)
