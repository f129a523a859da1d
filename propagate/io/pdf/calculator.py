"""The small language in which a PDF writes a function (ISO 32000-1, 7.10.5)."""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Iterator, Sequence

__all__ = ["calculate"]

_WORD = re.compile(rb"[{}]|[^\s{}]+")
_NOTE = re.compile(rb"%[^\r\n]*")
_MOST_WORDS = 20_000
_MOST_VALUES = 200
_DEEPEST = 40
_LARGEST = 2**31 - 1

Value = float | int | bool
Program = list["Value | str | Program"]


def calculate(text: bytes, values: Sequence[float]) -> list[float] | None:
    """What a calculator function leaves on its stack; None when it makes no sense."""
    words = _WORD.findall(_NOTE.sub(b" ", text))
    if not words or words[0] != b"{" or len(words) > _MOST_WORDS:
        return None
    stack: list[Value] = list(values)
    try:
        _run_program(_read_program(iter(words[1:]), 0), stack)
        return [float(value) for value in stack]
    except (ArithmeticError, IndexError, KeyError, StopIteration, TypeError, ValueError):
        return None


def _read_program(words: Iterator[bytes], depth: int) -> Program:
    if depth > _DEEPEST:
        raise ValueError(depth)
    found: Program = []
    while (word := next(words)) != b"}":
        if word == b"{":
            found.append(_read_program(words, depth + 1))
            continue
        text = word.decode("latin-1")
        try:
            found.append(float(text) if "." in text or "e" in text.lower() else int(text))
        except ValueError:
            found.append(text)
    return found


def _run_program(program: Program, stack: list[Value]) -> None:
    blocks: list[Program] = []
    for word in program:
        if isinstance(word, list):
            blocks.append(word)
        elif not isinstance(word, str):
            stack.append(word)
        elif word == "if":
            block = blocks.pop()
            if stack.pop():
                _run_program(block, stack)
        elif word == "ifelse":
            other, block = blocks.pop(), blocks.pop()
            _run_program(block if stack.pop() else other, stack)
        elif word in _ONE:
            stack.append(_ONE[word](stack.pop()))
        elif word in _TWO:
            second, first = stack.pop(), stack.pop()
            stack.append(_hold_short(_TWO[word](first, second)))
        else:
            _STACK[word](stack)
        if len(stack) > _MOST_VALUES:
            raise ValueError(len(stack))


def _hold_short(value: Value) -> Value:
    """A whole number that is too large becomes a real one."""
    is_long = isinstance(value, int) and abs(value) > _LARGEST
    return float(value) if is_long else value


def _join_bits(join: Callable[[int, int], int]) -> Callable[[Value, Value], Value]:
    """An operator of truth values that takes whole numbers as well."""

    def join_both(a: Value, b: Value) -> Value:
        found = join(int(a), int(b))
        return bool(found) if isinstance(a, bool) else found

    return join_both


def _copy_top(stack: list[Value]) -> None:
    count = int(stack.pop())
    if not 0 <= count <= len(stack):
        raise ValueError(count)
    stack += stack[len(stack) - count :]


def _push_indexed(stack: list[Value]) -> None:
    back = int(stack.pop())
    if back < 0:
        raise ValueError(back)
    stack.append(stack[-1 - back])


def _roll_top(stack: list[Value]) -> None:
    """``n j roll``: the `n` upper ones go round by `j`, upwards."""
    by, count = int(stack.pop()), int(stack.pop())
    if not 0 <= count <= len(stack):
        raise ValueError(count)
    if count:
        upper = stack[len(stack) - count :]
        by %= count
        stack[len(stack) - count :] = upper[count - by :] + upper[: count - by]


def _exchange_top(stack: list[Value]) -> None:
    stack[-1], stack[-2] = stack[-2], stack[-1]


def _divide_whole(a: Value, b: Value) -> int:
    """The quotient towards zero."""
    return math.trunc(int(a) / int(b))


def _shift_bits(a: Value, b: Value) -> int:
    places = max(min(int(b), 31), -31)
    return int(a) << places & 0xFFFFFFFF if places >= 0 else int(a) >> -places


def _measure_turn(a: Value, b: Value) -> float:
    """The angle of a fraction, 0 to 360 degrees."""
    return math.degrees(math.atan2(a, b)) % 360.0


_ONE: dict[str, Callable[[Value], Value]] = {
    "abs": abs,
    "ceiling": math.ceil,
    "cos": lambda a: math.cos(math.radians(a)),
    "cvi": math.trunc,
    "cvr": float,
    "floor": math.floor,
    "ln": math.log,
    "log": math.log10,
    "neg": operator.neg,
    "not": lambda a: not a if isinstance(a, bool) else ~int(a),
    "round": lambda a: math.floor(a + 0.5),
    "sin": lambda a: math.sin(math.radians(a)),
    "sqrt": math.sqrt,
    "truncate": math.trunc,
}
_TWO: dict[str, Callable[[Value, Value], Value]] = {
    "add": operator.add,
    "and": _join_bits(operator.and_),
    "atan": _measure_turn,
    "bitshift": _shift_bits,
    "div": operator.truediv,
    "eq": operator.eq,
    "exp": math.pow,
    "ge": operator.ge,
    "gt": operator.gt,
    "idiv": _divide_whole,
    "le": operator.le,
    "lt": operator.lt,
    "mod": math.fmod,
    "mul": operator.mul,
    "ne": operator.ne,
    "or": _join_bits(operator.or_),
    "sub": operator.sub,
    "xor": _join_bits(operator.xor),
}
_STACK: dict[str, Callable[[list[Value]], None]] = {
    "copy": _copy_top,
    "dup": lambda stack: stack.append(stack[-1]),
    "exch": _exchange_top,
    "false": lambda stack: stack.append(False),
    "index": _push_indexed,
    "pop": lambda stack: stack.__delitem__(-1),
    "roll": _roll_top,
    "true": lambda stack: stack.append(True),
}
