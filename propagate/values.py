"""Frozen values, made quickly.

``dataclasses.dataclass(frozen=True)`` writes and compiles six methods for each class, and a
command that loads 165 classes spends a seventh of its time on that.  The `dataclass` here
compiles the one method that differs from class to class, ``__init__``; what is the same for
all is shared.  Type checkers see the one of the standard library, and who uses a value finds
no difference: `fields`, `replace`, comparing and matching work as ever.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, fields, is_dataclass
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any

__all__ = ["dataclass"]

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(cls=None, /, *, frozen=False, eq=True, kw_only=False, **others):
        """Make a class a dataclass; a frozen one without other wishes is made quickly."""

        def make(cls):
            if frozen and not others:
                return _make_frozen(cls, eq, kw_only)
            return dataclasses.dataclass(cls, frozen=frozen, eq=eq, kw_only=kw_only, **others)

        return make if cls is None else make(cls)


class _Made:
    """Stands for a default that is made anew for each value."""

    def __repr__(self) -> str:
        return "<factory>"


_MADE = _Made()


def _make_frozen(cls: type[Any], eq: bool, kw_only: bool) -> type[Any]:
    own = set(cls.__dict__)
    # The standard library takes a class for frozen when all its bases are; a class that it
    # thinks frozen gets two methods compiled, which one without such bases is spared.
    has_base = any(is_dataclass(base) for base in cls.__mro__[1:])
    made: Any = dataclasses.dataclass(
        init=False, repr=False, eq=False, frozen=has_base, kw_only=kw_only
    )(cls)
    made.__dataclass_params__.frozen = True
    told = fields(made)
    shared: dict[str, Any] = {
        "__init__": _write_init(made, told),
        "__repr__": _tell_fields,
        "__setattr__": _refuse_to_set,
        "__delattr__": _refuse_to_delete,
    }
    if eq:
        names = [field.name for field in told if field.compare]
        read: Callable[[Any], tuple[Any, ...]] = (
            attrgetter(*names)
            if len(names) > 1
            else lambda value: tuple(getattr(value, name) for name in names)
        )

        def equals(self: Any, other: Any) -> Any:
            alike = other.__class__ is self.__class__
            return read(self) == read(other) if alike else NotImplemented

        shared["__eq__"] = equals
        if "__hash__" not in own or ("__eq__" in own and cls.__hash__ is None):
            made.__hash__ = lambda value: hash(read(value))
    for name in shared.keys() - own:
        setattr(made, name, shared[name])
    return made  # type: ignore[no-any-return]


def _write_init(made: type[Any], told: tuple[Field[Any], ...]) -> Callable[..., None]:
    """Compile ``__init__``, as the standard library would write it."""
    known: dict[str, Any] = {"_put": object.__setattr__, "_MADE": _MADE}
    plain: list[str] = ["self"]
    named: list[str] = []
    body: list[str] = []
    for field in told:
        name, value = field.name, field.name
        argument = name
        if field.default is not MISSING:
            known[f"_of_{name}"] = field.default
            argument = f"{name}=_of_{name}"
        elif field.default_factory is not MISSING:
            known[f"_of_{name}"] = field.default_factory
            argument = f"{name}=_MADE"
            value = f"_of_{name}() if {name} is _MADE else {name}"
        if field.init:
            (named if field.kw_only else plain).append(argument)
        elif field.default_factory is not MISSING:
            value = f"_of_{name}()"
        else:
            continue
        body.append(f"    _put(self, {name!r}, {value})")
    if hasattr(made, "__post_init__"):
        body.append("    self.__post_init__()")
    arguments = ", ".join([*plain, *(["*", *named] if named else [])])
    exec(f"def __init__({arguments}):\n" + "\n".join(body or ["    pass"]), known)
    init: Any = known["__init__"]
    init.__qualname__ = f"{made.__qualname__}.__init__"
    init.__module__ = made.__module__
    init.__annotations__ = {field.name: field.type for field in told if field.init}
    init.__annotations__["return"] = None
    return init  # type: ignore[no-any-return]


@recursive_repr()
def _tell_fields(self: Any) -> str:
    told = (f"{field.name}={getattr(self, field.name)!r}" for field in fields(self) if field.repr)
    return f"{self.__class__.__qualname__}({', '.join(told)})"


def _refuse_to_set(_: Any, name: str, __: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_to_delete(_: Any, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")
