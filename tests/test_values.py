"""A quickly made frozen value does what one of the standard library does."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field, fields, replace
from typing import Any, ClassVar

import pytest

from propagate import values


def _plain(make: Callable[..., Any]) -> type[Any]:
    @make(frozen=True)
    class Made:
        """A value."""

        a: int
        b: str = "b"
        c: list[int] = field(default_factory=list)
        hidden: int = field(default=1, repr=False, compare=False)
        last: int = field(default=3, kw_only=True)
        word: ClassVar[str] = "of the class"

    return Made


def _post(make: Callable[..., Any]) -> type[Any]:
    @make(frozen=True)
    class Made:
        """A value that looks after itself."""

        a: int
        twice: int = field(init=False)
        parts: tuple[int, ...] = field(init=False, default_factory=tuple)

        def __post_init__(self) -> None:
            object.__setattr__(self, "twice", 2 * self.a)

    return Made


def _derived(make: Callable[..., Any]) -> type[Any]:
    @make(frozen=True)
    class Base:
        """A base."""

        a: int
        b: int = 2

    @make(frozen=True, kw_only=True)
    class Made(Base):
        """Derived."""

        c: int
        b: int = 5

    return Made


def _own(make: Callable[..., Any]) -> type[Any]:
    @make(frozen=True)
    class Made:
        """A value with words of its own."""

        a: int

        def __repr__(self) -> str:
            return f"<{self.a}>"

        def __hash__(self) -> int:
            return 7

    return Made


def _by_itself(make: Callable[..., Any]) -> type[Any]:
    @make(frozen=True, eq=False)
    class Made:
        """Equal to itself alone."""

        a: int

    return Made


CASES: list[tuple[Callable[..., type[Any]], dict[str, Any]]] = [
    (_plain, {"a": 1}),
    (_plain, {"a": 1, "b": "x", "c": [1], "hidden": 4, "last": 9}),
    (_post, {"a": 4}),
    (_derived, {"a": 1, "c": 3}),
    (_own, {"a": 3}),
    (_by_itself, {"a": 3}),
]


@pytest.mark.parametrize(("form", "given"), CASES)
def test_as_the_standard_library(form: Callable[..., type[Any]], given: dict[str, Any]) -> None:
    quick, standard = form(values.dataclass), form(dataclasses.dataclass)
    mine, theirs = quick(**given), standard(**given)
    assert repr(mine).replace("values.dataclass", "") == repr(theirs)
    assert dataclasses.asdict(mine) == dataclasses.asdict(theirs)
    assert [f.name for f in fields(mine)] == [f.name for f in fields(theirs)]
    assert quick.__match_args__ == standard.__match_args__
    assert str(inspect.signature(quick)) == str(inspect.signature(standard))
    assert (mine == quick(**given)) == (theirs == standard(**given))
    assert mine != theirs
    for change in ({"a": 11}, {"hidden": 12}):
        if change.keys() <= {f.name for f in fields(mine)}:
            assert (replace(mine, **change) == mine) == (replace(theirs, **change) == theirs)
    for refused in (lambda one: setattr(one, "a", 2), lambda one: delattr(one, "a")):
        for one in (mine, theirs):
            with pytest.raises(FrozenInstanceError, match="'a'"):
                refused(one)
    if form is not _by_itself and not given.get("c") and form is not _plain:
        assert hash(mine) == hash(theirs)
    with pytest.raises(TypeError):
        quick(**given, unknown=1)


def test_hashes_and_unhashable() -> None:
    quick = _plain(values.dataclass)
    with pytest.raises(TypeError):
        hash(quick(1))
    assert len({_own(values.dataclass)(1)}) == 1
    made = _by_itself(values.dataclass)
    assert len({made(1), made(1)}) == 2


def test_default_lists_are_not_shared() -> None:
    quick = _plain(values.dataclass)
    assert quick(1).c is not quick(1).c


@values.dataclass(frozen=True)
class Kept:
    """One that a pickle finds again."""

    a: int
    b: tuple[int, ...] = ()


def test_copies_and_pickles() -> None:
    one = Kept(1, (2, 3))
    assert copy.deepcopy(one) == one == pickle.loads(pickle.dumps(one))
    match one:
        case Kept(a, b):
            assert (a, b) == (1, (2, 3))


def test_a_standard_frozen_class_may_derive_from_one() -> None:
    @dataclasses.dataclass(frozen=True)
    class Further(Kept):
        """Of somebody who has not heard of it."""

        c: int = 4

    assert Further(1).c == 4 and Further(1) == Further(1)
    with pytest.raises(FrozenInstanceError):
        Further(1).a = 2  # type: ignore[misc]


def test_one_that_holds_itself_can_be_told() -> None:
    held: list[Any] = []
    one = _plain(values.dataclass)(1, c=held)
    held.append(one)
    assert "..." in repr(one)


def test_other_wishes_are_those_of_the_standard_library() -> None:
    @values.dataclass(frozen=True, order=True)
    class Ordered:
        """In order."""

        a: int

    @values.dataclass
    class Open:
        """To be changed."""

        a: int

    assert Ordered(1) < Ordered(2)
    one = Open(1)
    one.a = 2
    assert one == Open(2)
