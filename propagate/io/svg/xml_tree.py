"""An XML file as a light tree, read so that no file can do harm.

The parser is expat of the standard library with namespaces.  Entities are refused as soon
as one is declared, so nothing is ever expanded; nothing outside the file is loaded; size,
depth and number of elements are limited.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers import expat

from propagate.errors import FormatError

__all__ = ["SVG", "Node", "parse_xml", "read_xml"]

SVG = "http://www.w3.org/2000/svg"
_TEXTS = {"text", "tspan", "textPath"}
LARGEST_BYTES = 64 * 1024 * 1024
MOST_NODES = 200_000
DEEPEST = 100

_GZIP = b"\x1f\x8b"


@dataclass
class Node:
    """An element: its name, its attributes (namespace and a blank before the name), its words.

    Of the words between elements only those of ``text`` and what is in it are kept.
    """

    space: str
    tag: str
    attributes: dict[str, str]
    children: list[Node] = field(default_factory=list)
    words: str = ""

    def __iter__(self) -> Iterator[Node]:
        return iter(self.children)

    def get(self, name: str) -> str | None:
        """An attribute without a namespace, blanks around it taken away."""
        value = self.attributes.get(name)
        return None if value is None else value.strip()


def read_xml(path: Path) -> Node:
    """Read a file; see `parse_xml`."""
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise FormatError(
                f"{path}: found {size / 2**20:.0f} MB, expected a drawing of at most "
                f"{LARGEST_BYTES / 2**20:.0f} MB; save the pattern without pictures in it"
            )
        source = path.read_bytes()
    except OSError as error:
        raise FormatError(f"{path}: cannot be read ({error.strerror or error})") from error
    return parse_xml(source, str(path))


def parse_xml(source: bytes, name: str) -> Node:
    """Return the root element.

    Raises
    ------
    FormatError
        Broken XML (with line and column), an entity declaration, a compressed file, more
        elements or deeper nesting than a drawing has.
    """
    if source[:2] == _GZIP:
        raise FormatError(
            f"{name}: found a compressed file, expected plain SVG; save it as plain "
            "SVG, or unpack it"
        )
    builder = _Builder(name)
    try:
        builder.parser.Parse(source, True)
    except expat.ExpatError as error:
        raise FormatError(
            f"{name}: line {error.lineno}, column {error.offset + 1}: not readable as XML "
            f"({expat.errors.messages.get(error.code, 'broken')}); is the file complete?"
        ) from error
    except FormatError:
        raise
    except (ValueError, LookupError) as error:  # an encoding that Python does not know
        raise FormatError(f"{name}: not readable as XML ({error}); save it as UTF-8") from error
    if builder.root is None:
        raise FormatError(f"{name}: found no element, expected an SVG drawing")
    return builder.root


class _Builder:
    """Takes the parser's events."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.root: Node | None = None
        self._open: list[Node] = []
        self._count = 0
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._words
        self.parser.EntityDeclHandler = self._entity
        self.parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)

    def _entity(self, *_: object) -> None:
        raise FormatError(
            f"{self.name}: line {self.parser.CurrentLineNumber}: found the declaration of an XML "
            "entity, which is refused since such files can do harm; save the drawing as plain SVG"
        )

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self._count += 1
        if self._count > MOST_NODES:
            raise FormatError(
                f"{self.name}: found more than {MOST_NODES} elements, expected a pattern; "
                "take pictures and hatchings out"
            )
        if len(self._open) >= DEEPEST:
            raise FormatError(
                f"{self.name}: line {self.parser.CurrentLineNumber}: found groups nested more "
                f"than {DEEPEST} deep; ungroup the drawing"
            )
        space, _, tag = name.rpartition(" ")
        node = Node(space, tag, attributes)
        if self._open:
            self._open[-1].children.append(node)
        else:
            self.root = node
        self._open.append(node)

    def _words(self, words: str) -> None:
        if self._open and self._open[-1].tag in _TEXTS:
            self._open[-1].words += words

    def _end(self, _: str) -> None:
        self._open.pop()
