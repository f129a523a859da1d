"""What a person reads instead of a name: titles, and readable words made of names."""

from __future__ import annotations

from collections.abc import Sequence

from propagate.pattern.patternset import PatternSet

__all__ = ["in_sentence", "listed", "piece_title", "readable", "shortened"]


def readable(name: str) -> str:
    """A name as words.

    Examples
    --------
    >>> readable("side_front")
    'side front'
    """
    return " ".join(name.replace("_", " ").split()) or name


def piece_title(pattern: PatternSet, piece: str) -> str:
    """What is printed on a piece; its name, made readable, where it has no title."""
    info = pattern.info.get(piece)
    title = " ".join(info.title.split()) if info is not None else ""
    return readable(piece) if title in ("", piece) else title


def in_sentence(title: str) -> str:
    """A title within a sentence: small, unless it is an abbreviation or a word such as A-line.

    Examples
    --------
    >>> in_sentence("Pocket facing"), in_sentence("CB panel"), in_sentence("A-line front")
    ('pocket facing', 'CB panel', 'A-line front')
    """
    return title[:1].lower() + title[1:] if title[1:2].islower() else title


def listed(words: Sequence[str]) -> str:
    """``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def shortened(text: str, most: int) -> str:
    """A text of so many characters at most, the rest an ellipsis."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"
