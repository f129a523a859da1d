"""What the texts on a piece say of it: its title, how often it is cut, pair, fold, cloth."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace

import shapely

from propagate.io.chain import Chain
from propagate.io.drawn_lines import DrawnText
from propagate.io.sheet.looks import size_said
from propagate.values import dataclass

__all__ = [
    "Said",
    "find_allowance_words",
    "find_text_middle",
    "said_by",
    "say_grain",
    "texts_on",
    "without_circled",
]

TALLEST_MM = 30.0
"""Taller letters are a watermark."""
LONGEST_RING_MM = 60.0
_NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4, "six": 6, "eight": 8}
_COUNT = r"(?P<count>\d{1,2}|one|two|three|four|six|eight)"
_CUTS = tuple(
    re.compile(form, re.IGNORECASE)
    for form in (
        rf"\bcut\b\s*[:x×]?\s*{_COUNT}",
        rf"\b{_COUNT}\s*[x×]?\s*cut\b",
        r"\bcut\b(?P<count>)?",
    )
)
"""How a text says how often to cut, the plainest first: ``size 42 cut 2`` is no 42 pieces."""
_PAIR = re.compile(r"\b(?P<count>\d{1,2}\s+)?pairs?\b|\bmirror", re.IGNORECASE)
_FOLD = re.compile(r"\bfold\b", re.IGNORECASE)
_CLOTH = re.compile(
    r"\b(lining|interfacing|fusible|interlining|contrast|self|shell|main|fabric|mesh|rib(?:bing)?)\b",
    re.IGNORECASE,
)
_GRAIN = re.compile(r"\bgrain\b|\bbias\b|\bwarp\b", re.IGNORECASE)
_GRAIN_LINE = re.compile(r"\b(?:straight )?grain(?:[- ]?line)?\b", re.IGNORECASE)
_NOTE = re.compile(
    r"\b(?:centre|center|front edge|seam|hem|allowance|stitch|gather|ease|match|place|fold|"
    r"notch|dart|cm|mm|inch|scale|test|page|row|col)\b",
    re.IGNORECASE,
)
_SMALL_WORDS = re.compile(
    r"\b(?:on|in|to|at|of|by|the|and|with|here|this|edge|line)\b", re.IGNORECASE
)
_PLAIN_NUMBER = re.compile(r"[\d.,/\s\"'%-]*")
_ALLOWANCE = re.compile(
    r"\b(?:seam allowances?|nahtzugaben?|marges? de couture|m[aá]rgen(?:es)? de costura|"
    r"margens? de costura|margin[ei] (?:di|per la) cucitur[ae]|naadtoeslag(?:en)?|sömsmån(?:er)?|"
    r"sømrum|zapas(?:y|em)? na szwy|saumanvara[at]?)\b",
    re.IGNORECASE,
)
"""What the trade calls the allowance of a seam (from memory)."""
_LONGEST_QUOTE = 90
_COPY = re.compile(r"\bcopy(?:ing|right)?\b|\bsample\b|©|https?:|www\.|@", re.IGNORECASE)


@dataclass(frozen=True)
class Said:
    """What the texts of one piece say.

    Attributes
    ----------
    title : str
        Empty where nothing is a title.
    cut : int or None
    pair : bool
    fold : bool
        That it lies on a fold, wherever that is said.
    fabric : str
    notes : tuple of str
        Texts that say none of this.
    at_fold : tuple of DrawnText
        The texts that name a fold and nothing to cut: they may stand at the edge.
    """

    title: str = ""
    cut: int | None = None
    pair: bool = False
    fold: bool = False
    fabric: str = ""
    notes: tuple[str, ...] = ()
    at_fold: tuple[DrawnText, ...] = field(default=())


def find_allowance_words(texts: Iterable[str]) -> str | None:
    """The first text that speaks of seam allowances, sooner one with a figure in it."""
    said = [" ".join(text.split()) for text in texts if _ALLOWANCE.search(text)]
    words = next((text for text in said if re.search(r"\d", text)), said[0] if said else None)
    if words is None or len(words) <= _LONGEST_QUOTE:
        return words
    return words[: _LONGEST_QUOTE - 1].rstrip() + "\u2026"


def find_text_middle(text: DrawnText) -> tuple[float, float]:
    """The middle of a text, mm."""
    turn = math.radians(text.angle)
    along = 0.5 * (text.width or 0.6 * text.height * len(text.text))
    up = 0.35 * text.height
    x = text.at[0] + along * math.cos(turn) - up * math.sin(turn)
    y = text.at[1] + along * math.sin(turn) + up * math.cos(turn)
    return x, y


def say_grain(text: DrawnText) -> bool:
    """Whether a text names the grain, as it stands beside its line."""
    return _GRAIN_LINE.search(text.text) is not None


def said_by(texts: Sequence[DrawnText]) -> Said:
    """Read the texts of one piece, whatever their order."""
    title: list[DrawnText] = []
    notes: list[str] = []
    at_fold: list[DrawnText] = []
    cutting: list[DrawnText] = []
    perhaps: list[DrawnText] = []
    values: dict[str, object] = {}
    for text in sorted(texts, key=lambda t: (-round(t.at[1], 3), round(t.at[0], 3), t.text)):
        words = " ".join(text.text.split())
        if not words or _COPY.search(words) or text.height > TALLEST_MM:
            continue
        values["fold"] = bool(values.get("fold")) or _FOLD.search(words) is not None
        before = _take_cutting(words, values)
        if before:
            title.append(replace(text, text=before))
        if before is not None:
            cutting.append(text)
            continue
        if _FOLD.search(words):
            at_fold.append(text)
        elif _is_title(words):
            title.append(text)
        elif _has_other_words(words):
            perhaps.append(text)
        else:
            notes.append(words)
    if not title:  # "Centre front" is a title above "cut 2", and at an edge it is none
        title = [t for t in perhaps if any(_stands_above(t, other) for other in cutting)]
    notes += [" ".join(t.text.split()) for t in perhaps if t not in title]
    name = _find_title(title)
    notes += [" ".join(t.text.split()) for t in title if " ".join(t.text.split()) not in name]
    count = values.get("cut")
    return Said(
        title=name,
        cut=count if isinstance(count, int) else None,
        pair=bool(values.get("pair")),
        fold=bool(values.get("fold")),
        fabric=str(values.get("fabric", "")),
        notes=tuple(notes),
        at_fold=tuple(at_fold),
    )


def _take_cutting(words: str, values: dict[str, object]) -> str | None:
    """Take what a text says of cutting, and tell the name in front of it; None if it says nothing.

    ``Front - cut 1 on fold`` has a name in front, ``Cut 2`` an empty one.
    """
    cut = next((match for form in _CUTS if (match := form.search(words))), None)
    pair = _PAIR.search(words)
    if cut is None and pair is None:
        return None
    number = (cut["count"] or None) if cut else None
    pairs = int(pair["count"]) if pair is not None and pair["count"] else None
    if number is not None:
        said = _NUMBERS.get(number.lower()) or int(number)
        # "cut 1 pair" are two pieces, "cut 2 (1 pair)" as well
        together = pair is not None and cut is not None and pair.start() <= cut.end() + 1
        values["cut"] = 2 * said if together and said != 2 else max(said, 1)
    elif pairs is not None or pair is not None:
        values["cut"] = 2 * (pairs or 1)
    if pair is not None:
        values["pair"] = True
    cloth = _CLOTH.search(words)
    if cloth and "fabric" not in values:
        values["fabric"] = cloth[1].lower()
    begin = min(match.start() for match in (cut, pair) if match)
    before = words[:begin].strip(" -\u2013\u2014,:;.|/(")
    is_name = before and not _CLOTH.fullmatch(before)
    is_name = is_name and (_is_title(before) or _has_other_words(before))
    return before if is_name else ""


def _is_title(words: str) -> bool:
    """Whether a text may be what a piece is called."""
    if _PLAIN_NUMBER.fullmatch(words) or size_said(words) or len(words) > 60:
        return False
    return not any(form.search(words) for form in (_GRAIN, _GRAIN_LINE, _NOTE))


def _has_other_words(words: str) -> bool:
    """Whether a text says more than what notes at edges say, as ``Hem band`` does."""
    if _PLAIN_NUMBER.fullmatch(words) or size_said(words) or len(words) > 60:
        return False
    rest = _NOTE.sub(" ", _GRAIN.sub(" ", _GRAIN_LINE.sub(" ", words)))
    return re.search(r"[^\W\d_]{3}", _SMALL_WORDS.sub(" ", rest)) is not None


def _stands_above(text: DrawnText, other: DrawnText) -> bool:
    """Whether a text is the line above another one, and no smaller."""
    turn = math.radians(other.angle)
    x, y = text.at[0] - other.at[0], text.at[1] - other.at[1]
    up = y * math.cos(turn) - x * math.sin(turn)
    along = x * math.cos(turn) + y * math.sin(turn)
    longest = max(0.6 * t.height * len(t.text) for t in (text, other))
    near = 0.0 < up <= 2.5 * text.height and abs(along) <= longest
    return near and text.height >= 0.9 * other.height and abs(text.angle - other.angle) < 1.0


def _find_title(texts: Sequence[DrawnText]) -> str:
    """The largest text; of several as large, the uppermost with the line right below it."""
    if not texts:
        return ""
    tallest = max(t.height for t in texts)
    large = [t for t in texts if t.height > 0.9 * tallest]
    first = large[0]
    lines = [first]
    for text in large[1:]:
        apart = math.dist(lines[-1].at, text.at)
        if apart <= 1.8 * first.height and abs(text.angle - first.angle) < 1.0:
            lines.append(text)
    return " ".join(" ".join(t.text.split()) for t in lines)


def texts_on(
    texts: Sequence[DrawnText], areas: Mapping[int, shapely.Polygon]
) -> dict[int, list[DrawnText]]:
    """Give every text to the piece that holds it; of several to the smallest."""
    found: dict[int, list[DrawnText]] = {number: [] for number in areas}
    numbers = sorted(areas, key=lambda number: (areas[number].area, number))
    for text in texts:
        # how long it is may be a guess: else it is the piece's that it begins on
        points = (shapely.Point(find_text_middle(text)), shapely.Point(text.at))
        on = (n for point in points for n in numbers if areas[n].covers(point))
        holder = next(on, None)
        if holder is not None:
            found[holder].append(text)
    return found


def without_circled(lines: Sequence[Chain], texts: Sequence[DrawnText]) -> list[Chain]:
    """Lines without the small rings around a text, such as a number in a circle."""
    small = [line for line in lines if line.closed and line.length <= LONGEST_RING_MM]
    if not small or not texts:
        return list(lines)
    tree = shapely.STRtree([shapely.Polygon(line.points) for line in small])
    places = shapely.points([find_text_middle(text) for text in texts])
    around = {id(small[i]) for i in tree.query(places, predicate="within")[1].tolist()}
    return [line for line in lines if id(line) not in around]
