"""Find out how the pages of a tiled print lie: rows, columns, what neighbours share."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from propagate.counts import say_count
from propagate.errors import FormatError
from propagate.io.drawn_lines import DrawnLine, DrawnText
from propagate.io.pdf.cutting import Box, find_bounds
from propagate.io.pdf.pages import DrawnPage
from propagate.io.pdf.tile_marks import PageName, page_names, round_size, without_furniture
from propagate.io.pdf.tile_match import FEW_WAYS, Matcher, Place
from propagate.io.pdf.tile_report import tell_tiles
from propagate.io.pdf.tile_votes import Fit
from propagate.io.pdf.written_overlap import Followed, WrittenOverlap, follow_words
from propagate.io.report import ReportNotes
from propagate.values import dataclass

__all__ = ["Place", "TiledPages", "place_name", "tiled_pages"]

MOST_PAGES_WITHOUT_NAMES = 120
MOST_COLUMNS = 30
MOST_FRONT = 3
"""Pages of words in front of the first tile, where pages have no names."""
_GOOD = 0.5
"""Share of the ends at borders from which an order of the pages is believed."""
_FEWEST = 3
"""Ends that go on at least."""
_CLEARLY = 1.25
"""How much better an order has to be than the next best."""
MOST_NAMES = 4
"""Sets of names that are tried."""
_WORDY = 120
"""Words from which a page that no line leaves is one of instructions."""


@dataclass(frozen=True, eq=False)
class TiledPages:
    """Pages in their places.

    Attributes
    ----------
    places : mapping of (row, column) to int
        Number of the page, from 1; rows from the top.
    lines, texts : mapping of page number to what is drawn, without frames and footers
    size : (width, height)
        Of each page, mm.
    frame : Box
        What of a page belongs to the sheet, in page coordinates.
    pitch : (x, y)
        From one page to the next, mm.
    """

    places: Mapping[Place, int]
    lines: Mapping[int, Sequence[DrawnLine]]
    texts: Mapping[int, Sequence[DrawnText]]
    size: tuple[float, float]
    frame: Box
    pitch: tuple[float, float]

    @property
    def rows(self) -> int:
        """How many rows of pages there are."""
        return 1 + max(row for row, _ in self.places)

    @property
    def columns(self) -> int:
        """How many columns of pages there are."""
        return 1 + max(column for _, column in self.places)

    @property
    def overlap(self) -> tuple[float, float]:
        """What two pages side by side, and one above the other, both show, mm."""
        left, bottom, right, top = self.frame
        return right - left - self.pitch[0], top - bottom - self.pitch[1]


def place_name(place: Place) -> str:
    """A place in words."""
    return f"row {place[0] + 1}, column {place[1] + 1}"


def tiled_pages(
    pages: Sequence[DrawnPage],
    file: str,
    grid: tuple[int, int] | None,
    overlap: float | None,
    written: Sequence[WrittenOverlap],
    notes: ReportNotes,
) -> TiledPages | None:
    """The pages of a tiled print in their places; None when the pages are not tiles.

    Parameters
    ----------
    pages : sequence of DrawnPage
    file : str
    grid : (columns, rows) or None
        As the user says it.
    overlap : float or None
        mm, as the user says it.
    written : sequence of WrittenOverlap
        What the pages of the file say of it in words.
    notes : ReportNotes

    Raises
    ------
    FormatError
        The pages are tiles, and their order cannot be told; or the user's grid does not fit.
    """
    alike = _pages_of_one_size(pages)
    if len(alike) < 2:
        return None
    order = _find_order(alike, grid, file)
    if order is None or not any(order.own[i][0] for i in order.places.values()):
        return None
    matcher = order.matcher
    fit, frame = matcher.fit(order.places, thorough=True), matcher.frame
    used = {order.pages[i].number for i in order.places.values()}
    written = [one for one in written if one.sure or one.page not in used]
    followed = follow_words(matcher, order.places, fit, written)
    pitch = followed.fit.pitch
    if overlap is not None:
        pitch = frame[2] - frame[0] - overlap, frame[3] - frame[1] - overlap
    tiled = TiledPages(
        {place: order.pages[i].number for place, i in order.places.items()},
        {page.number: lines for page, (lines, _) in zip(order.pages, order.own, strict=True)},
        {page.number: texts for page, (_, texts) in zip(order.pages, order.own, strict=True)},
        matcher.size,
        frame,
        pitch,
    )
    told = followed if overlap is None else Followed(replace(fit, others=()))
    tell_tiles(tiled, pages, file, grid, told, order.names, notes)
    return tiled


# ------------------------------------------------------------------------- which pages


@dataclass(frozen=True, eq=False)
class _Order:
    """Pages of one size, what they draw of their own, their names and the places that follow."""

    pages: Sequence[DrawnPage]
    own: Sequence[tuple[Sequence[DrawnLine], Sequence[DrawnText]]]
    names: Mapping[int, PageName]
    matcher: Matcher
    places: Mapping[Place, int]


def _find_order(
    alike: Sequence[DrawnPage], grid: tuple[int, int] | None, file: str
) -> _Order | None:
    """The order that the user says, or that of the best names with which the lines agree.

    What looks like names of pages may be the names of glue marks: where lines do not go on by them,
    other names are tried, and the lines alone. Where nothing is better the best names stay.
    """
    if grid is not None:
        return _order_by(_without_front(alike, grid, file), {}, grid, file)
    first: _Order | None = None
    for names in (*page_names(alike)[:MOST_NAMES], {}):
        try:
            order = _order_by(alike, names, None, file)
        except FormatError:
            if first is None:
                raise
            continue
        if order is None:
            continue
        fit = order.matcher.fit(order.places)
        if fit.ends < _FEWEST or fit.share >= _GOOD:
            return order
        first = first or order
    return first


def _order_by(
    alike: Sequence[DrawnPage],
    names: Mapping[int, PageName],
    grid: tuple[int, int] | None,
    file: str,
) -> _Order | None:
    if names and not _only_numbers(names):
        order = sorted(names)
        alike, names = [alike[i] for i in order], {n: names[i] for n, i in enumerate(order)}
    own = without_furniture(alike, names)
    matcher = Matcher([lines for lines, _ in own], alike[0].size, _frame_of(alike, own))
    places = (
        {(i // grid[0], i % grid[0]): i for i in range(len(alike))}
        if grid is not None
        else _find_best_order(matcher, names, list(map(_is_wordy, alike)), file)
    )
    return None if places is None else _Order(alike, own, names, matcher, places)


def _pages_of_one_size(pages: Sequence[DrawnPage]) -> list[DrawnPage]:
    """The pages of the size that most have, blank ones between them too."""
    sizes = Counter(round_size(page) for page in pages if page.lines)
    if not sizes:
        return []
    usual = max(sizes, key=lambda size: (sizes[size], size))
    return [page for page in pages if round_size(page) == usual]


def _only_numbers(names: Mapping[int, PageName]) -> bool:
    return all(name.kind == "number" for name in names.values())


def _without_front(alike: Sequence[DrawnPage], grid: tuple[int, int], file: str) -> list[DrawnPage]:
    """As many pages as the user's grid has: those in front that are one of words are left out."""
    wanted = grid[0] * grid[1]
    left = list(alike)
    while len(left) > wanted and _is_wordy(left[0]):
        left.pop(0)
    while len(left) > wanted and _is_wordy(left[-1]):
        left.pop()
    if len(left) > wanted:
        left = left[-wanted:]
    if len(left) < wanted:
        raise FormatError(
            f"{file}: found {say_count(len(left), 'page')} with lines, expected {grid[0]} x "
            f"{grid[1]} = {wanted} (--tiles is columns x rows)"
        )
    return left


def _is_wordy(page: DrawnPage) -> bool:
    return sum(len(text.text.split()) for text in page.texts) >= _WORDY


def _frame_of(
    pages: Sequence[DrawnPage], own: Sequence[tuple[Sequence[DrawnLine], object]]
) -> Box | None:
    """The largest upright rectangle that all pages have in the same place."""
    kept = [{id(line) for line in lines} for lines, _ in own]
    best: Box | None = None
    for line in pages[0].lines:
        box = find_bounds(line.chain)
        wide, tall = box[2] - box[0], box[3] - box[1]
        size = pages[0].size
        if id(line) in kept[0] or not line.closed or len(line.chain.segments) != 4:
            continue
        if wide > 0.5 * size[0] and tall > 0.5 * size[1]:
            area = wide * tall
            if best is None or area > (best[2] - best[0]) * (best[3] - best[1]):
                best = box
    return best


# ------------------------------------------------------------------------- which order


def _find_best_order(
    matcher: Matcher, names: Mapping[int, PageName], wordy: Sequence[bool], file: str
) -> dict[Place, int] | None:
    """The order in which most lines go on; the names of the pages decide where lines do not."""
    if names and not _only_numbers(names):
        [(_, way)] = _best_of_each([list(_named_orders(names))], matcher)
        return way if _has_neighbours(way) else None
    ends, count = matcher.total_ends(), len(wordy)
    if ends < _FEWEST or count > MOST_PAGES_WITHOUT_NAMES:
        return None
    fronts = range(min(MOST_FRONT, count - 2) + 1)
    orders = list(zip(*(_list_orders(count, front, names) for front in fronts), strict=True))
    (fit, way), rivals = (found := _best_of_each(orders, matcher))[0], found[1:2]
    good = fit.share >= _GOOD and fit.matched >= _FEWEST
    if good and all(fit.matched >= _CLEARLY * rival.matched for rival, _ in rivals):
        return {place: i for place, i in way.items() if not wordy[i]}
    cut = sum(any(len(matcher.ends_at(i, side)) for side in range(4)) for i in range(count))
    if 2 * cut < count or ends < 2 * count:  # lines end at the border of few pages
        return None
    raise FormatError(
        f"{file}: found {say_count(count, 'page')} with lines that run on from page to page, and "
        "nothing that tells how the pages lie side by side; expected names on the pages such as "
        "A1, or say it: --tiles COLUMNSxROWS, such as --tiles 5x4 (row by row from the upper "
        "left), and --overlap with what two pages share, such as --overlap 10mm"
    )


def _best_of_each(
    orders: Sequence[Sequence[dict[Place, int]]], matcher: Matcher
) -> list[tuple[Fit, dict[Place, int]]]:
    """The best way of each order of pages, the best order first.

    Those that no more than few ends speak for come last, and are left out as soon as it is plain
    that the best is clearly better.
    """
    ways = [(i, way) for i, order in enumerate(orders) for way in order]
    found: list[tuple[int, int, Fit, dict[Place, int]]] = []
    most = 0
    for n in matcher.sort_ways([way for _, way in ways], _CLEARLY):
        order, way = ways[n]
        if len(ways) > FEW_WAYS and matcher.count_possible(way) < most / _CLEARLY:
            continue
        fit = matcher.fit_of_least(way, most / _CLEARLY)
        if fit is not None:
            found.append((n, order, fit, way))
            most = max(most, fit.matched)
    best: dict[int, tuple[Fit, dict[Place, int]]] = {}
    for _, order, fit, way in sorted(found, key=lambda one: (-one[2].matched, one[0])):
        best.setdefault(order, (fit, way))
    return list(best.values())


def _has_neighbours(places: Mapping[Place, int]) -> bool:
    """Whether at least half of the pages have a neighbour."""
    beside = sum(
        any((row + a, column + b) in places for a, b in ((0, 1), (0, -1), (1, 0), (-1, 0)))
        for row, column in places
    )
    return 2 * beside >= len(places)


def _named_orders(names: Mapping[int, PageName]) -> Iterator[dict[Place, int]]:
    """Both ways to read names of two parts; the more usual first (common practice, no source)."""
    kind = next(iter(names.values())).kind
    first = {i: (name.first, name.second) for i, name in names.items()}
    last = {i: (name.second, name.first) for i, name in names.items()}
    ordered = [names[i] for i in sorted(names)]
    changes = [(a.first != b.first, a.second != b.second) for a, b in pairwise(ordered)]
    # A first part that changes from page to page counts columns.
    runs_fast = sum(c[0] for c in changes) >= sum(c[1] for c in changes)
    both = [last, first] if kind == "letter-number" and runs_fast else [first, last]
    for way in both:
        low = [min(place[axis] for place in way.values()) for axis in (0, 1)]
        yield {(place[0] - low[0], place[1] - low[1]): i for i, place in way.items()}


def _list_orders(
    count: int, front: int, names: Mapping[int, PageName]
) -> Iterator[dict[Place, int]]:
    """Row by row and column by column in each width; by the numbers of pages if they have any.

    The first pages, `front` of them, have no place.
    """
    numbered = {i: names[i].first if i in names else i for i in range(front, count)}
    if any(i not in names for i in numbered) or len(set(numbered.values())) != len(numbered):
        numbered = {i: i for i in range(front, count)}
    least = min(numbered.values())
    spots = {i: number - least for i, number in numbered.items()}
    most = min(count, MOST_COLUMNS)
    for width in range(1, most + 1):
        yield {(spot // width, spot % width): i for i, spot in spots.items()}
    for height in range(2, most):
        yield {(spot % height, spot // height): i for i, spot in spots.items()}
