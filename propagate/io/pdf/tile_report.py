"""What is told of pages that were put together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from propagate.counts import say_count, say_numbers
from propagate.io.pdf.pages import DrawnPage
from propagate.io.pdf.tile_marks import PageName, round_size
from propagate.io.pdf.written_overlap import Followed
from propagate.io.report import ReportNotes
from propagate.pattern.titles import list_words

if TYPE_CHECKING:
    from propagate.io.pdf.tiles import TiledPages

__all__ = ["tell_tiles"]

_SAME_LAP_MM = 0.15
"""What pages share across and down is told once where it differs by less."""
_ONCE_MORE = 0.5
"""Paper of another size, as a share of that of the tiles, which shows all once more."""


def tell_tiles(
    tiled: TiledPages,
    pages: Sequence[DrawnPage],
    file: str,
    grid: tuple[int, int] | None,
    followed: Followed,
    names: Mapping[int, PageName],
    notes: ReportNotes,
) -> None:
    """Say how pages were put together, and which were left out."""
    lap, fit = tiled.overlap, followed.fit
    shared = f"{max(lap[0], 0.0):.1f} mm across and {max(lap[1], 0.0):.1f} mm down"
    if abs(lap[0] - lap[1]) < _SAME_LAP_MM:
        shared = f"{max(lap[0], 0.0):.1f} mm"
    if followed.written is not None:
        shared += f", as page {followed.written.page} says"
    how = "as asked for" if grid else "by the names on them" if names else "by the lines that go on"
    notes.add(
        "found" if grid else "assumed",
        f"{say_count(len(tiled.places), 'page')} put together {how}: {tiled.columns} columns, "
        f"{tiled.rows} rows, neighbours share {shared}; {fit.matched} of {fit.ends} ends of lines "
        "at the borders go on from the page beside",
        option="--tiles or --overlap",
        file=file,
    )
    if followed.against is not None:
        written, length = followed.against
        notes.add(
            "warning",
            f"page {written.page} says that pages share {length:.4g} mm, with which fewer lines go "
            "on from page to page than with what was taken: measure a length that crosses a border",
            option="--overlap",
            file=file,
        )
    if fit.others:
        others = list_words([f"{lap:.4g}" for lap in fit.others])
        notes.add(
            "warning",
            f"all lines run straight over the borders of the pages, so that neighbours may as well "
            f"share {others} mm: measure a page, or a length that crosses a border",
            option="--overlap",
            file=file,
        )
    _tell_left_out(tiled, pages, file, notes)


def _tell_left_out(
    tiled: TiledPages, pages: Sequence[DrawnPage], file: str, notes: ReportNotes
) -> None:
    """Say which pages are no tiles, by what they are taken for."""
    used = set(tiled.places.values())
    out = [page for page in pages if page.number not in used]
    again = _find_once_more(out, tiled)
    blank = [page.number for page in out if not (page.lines or page.texts)]
    more = [page.number for page in out if page.number in again]
    other = [page.number for page in out if (page.lines or page.texts) and page.number not in again]
    kinds = {
        "blank": blank,
        "of another size of paper, which seem to show the same once more": more,
        "not a tile: cover, instructions or the like": other,
    }
    for what, numbers in kinds.items():
        if numbers:
            notes.add(
                "ignored",
                f"{say_count(len(numbers), 'page')} left out ({what}): {say_numbers(numbers)}",
                file=file,
            )


def _find_once_more(out: Sequence[DrawnPage], tiled: TiledPages) -> set[int]:
    """Pages of another size that have room for all that the tiles show."""
    used = [page for page in out if page.lines or page.texts]
    room: Counter[tuple[int, int]] = Counter()
    for page in used:
        room[round_size(page)] += round(page.size[0] * page.size[1]) if page.lines else 0
    least = _ONCE_MORE * len(tiled.places) * tiled.size[0] * tiled.size[1]
    return {
        page.number for page in used if page.size != tiled.size and room[round_size(page)] >= least
    }
