"""What many tests look at and none changes, made once: demo sets, blends, files read back.

Sets, results and arrays are frozen, so that all tests of a process can share them.  A test that
judges that something comes out alike twice makes it anew.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache, wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

import propagate
from propagate.demo import MAIN_JOBS, demo_names

__all__ = ["blend_edit", "blend_of", "blended", "demo", "main_job", "once_for_each"]

Rest = ParamSpec("Rest")
Made = TypeVar("Made")


@cache
def demo(name: str) -> propagate.PatternSet:
    """A demo set."""
    return propagate.load(propagate.demo_path(name))


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
