"""A page as a tree, by the standard library's HTML parser, and what a person reads of it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from html.parser import HTMLParser
from typing import Any

VOID = {"meta", "input", "br", "hr", "link", "img"}
READ = {"aria-label", "title", "placeholder", "data-label", "data-snap", "data-name", "alt"}
"""Attributes that a person sees or hears; the last but one are shown by the script."""


@dataclass
class Node:
    """An element; what it holds is elements and texts in their order."""

    tag: str
    told: dict[str, str]
    holds: list[Node | str] = field(default_factory=list)

    def every(self, tag: str = "", **told: str) -> Iterator[Node]:
        """Elements below with these attributes (`_` stands for `-`); a class is one of several."""
        wanted = {key.strip("_").replace("_", "-"): value for key, value in told.items()}
        for part in self.holds:
            if isinstance(part, Node):
                if tag in ("", part.tag) and all(part.bears(*pair) for pair in wanted.items()):
                    yield part
                yield from part.every(tag, **told)

    def one(self, tag: str = "", **told: str) -> Node:
        """The first of them."""
        return next(self.every(tag, **told))

    def bears(self, key: str, value: str) -> bool:
        """Whether an attribute has a value, or is there where that is empty."""
        own = self.told.get(key)
        return own is not None and value in ("", own, *(own.split() if key == "class" else ()))

    @property
    def text(self) -> str:
        """Its texts, as one."""
        parts = (part if isinstance(part, str) else part.text for part in self.holds)
        return " ".join("".join(parts).split())

    def read(self) -> Iterator[str]:
        """Every text that a person reads or hears, one by one."""
        if self.tag == "style" or (self.tag == "script" and "type" not in self.told):
            return
        if self.tag == "script":
            yield from _texts(json.loads(self.holds[0]))  # type: ignore[arg-type]
            return
        yield from (value for key, value in self.told.items() if key in READ and value)
        for part in self.holds:
            if isinstance(part, Node):
                yield from part.read()
            elif part.strip():
                yield " ".join(part.split())


class _Parser(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open = [Node("", {})]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {key: value or "" for key, value in attrs})
        self.open[-1].holds.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].holds.append(Node(tag, {key: value or "" for key, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop().tag == tag

    def handle_data(self, data: str) -> None:
        self.open[-1].holds.append(data)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, (dict, list)):
        for part in value.values() if isinstance(value, dict) else value:
            yield from _texts(part)


@lru_cache(maxsize=64)
def tree(page: str) -> Node:
    """Read a page; once, however many tests look at it."""
    parser = _Parser()
    parser.feed(page)
    parser.close()
    (root,) = parser.open
    return root
