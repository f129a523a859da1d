"""Optional content (ISO 32000-1, 8.11): which layer something is drawn in."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import Any

import pikepdf

from propagate.values import dataclass

__all__ = ["Layers", "layers_of", "names_in"]

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

    A group gives its name; a membership the names of the groups that it is shown with, and
    none when it is shown while they are off or when it asks for an expression.
    """
    if content is None or not hasattr(content, "get") or depth > _DEEPEST:
        return ()
    if str(content.get("/Type", "")) != "/OCMD":
        name = _read_group_name(content)
        return (name,) if name else ()
    if str(content.get("/P", "/AnyOn")) in ("/AllOff", "/AnyOff"):
        return ()
    groups = content.get("/OCGs")
    if groups is None:
        return ()
    members = list(groups)[:MOST_LAYERS] if isinstance(groups, pikepdf.Array) else [groups]
    return tuple(dict.fromkeys(name for group in members for name in names_in(group, depth + 1)))
