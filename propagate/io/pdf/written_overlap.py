"""What pages say in words of how much of one another they show: "Pages overlap by 10 mm"."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Mapping, Sequence

from propagate.io.drawn_lines import DrawnText
from propagate.io.pdf.pages import DrawnPage
from propagate.io.pdf.tile_marks import text_key
from propagate.io.pdf.tile_match import Matcher, Place
from propagate.io.pdf.tile_votes import Fit
from propagate.io.pdf.true_scale import LENGTH, MOST_TEXTS, stated_lengths
from propagate.values import dataclass

__all__ = ["Followed", "WrittenOverlap", "find_written_overlaps", "follow_words"]

LONGEST_MM = 60.0
_ROUNDED_MM = 0.6
"""How far words may be off what lines tell to a hair: 3/8 in are written for 10 mm."""
_AS_MANY = 0.9
"""Share of the ends that go on by the lines' own measure, with which words are believed."""
_FEWEST = 3
"""Ends that go on, from which lines are held against words."""
_OVER = (
    r"(?:over ?lap\w*|(?:over|on top of) (?:each other|one another)|(?:ü|ue)bereinander\w*|"
    r"(?:ü|ue)berlapp\w*|överlapp\w*|chevauch\w*|"
    r"recouvr\w*|superpos\w*|superpon\w*|solap\w*|sovrappo\w*)"
)
_EDGE_TO_EDGE = (
    r"edge[ -]to[ -]edge|butt (?:them|the (?:pages|sheets))|sto(?:ß|ss) an sto(?:ß|ss)|"
    r"kante an kante|bord (?:à|a) bord|borde con borde"
)
_OVERLAP = re.compile(_OVER, re.IGNORECASE)
_ABUTTED = re.compile(_EDGE_TO_EDGE, re.IGNORECASE)
_WORDS = re.compile(f"{_OVER}|{_EDGE_TO_EDGE}", re.IGNORECASE)
_PLAIN = re.compile(
    rf"\W*{_OVER}\W*(?:(?:by|of|is|um|von|de|di|about|each|side|ca|env)\W+)*{LENGTH.pattern}"
    rf"(?:\W*{LENGTH.pattern})?\W*",
    re.IGNORECASE,
)
"""Words that say nothing else."""
_PAPER = re.compile(
    r"\b(?:pages?|sheets?|tiles?|papers?|seiten?|bl(?:ä|ae)tter|blatt|b(?:ö|oe)gen|feuilles?|hojas?|"
    r"p[áa]ginas?|fogli\w*|pagine|vellen|bladen)\b",
    re.IGNORECASE,
)
_GARMENT = re.compile(
    r"\b(?:seams?|allowances?|hems?|test|squares?|scale|waist\w*|fronts?|backs?|button\w*|belts?|"
    r"straps?|facings?|plackets?|bands?|ends|collars?|cuffs?|fabric|cloth|wrap|sew\w*|stitch\w*|"
    r"fasten\w*|closure|naht\w*|s(?:ä|ae)um\w*|saum|bund|knopf\w*|stoff|testquadrat|couture|ourlet|"
    r"tissu|costura|tela|dobladillo)\b",
    re.IGNORECASE,
)
"""A part of a garment, or a length of something else, of which the same words speak."""
_ABOUT = re.compile(r"\b(approx|appr|ca|env|aprox|ungef|min)\.", re.IGNORECASE)
_CLAUSE = re.compile(r"[;!?|·•]|[.,](?!\d)|\s[-–—]\s")
_LINE = 2.2
"""Lines of a paragraph lie at most so many heights of their letters below one another."""


@dataclass(frozen=True)
class WrittenOverlap:
    """What one text says of the overlap.

    Attributes
    ----------
    page : int
        Its number, from 1.
    lengths : tuple of float
        mm; more than one where it is said in several units.
    sure : bool
        It speaks of pages; else it may speak of a piece that it is written on.
    """

    page: int
    lengths: tuple[float, ...]
    sure: bool


@dataclass(frozen=True)
class Followed:
    """How pages fit, and what their words had to do with it.

    Attributes
    ----------
    fit : Fit
    written : WrittenOverlap or None
        What was taken, or is as the lines tell it.
    against : (WrittenOverlap, mm) or None
        What the lines contradict, and its length.
    """

    fit: Fit
    written: WrittenOverlap | None = None
    against: tuple[WrittenOverlap, float] | None = None


# ------------------------------------------------------------------------- what is written


def find_written_overlaps(pages: Sequence[DrawnPage]) -> list[WrittenOverlap]:
    """What the texts of all pages say of the overlap, each once; what is sure first."""
    speaking = [(page, text) for page in pages for text in page.texts if _WORDS.search(text.text)][
        :MOST_TEXTS
    ]
    times = Counter(text_key(text) for _, text in speaking)
    found: dict[tuple[float, ...], WrittenOverlap] = {}
    for page, text in speaking:
        said = _read_clauses(text.text) or _read_clauses(_with_lines_around(text, page.texts))
        for lengths, sure in said:
            one = WrittenOverlap(page.number, lengths, sure or times[text_key(text)] > 1)
            if lengths not in found or one.sure > found[lengths].sure:
                found[lengths] = one
    return sorted(found.values(), key=lambda one: (not one.sure, one.page))


def _read_clauses(words: str) -> list[tuple[tuple[float, ...], bool]]:
    """The lengths of each clause that speaks of overlapping, and whether it speaks of pages."""
    found: list[tuple[tuple[float, ...], bool]] = []
    for clause in _CLAUSE.split(_ABOUT.sub(r"\1", words)):
        if _GARMENT.search(clause):
            continue
        paper = _PAPER.search(words if _ABUTTED.search(clause) else clause) is not None
        lengths = tuple(mm for mm in stated_lengths(clause) if 0 < mm <= LONGEST_MM)
        if _OVERLAP.search(clause) and lengths and (paper or _PLAIN.fullmatch(clause)):
            found.append((lengths, paper))
        elif _ABUTTED.search(clause) and paper:
            found.append(((0.0,), True))
    return found


def _with_lines_around(text: DrawnText, texts: Sequence[DrawnText]) -> str:
    """A line of a paragraph with the one above and the one below it."""
    above, below = "", ""
    for other in texts[:MOST_TEXTS]:
        down = _measure_lines_down(text, other)
        if 0.0 < down <= _LINE:
            below = below or f" {other.text}"
        elif -_LINE <= down < 0.0:
            above = above or f"{other.text} "
    return f"{above}{text.text}{below}"


def _measure_lines_down(one: DrawnText, other: DrawnText) -> float:
    """How far a text lies below another, in heights of its letters; 0 where it is no line of it."""
    if abs(one.height - other.height) > 0.05 * one.height or one.angle != other.angle:
        return 0.0
    turn = math.radians(one.angle)
    x, y = other.at[0] - one.at[0], other.at[1] - one.at[1]
    along = x * math.cos(turn) + y * math.sin(turn)
    aside = min(abs(along), abs(along + (other.width - one.width) / 2))
    down = (x * math.sin(turn) - y * math.cos(turn)) / max(one.height, 1e-9)
    return down if aside <= one.height else 0.0


# ------------------------------------------------------------------------- words and lines


def follow_words(
    matcher: Matcher,
    places: Mapping[Place, int],
    fit: Fit,
    written: Sequence[WrittenOverlap],
) -> Followed:
    """Take what is written where lines do not contradict it: straight lines go on by any measure.

    Parameters
    ----------
    matcher : Matcher
    places : mapping of (row, column) to int
    fit : Fit
        What the lines tell alone.
    written : sequence of WrittenOverlap
        The surest first.
    """
    held = [(one, _hold_against_lines(matcher, places, fit, one)) for one in written]
    fitting = [(one, laps) for one, (laps, _) in held if laps is not None]
    fitting = [pair for pair in fitting if pair[0].sure == fitting[0][0].sure]
    if not fitting:
        against = ((one, lap) for one, (_, lap) in held if lap is not None and lap > 0)
        return Followed(fit, against=next(against, None))
    one, laps = fitting[0]
    if any(math.dist(laps, others) > _ROUNDED_MM for _, others in fitting):
        return Followed(fit)  # two texts, each of which may be meant
    pitch = (_find_span(matcher, 0) - laps[0], _find_span(matcher, 1) - laps[1])
    if pitch == fit.pitch:
        return Followed(fit, one)
    matched = sum(matcher.count_with(places, axis, laps[axis]) for axis in (0, 1))
    return Followed(Fit(matched, fit.ends, pitch), one)


def _hold_against_lines(
    matcher: Matcher, places: Mapping[Place, int], fit: Fit, one: WrittenOverlap
) -> tuple[tuple[float, float] | None, float | None]:
    """What pages share both ways by what is written, or the length that the lines contradict."""
    found = []
    for axis in (0, 1):
        own = _find_span(matcher, axis) - fit.pitch[axis]
        count = matcher.count_with(places, axis, own)
        counts = {lap: matcher.count_with(places, axis, lap) for lap in one.lengths}
        lap = max(one.lengths, key=lambda lap: (counts[lap], -abs(lap - own)))
        if not fit.others and abs(lap - own) <= _ROUNDED_MM:
            found.append(own)
        elif count >= _FEWEST and counts[lap] < _AS_MANY * count:
            return None, lap
        else:
            found.append(lap)
    return (found[0], found[1]), None


def _find_span(matcher: Matcher, axis: int) -> float:
    return matcher.frame[axis + 2] - matcher.frame[axis]
