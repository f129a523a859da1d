"""What many tests look at and none changes, made once: demo sets, blends, files read back.

Sets, results and arrays are frozen, so that all tests of a process can share them.  A test that
judges that something comes out alike twice makes it anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import cache, lru_cache, wraps
from hashlib import sha256
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, TypeVar

import propagate
from propagate.demo import MAIN_JOBS, demo_names
from propagate.io import folder
from propagate.io.begin import read_style, with_relations
from propagate.pattern.model import Piece
from tests.examples import goes_on

__all__ = [
    "APRON",
    "blend_edit",
    "blend_of",
    "blended",
    "demo",
    "demo_in_few",
    "in_sizes",
    "loads_kept",
    "main_job",
    "once_for_each",
]

APRON = "garden_apron"

Rest = ParamSpec("Rest")
Made = TypeVar("Made")


@cache
def demo(name: str) -> propagate.PatternSet:
    """A demo set; the apron is one too, once its drawings are read."""
    if name != APRON:
        return propagate.load(propagate.demo_path(name))
    apron = propagate.demo_path().parent / name
    drawn, _ = read_style(sorted(apron.glob("*.svg")))
    return with_relations(drawn, apron / "relations.toml")


_read = folder.load


@lru_cache(maxsize=16)
def _of_bytes(path: str, _here: Path, _bytes: str) -> propagate.PatternSet:
    return _read(path)


def _load(path: str | Path) -> propagate.PatternSet:
    files = sorted(Path(path).rglob("*")) if Path(path).is_dir() else []
    files = [file for file in files if not file.is_dir()]
    if not files or goes_on() or not all(file.is_file() for file in files):
        return _read(path)
    told = sha256()
    for file in files:
        told.update(f"{file}\0{file.stat().st_size}\0".encode() + file.read_bytes())
    return _of_bytes(str(path), Path.cwd(), told.hexdigest())


@contextmanager
def loads_kept() -> Iterator[None]:
    """Let commands load a folder once for as long as no byte and no name in it changes.

    A few commands on one set, each of which reads it, say no more of reading than one; with the
    profile ``long`` each does.
    """
    folder.load = _load
    try:
        yield
    finally:
        folder.load = _read


def in_sizes(pattern: propagate.PatternSet, sizes: Sequence[str]) -> propagate.PatternSet:
    """Some sizes of a set, the base among them."""
    assert pattern.base in sizes
    return replace(
        pattern,
        sizes=tuple(size for size in pattern.sizes if size in sizes),
        pieces={
            name: Piece(name, {size: piece.at(size) for size in piece.nest if size in sizes})
            for name, piece in pattern.pieces.items()
        },
        chart={
            row: {size: values[size] for size in sizes} for row, values in pattern.chart.items()
        },
    )


@cache
def demo_in_few(name: str) -> propagate.PatternSet:
    """A demo set in its smallest, its base and its largest size; in all with the profile ``long``.

    For what is alike in every size that was not drawn, and costs as much in each.
    """
    pattern = demo(name)
    ends = (pattern.sizes[0], pattern.base, pattern.sizes[-1])
    return pattern if goes_on() else in_sizes(pattern, ends)


def without_welts(pattern: propagate.PatternSet) -> propagate.PatternSet:
    """A set without its welt openings and what is sewn to them."""
    relations = pattern.relations
    gone = {part.piece for one in relations.welt_openings.values() for part in one.parts}

    def kept(found: Mapping[str, Any]) -> dict[str, Any]:
        return {name: value for name, value in found.items() if name not in gone}

    places = {k: v for k, v in relations.places.items() if v.piece not in gone}
    return replace(
        pattern,
        pieces=kept(pattern.pieces),
        info=kept(pattern.info),
        relations=replace(relations, welt_openings={}, places=places),
    )


def blended(name: str, upper: str, lower: str, **options: Any) -> propagate.Result:
    """A blend of two sizes of a demo set, with any options of a blend."""
    return _blended(name, upper, lower, **{"follow": "shape", **options})


@cache
def _blended(name: str, upper: str, lower: str, leg: str = "", **options: Any) -> propagate.Result:
    pattern = demo(name)
    plan = pattern.relations.blend
    assert plan is not None
    sizes = {plan.upper: upper, plan.lower: lower}
    if leg:
        assert plan.leg is not None
        sizes[plan.leg.level] = leg
    return propagate.blend(pattern, propagate.Blend(sizes, **options))


def blend_of(
    pattern: propagate.PatternSet, upper: str, lower: str, **options: Any
) -> propagate.Result:
    """A blend of two sizes of any set; that of a demo set is made once."""
    for name in demo_names():
        if pattern is demo(name):
            return blended(name, upper, lower, **options)
    plan = pattern.relations.blend
    assert plan is not None
    edit = propagate.Blend({plan.upper: upper, plan.lower: lower}, **options)
    return propagate.blend(pattern, edit)


@cache
def _main_job_by_level(name: str) -> propagate.Result:
    return propagate.run(demo(name), blend_edit(demo(name), MAIN_JOBS[name]))


def blend_edit(
    pattern: propagate.PatternSet, sizes: Mapping[str, str]
) -> propagate.Blend | propagate.BlendLevels:
    """The blend that a set is made for: by its plan, or by level where it has none."""
    plan = pattern.relations.blend
    return propagate.BlendLevels(sizes) if plan is None else propagate.Blend(sizes)


def main_job(name: str) -> propagate.Result:
    """The blend that `propagate demo` makes of a set."""
    plan = demo(name).relations.blend
    if plan is None:
        return _main_job_by_level(name)
    return blended(name, *(MAIN_JOBS[name][level] for level in (plan.upper, plan.lower)))


def once_for_each(
    make: Callable[Concatenate[Any, Rest], Made],
) -> Callable[Concatenate[Any, Rest], Made]:
    """Let a function keep what it makes of an object, a result say, which has no hash."""
    kept: dict[tuple[Any, ...], tuple[object, Made]] = {}

    @wraps(make)
    def get(source: Any, *rest: Rest.args, **options: Rest.kwargs) -> Made:
        key = (id(source), *rest, *options.items())
        if key not in kept:
            kept[key] = source, make(source, *rest, **options)  # what is kept keeps its number
        return kept[key][1]

    return get
