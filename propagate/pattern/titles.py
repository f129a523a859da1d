"""What a person reads instead of a name: titles, and readable words made of names.

Everything that is printed asks here.  Names that have to be typed stay as they are.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet

__all__ = [
    "in_sentence",
    "in_words",
    "list_words",
    "name_title",
    "piece_title",
    "make_readable",
    "say_turn",
    "shorten_text",
    "soften_capitals",
    "titled_names",
    "where_in_words",
]

_LONGEST = 60
"""Characters of a title that are said in a sentence."""
_NAME = re.compile(r"[^\W\d][\w-]*(?:[./](?:[\w-]+(?:\.(?:start|end))?(?:/[\w-]+)?|\*))?")
"""What may be a name in a sentence: a word, or two with a dot or a stroke between them.

A corner has the names of both its edges, ``front.waist/side``.
"""
_SAID = re.compile(rf"\"[^\"]*\"|(?<!\w)'([^'\s]+)'(?!\w)|{_NAME.pattern}")
"""What is typed, between double quotes; a name or a size, with the quotes about it; a name."""
_RUN = re.compile(r"(?<!\w)'((\w[\w-]*\.\w[\w-]*) [^']*)'(?!\w)")
"""A run between quotes: ``'front.side from hip_notch to end + back.side reversed'``."""
_KIND = re.compile(r"\b(?:piece|pieces|edge|edges) (?=')")
"""Words for what is named that its place goes without."""
_VOWELS = frozenset("AEIOUY")
_NUMERAL = frozenset("IVX")
_TWICE = re.compile(r"\b(dart|opening) (?=(?:(?!of |\|)[^\s,;:]+ ){0,3}\1 of )")
"""A word for what is named, before a title that says it again: ``dart back dart of skirt``."""


def make_readable(name: str) -> str:
    """A name as words.

    Examples
    --------
    >>> make_readable("side_front")
    'side front'
    """
    return " ".join(name.replace("_", " ").split()) or name


def in_sentence(title: str) -> str:
    """A title within a sentence: small, unless it is an abbreviation or a word such as A-line.

    Examples
    --------
    >>> in_sentence("Pocket facing"), in_sentence("CB panel"), in_sentence("A-line front")
    ('pocket facing', 'CB panel', 'A-line front')
    >>> in_sentence("FRONT POCKET"), in_sentence("CB PANEL II")
    ('front pocket', 'CB panel II')
    """
    title = soften_capitals(title)
    return title[:1].lower() + title[1:] if title[1:2].islower() else title


def soften_capitals(title: str) -> str:
    """A title without words in capitals, as a sentence has it where it begins with a capital.

    Abbreviations and numerals keep theirs: what has two letters at most, or no vowel.

    Examples
    --------
    >>> soften_capitals("FRONT POCKET"), soften_capitals("Front LEFT"), soften_capitals("CB PANEL")
    ('Front pocket', 'Front left', 'CB panel')
    """
    said = re.sub(r"[^\W\d_]+", lambda found: _soften_word(found[0]), title)
    return said if said == title else said[:1].upper() + said[1:]


def _soften_word(word: str) -> str:
    letters = set(word)
    abbreviated = word.isascii() and (not letters & _VOWELS or letters <= _NUMERAL)
    return word.lower() if word.isupper() and len(word) > 2 and not abbreviated else word


def list_words(words: Sequence[str]) -> str:
    """``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def shorten_text(text: str, most: int) -> str:
    """A text of so many characters at most, the rest an ellipsis."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def say_turn(degrees: float, decimals: int = 1) -> str:
    """Return a turn as it is seen on the drawing: ``7.1° clockwise``.

    Counter-clockwise angles are positive in the engine, with y up.

    Examples
    --------
    >>> say_turn(-7.14), say_turn(4.0), say_turn(0.01)
    ('7.1° clockwise', '4.0° anticlockwise', '0.0°')
    """
    said = f"{abs(degrees):.{decimals}f}°"
    if not said.strip("0.°"):
        return said
    return f"{said} {'clockwise' if degrees < 0.0 else 'anticlockwise'}"


def piece_title(pattern: PatternSet, piece: str) -> str:
    """What is printed on a piece; with its name where two have the same title."""
    return _piece_titles(pattern).get(piece) or make_readable(piece)


def name_title(pattern: PatternSet, name: str, of: str = "") -> str:
    """What an edge, a landmark, a level or a relation is called.

    Parameters
    ----------
    pattern : PatternSet
    name : str
        A relation or a level, or with `of` what is on a piece or an assembly.
    of : str
        The piece or the assembly.
    """
    if of:
        said = _list_titles(pattern).get(f"{of}.{name}")
        edge, _, end = name.rpartition(".")
        if said is None and end in ("start", "end"):
            return f"{end} of {name_title(pattern, edge, of)}"
        return said or make_readable(name)
    return _list_titles(pattern).get(name) or make_readable(name)


def in_words(pattern: PatternSet, text: str, of: str = "") -> str:
    """A sentence in which names of the set are said by their titles.

    Only what cannot be a plain word is looked at: a name between quotes or with an underscore, or
    what has a dot or a stroke after a piece or an assembly, ``front.side`` or
    ``full_front/side``.  So a name that is a word, such as ``front``, stays, and so does
    everything that the set does not have.
    A name by itself is what it is on the piece named last before it, if that has it.
    Quotes stay only about what is called by a title alone: ‘hip notch’, but hip notch of front.
    What stands between double quotes is to be typed, and stays as it is.

    Parameters
    ----------
    pattern : PatternSet
    text : str
    of : str
        The piece that the sentence is about, which names by themselves may be on.

    Examples
    --------
    >>> import propagate
    >>> trousers = propagate.load(propagate.demo_path("slant_trouser"))
    >>> in_words(trousers, "under_bag and full_front/side: 'front.hip_notch' went 2.5 mm")
    'under bag and side of full front: hip notch of front went 2.5 mm'
    >>> in_words(trousers, "mark 'hip_notch' lies off level 'hip' of 'under_bag'", "front")
    'mark ‘hip notch’ lies off level ‘hip’ of under bag'
    """
    last = of

    def worded(found: re.Match[str]) -> str:
        nonlocal last
        quoted, name = found[1] is not None, found[1] or found[0]
        if quoted and name in pattern.sizes:
            return name
        if not _NAME.fullmatch(name):
            return found[0]
        first, *more = re.split("[./]", name, maxsplit=1)
        if more:
            last = first
            said = _name_in_words(pattern, name)
            return found[0] if said == name else said
        if quoted and name in pattern.pieces:
            last = name
            return _piece_in_words(pattern, name)
        own = f"{last}.{name}"
        if (quoted or "_" in name) and own in _list_own(pattern):
            said = in_sentence(name_title(pattern, name, last))
        elif quoted and name in _list_known(pattern):
            said = in_sentence(name_title(pattern, name))
        else:
            said = _name_in_words(pattern, name)
            return found[0] if said == name else said
        return f"‘{said}’" if quoted else said

    own = _list_own(pattern)
    said = _SAID.sub(worded, _RUN.sub(lambda run: run[1] if run[2] in own else run[0], text))
    return text if said == text else _TWICE.sub("", said)


def where_in_words(pattern: PatternSet, where: str, of: str = "") -> str:
    """The place of a notice or a finding, several with commas between them.

    A bare name may be a piece.  Pieces and edges go without a word for what they are.

    Examples
    --------
    >>> import propagate
    >>> trousers = propagate.load(propagate.demo_path("slant_trouser"))
    >>> where_in_words(trousers, "piece 'under_bag', size '42'")
    'under bag, size 42'
    """
    parts = where.split(", ")
    quoted = (f"'{part}'" if part in pattern.pieces else part for part in parts)
    return in_words(pattern, _KIND.sub("", ", ".join(quoted)), of)


def titled_names(pattern: PatternSet) -> Iterator[str]:
    """``PIECE.NAME`` and ``ASSEMBLY.EDGE`` of everything that can have a title, but for levels."""
    for name, piece in pattern.pieces.items():
        sized = piece.nest.get(pattern.base)
        if sized is not None:
            for of in (sized.edges, sized.landmarks, sized.darts, sized.lines, sized.drills):
                yield from (f"{name}.{one.name}" for one in of)
    for assembly in pattern.relations.assemblies.values():
        yield from (f"{assembly.name}.{edge}" for edge in assembly.edges)


def _name_in_words(pattern: PatternSet, name: str) -> str:
    parts = re.split("[./]", name, maxsplit=1)
    if len(parts) == 1:
        if "_" not in name:
            return name
        if name in pattern.pieces:
            return _piece_in_words(pattern, name)
        return in_sentence(name_title(pattern, name)) if name in _list_known(pattern) else name
    of, what = parts
    if of in pattern.pieces:
        title = in_sentence(piece_title(pattern, of))
    elif of in _list_titles(pattern):
        title = in_sentence(name_title(pattern, of))
    else:
        return name
    if what == "*":
        return title
    names = [in_sentence(name_title(pattern, name, of)) for name in what.split("/")]
    return f"{' and '.join(names)} of {title}"


def _piece_in_words(pattern: PatternSet, name: str) -> str:
    return in_sentence(piece_title(pattern, name)) if name in pattern.pieces else name


@lru_cache(maxsize=8)
def _piece_titles(pattern: PatternSet) -> Mapping[str, str]:
    said = {name: " ".join(info.title.split()) for name, info in pattern.info.items()}
    titles = {
        name: make_readable(name) if title in ("", name) else shorten_text(title, _LONGEST)
        for name, title in said.items()
    }
    count = Counter(titles.values())
    return {
        name: title if count[title] == 1 else f"{title} ({shorten_text(name, _LONGEST)})"
        for name, title in titles.items()
    }


@lru_cache(maxsize=8)
def _list_titles(pattern: PatternSet) -> Mapping[str, str]:
    """Of every relation its title, of a zone as ``BAND.ZONE``, and all that the set says."""
    relations = pattern.relations
    titles = {
        name: getattr(relation, "title", None) or make_readable(name)
        for key in KINDS
        for name, relation in relations_of(relations, key).items()
        if name not in pattern.pieces
    }
    for band in relations.bands.values():
        titles |= {f"{band.name}.{one.name}": one.title for one in band.zones if one.title}
    return {**titles, **relations.titles}


@lru_cache(maxsize=8)
def _list_own(pattern: PatternSet) -> frozenset[str]:
    """``PIECE.NAME`` of all that a piece or an assembly has."""
    return frozenset(titled_names(pattern))


@lru_cache(maxsize=8)
def _list_known(pattern: PatternSet) -> frozenset[str]:
    """Every name of the set by itself: of relations, levels and what is on pieces."""
    on_pieces = (full.partition(".")[2] for full in titled_names(pattern))
    levels = (n for p in pattern.pieces.values() for sized in p.nest.values() for n in sized.levels)
    zones = (zone.name for band in pattern.relations.bands.values() for zone in band.zones)
    return frozenset((*_list_titles(pattern), *on_pieces, *levels, *zones))
