"""Optional content (ISO 32000-1, 8.11): which layer something is drawn in."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import Any

import pikepdf

from propagate.values import dataclass

__all__ = ["LayerStack", "Layers", "is_shown_without", "layers_of", "names_in"]

MOST_LAYERS = 2_000
_DEEPEST = 8


@dataclass(frozen=True)
class Layers:
    """The layers that a document lists.

    Attributes
    ----------
    names : tuple of str
        In the order of the file, each once.
    off : tuple of str
        Those that the document switches off to begin with.
    """

    names: tuple[str, ...] = ()
    off: tuple[str, ...] = ()


def layers_of(root: Any) -> Layers:
    """The layers of a document from its catalog."""
    properties = root.get("/OCProperties")
    if properties is None or not hasattr(properties, "get"):
        return Layers()
    groups = _list_group_names(properties.get("/OCGs"))
    usual = properties.get("/D")
    has_usual = usual is not None and hasattr(usual, "get")
    off = _list_group_names(usual.get("/OFF")) if has_usual else []
    if has_usual and str(usual.get("/BaseState", "")) == "/OFF":
        on = _list_group_names(usual.get("/ON"))
        off = [name for name in groups if name not in on]
    return Layers(tuple(dict.fromkeys(groups)), tuple(dict.fromkeys(off)))


def _list_group_names(groups: Any) -> list[str]:
    found = []
    with suppress(TypeError, ValueError, KeyError, AttributeError):
        found += [_read_group_name(group) for group in list(groups or ())[:MOST_LAYERS]]
    return [name for name in found if name]


def _read_group_name(group: Any) -> str:
    try:
        return " ".join(str(group.get("/Name", "")).split())
    except (AttributeError, ValueError, TypeError):
        return ""


def names_in(content: Any, depth: int = 0) -> Sequence[str]:
    """Names of the layers in which a piece of optional content is seen.

    A group gives its name; a membership the names of the groups that it is shown with, by its
    expression if it has one, and none when it is shown while they are off.
    """
    if content is None or not hasattr(content, "get") or depth > _DEEPEST:
        return ()
    if str(content.get("/Type", "")) != "/OCMD":
        name = _read_group_name(content)
        return (name,) if name else ()
    if (expression := content.get("/VE")) is not None:
        return _names_of_expression(expression, depth)
    if _is_shown_when_off(content):
        return ()
    return _names_of_all(_list_members(content), depth)


def is_shown_without(content: Any) -> bool:
    """Whether a piece of optional content is shown when some group is switched off."""
    if content is None or not hasattr(content, "get") or str(content.get("/Type", "")) != "/OCMD":
        return False
    expression = content.get("/VE")
    return _is_shown_when_off(content) if expression is None else _has_not(expression)


def _is_shown_when_off(membership: Any) -> bool:
    return str(membership.get("/P", "/AnyOn")) in ("/AllOff", "/AnyOff")


def _list_members(membership: Any) -> list[Any]:
    groups = membership.get("/OCGs")
    if groups is None:
        return []
    return list(groups)[:MOST_LAYERS] if isinstance(groups, pikepdf.Array) else [groups]


def _names_of_all(members: Sequence[Any], depth: int) -> Sequence[str]:
    return tuple(dict.fromkeys(name for one in members for name in names_in(one, depth + 1)))


def _names_of_expression(expression: Any, depth: int) -> Sequence[str]:
    """The names in an expression (8.11.2.2), but for those under a ``Not``."""
    if not isinstance(expression, pikepdf.Array):
        return names_in(expression, depth + 1)
    word, *operands = list(expression)[:MOST_LAYERS]
    if str(word) not in ("/And", "/Or") or depth > _DEEPEST:
        return ()
    found = [_names_of_expression(operand, depth + 1) for operand in operands]
    return tuple(dict.fromkeys(name for names in found for name in names))


def _has_not(expression: Any, depth: int = 0) -> bool:
    if not isinstance(expression, pikepdf.Array) or depth > _DEEPEST:
        return False
    word, *operands = list(expression)[:MOST_LAYERS]
    return str(word) == "/Not" or any(_has_not(operand, depth + 1) for operand in operands)


class LayerStack:
    """The marks around what is drawn now, each with the layers that it names."""

    def __init__(self, around: Sequence[Sequence[str]] = ()) -> None:
        self._names = [tuple(names) for names in around]
        self._kept = len(self._names)

    def begin(self, names: Sequence[str]) -> None:
        """Open a mark."""
        self._names.append(tuple(names))

    def end(self) -> None:
        """Close the last mark, but none around the form that is drawn."""
        if len(self._names) > self._kept:
            self._names.pop()

    def within(self, names: Sequence[str]) -> LayerStack:
        """The marks in a form that is drawn here and bears layers of its own."""
        return LayerStack([*self._names, tuple(names)])

    @property
    def names(self) -> Sequence[str | None]:
        """The layers that something is drawn in: of the innermost mark that has any."""
        return next((names for names in reversed(self._names) if names), (None,))
