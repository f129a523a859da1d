"""Changes of a set as plain values: with knowledge of its keys, types, names and sizes.

A change is a list: ``["put", path, value]``, ``["drop", path]``, ``["twice", path]``,
``["swap", path, path]``, ``["reverse", path]``, ``["roll", path, count]``,
``["nest", path, depth]``, ``["rename", where, old, new]``, ``["affine", path, six numbers]``.
A path begins with "set", "geometry" or "sent".
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from copy import deepcopy
from typing import Any

__all__ = ["WORDS", "change_tree", "random_change"]

Json = Any
Path = list[Any]

WORDS = (
    "", " ", "a b", ".", "..", "../x", "-", "start", "end", "reversed", "é", "\u0301", "\u202e<b>",
    "\U0001f9f5", "\x00", "\x1b[31m", "\n", "\x7f", "\ud800", "x" * 3000, "con", "=", "&amp;", "%s",
    "{0}", "front.side from start to", "front.side from hip_notch to start reversed", "nan", "1e9",
    "front.", "front.side.start", '"', "\\", "a/b", "-1in", "9" * 400 + "mm",
)  # fmt: skip
NUMBERS: tuple[Any, ...] = (
    0, -0.0, 1, -1, 1e-9, 5e-324, 0.5, 90, 1000, 1e6, 1e7, 1e15, 1e154, 1e308, -1e308, 10**25,
    10**400, float("nan"), float("inf"), -float("inf"), True, False, None, "1", [], {},
)  # fmt: skip
GENTLE = (0.001, -0.001, 0.04, -0.06, 0.3, -0.3, 2.0, -2.0, 15.0, -15.0, 120.0)


# ------------------------------------------------------------------------------- making


def _at(document: Json, path: Path) -> Json:
    for key in path:
        document = document[key]
    return document


def _put(document: Json, path: Path, value: Json) -> None:
    _at(document, path[:-1])[path[-1]] = value


def _drop(document: Json, path: Path) -> None:
    del _at(document, path[:-1])[path[-1]]


def _twice(document: Json, path: Path) -> None:
    holder, key = _at(document, path[:-1]), path[-1]
    if isinstance(holder, list):
        holder.insert(key, deepcopy(holder[key]))
    else:
        holder[f"{key}_2"] = deepcopy(holder[key])


def _swap(document: Json, one: Path, other: Path) -> None:
    first, second = deepcopy(_at(document, one)), deepcopy(_at(document, other))
    _put(document, one, second)
    _put(document, other, first)


def _reverse(document: Json, path: Path) -> None:
    held = _at(document, path)
    _put(document, path, dict(reversed(held.items())) if isinstance(held, dict) else held[::-1])


def _roll(document: Json, path: Path, count: int) -> None:
    held = list(_at(document, path))
    _put(document, path, held[count:] + held[:count])


def _nest(document: Json, path: Path, depth: int) -> None:
    value = _at(document, path)
    for level in range(depth):
        value = {"a": value} if level % 7 == 6 else [value]
    _put(document, path, value)


def _rename(document: Json, where: str, old: str, new: str) -> None:
    """Rename a word everywhere in a part of the document, in keys and texts."""
    word = re.compile(rf"(?<!\w){re.escape(old)}(?!\w)")

    def renamed(value: Json) -> Json:
        if isinstance(value, dict):
            return {word.sub(lambda _: new, k): renamed(v) for k, v in value.items()}
        if isinstance(value, list):
            return [renamed(item) for item in value]
        return word.sub(lambda _: new, value) if isinstance(value, str) else value

    document[where] = renamed(document[where])


def _affine(document: Json, path: Path, numbers: list[float]) -> None:
    """Move every point below `path`: x' = a x + b y + e, y' = c x + d y + f."""
    a, b, c, d, e, f = numbers

    def moved(value: Json) -> Json:
        if isinstance(value, list) and len(value) == 2 and all(type(v) is float for v in value):
            x, y = value
            return [a * x + b * y + e, c * x + d * y + f]
        if isinstance(value, dict):
            return {key: moved(item) for key, item in value.items()}
        return [moved(item) for item in value] if isinstance(value, list) else value

    _put(document, path, moved(_at(document, path)))


_CHANGES: dict[str, Callable[..., None]] = {
    "put": _put, "drop": _drop, "twice": _twice, "swap": _swap, "reverse": _reverse,
    "roll": _roll, "nest": _nest, "rename": _rename, "affine": _affine,
}  # fmt: skip


def change_tree(document: Json, changes: list[Json]) -> int:
    """Make the changes; one whose place is not there is passed over.

    Returns how many were made.
    """
    made = 0
    for name, *values in changes:
        try:
            _CHANGES[name](document, *values)
            made += 1
        except (KeyError, IndexError, TypeError, AttributeError):
            continue
    return made


# ----------------------------------------------------------------------------- choosing


def _places(value: Json, path: Path) -> list[Path]:
    """Every place; of a list of points the first, the last and some between."""
    if not isinstance(value, dict | list):
        return []
    keys: list[Any] = list(value) if isinstance(value, dict) else list(range(len(value)))
    if isinstance(value, list) and len(value) > 6 and isinstance(value[0], list):
        keys = [0, 1, len(value) // 2, len(value) - 1]
    found = []
    for key in keys:
        found.append([*path, key])
        found += _places(value[key], [*path, key])
    return found


def _names(document: Json) -> list[str]:
    """Names of pieces, edges, landmarks, sizes, levels and relations."""
    found = set(map(str, document["set"].get("sizes", [])))
    for name, piece in document["geometry"].items():
        found.add(name)
        for sized in piece["sizes"].values():
            found |= {item["name"] for key in ("edges", "landmarks") for item in sized.get(key, [])}
            found |= set(sized.get("levels", {}))
    return sorted(found)


def random_change(document: Json, rng: random.Random, *, root: str | None = None) -> Json:
    """Choose one change of a sound document; below `root` only, when given."""
    part = root or rng.choice(["set", "set", "geometry"])
    top: Path = [part]
    if part != "set":
        piece = rng.choice(list(document[part]))
        top = [part, piece, "sizes"]
        if rng.random() < 0.8:
            top.append(rng.choice(list(document[part][piece]["sizes"])))
    elif rng.random() < 0.7:
        top.append(rng.choice(list(document["set"])))
    places = _places(_at(document, top), top) or [top]
    path = rng.choice(places)
    value = _at(document, path)
    if rng.random() < 0.08:
        names = _names(document)
        new = rng.choice([*names, *WORDS])
        return ["rename", rng.choice(["set", part]), rng.choice(names), new]
    if part != "set" and rng.random() < 0.1:
        return ["affine", top, _affine_numbers(rng)]
    if isinstance(value, bool | int | float | str) and rng.random() < 0.75:
        return ["put", path, _other(value, document, rng)]
    like = [p for p in places if type(_at(document, p)) is type(value)]
    made: list[Json] = [
        ["drop", path],
        ["twice", path],
        ["swap", path, rng.choice(like)],
        ["put", path, deepcopy(_at(document, rng.choice(like)))],
        ["put", path, rng.choice([*NUMBERS, *WORDS])],
    ]
    if isinstance(value, list | dict):
        made += [["reverse", path], ["put", path, type(value)()]]
        if isinstance(value, list):
            made.append(["roll", path, rng.randrange(1, 3)])
    if rng.random() < 0.1:
        return ["nest", path, rng.choice([1, 3, 40, 400])]
    return rng.choice(made)


def _other(value: Json, document: Json, rng: random.Random) -> Json:
    """Another value in the place of a number or a text."""
    if isinstance(value, str):
        names = _names(document)
        if "." in value and rng.random() < 0.5:
            return re.sub(r"\w+", lambda m: rng.choice([m[0], m[0], rng.choice(names)]), value)
        return rng.choice([rng.choice(names), rng.choice(WORDS), rng.choice(NUMBERS)])
    if rng.random() < 0.6 and not isinstance(value, bool):
        return rng.choice([value + rng.choice(GENTLE), value * rng.choice([-1, 0.5, 1.001, 2, 30])])
    return rng.choice(NUMBERS)


def _affine_numbers(rng: random.Random) -> list[float]:
    return rng.choice(
        [
            [1.0, 0.0, 0.0, 1.0, rng.uniform(-9e5, 9e5), rng.uniform(-9e5, 9e5)],
            [-1.0, 0.0, 0.0, 1.0, 0.0, 0.0],
            [0.0, -1.0, 1.0, 0.0, 5.0, 5.0],
            [0.6, -0.8, 0.8, 0.6, 0.0, 0.0],
            [1.01, 0.0, 0.0, 1.0, 0.0, 0.0],
            [0.001, 0.0, 0.0, 0.001, 0.0, 0.0],
            [200.0, 0.0, 0.0, 200.0, 0.0, 0.0],
            [1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        ]
    )
