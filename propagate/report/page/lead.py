"""What a page opens with: every piece that changed, small, and its largest figures."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from markupsafe import Markup

from propagate.report.page.drawn import View, view_of, write_scene
from propagate.report.page.pieces import PieceView
from propagate.report.page.subject import Subject
from propagate.report.scene.items import Role, Scene
from propagate.report.scene.shorten import changed_stretches, shortened_scene
from propagate.values import dataclass

__all__ = ["MOST_CARDS", "lead_cards"]

MOST_CARDS = 12
"""So many stand there at once; the others open with a click."""

_WIDE_PX, _TALL_PX = 280.0, 230.0
"""Room that the largest drawing takes, ..."""
_SMALLER = (1.0, 0.9, 0.8, 0.7, 0.6)
"""... less where all pieces find room by it on the first screen, ..."""
_SCREEN_PX = (1190.0, 500.0)
"""... which is so wide, and so high below the title; from a window of 1280 by 800."""
_WORDS_PX, _LETTER_PX, _GAP_PX = 104.0, 7.6, 26.0
"""Height of the words below a drawing, width of a letter, gap between two pieces."""
_MM_PX = 2.2
"""Pixels for 1 mm of a picture."""
_WITHIN_PX = 0.08
_LEFT_OUT = (
    *(Role.LEVEL, Role.CUT, Role.CUT_BEFORE, Role.DRILL, Role.LANDMARK, Role.NOTCH, Role.INNER),
    *(Role.GRAIN, Role.FOLD),
)


@dataclass(frozen=True)
class Card:
    """One piece, small: what the page says of it, and its drawing with its size in pixels."""

    piece: PieceView
    view: View
    scale: float
    scene: Scene

    @property
    def figures(self) -> Sequence[str]:
        """What stands below it."""
        return self.piece.figures or (self.piece.cut,)

    @property
    def drawing(self) -> Markup:
        """As elements of the page."""
        return write_scene(self.scene, within=_WITHIN_PX / self.scale)

    @property
    def pixels(self) -> tuple[float, float]:
        """Width and height on the screen."""
        return self.view.wide * self.scale, self.view.tall * self.scale


def lead_cards(subject: Subject, views: Sequence[PieceView]) -> list[Card]:
    """Return the pieces that changed, those with the most paper to tape on or to trim first.

    Of a set, all its pieces.  All are drawn at one scale, with their grain upwards; of a long
    piece only the part that changed.
    """
    shown = [view for view in views if view.name in subject.shown]
    paper = {name: one.added_mm2 + one.trimmed_mm2 for name, one in subject.changes.items()}
    shown.sort(key=lambda view: -paper[view.name])
    if subject.result is None:
        shown = list(views)
    if not shown:
        return []
    scenes = [view.scene.without(*_LEFT_OUT) for view in shown]
    stretches = [
        changed_stretches(scene.area_of(Role.TAPE_ON, Role.TRIM), *scene.bounds())
        for scene in scenes
    ]
    wide = max(float(np.ptp([*scene.bounds()], axis=0)[0]) for scene in scenes)
    tall = max(sum(top - low for low, top in part) for part in stretches)
    most = min(_WIDE_PX / wide, _TALL_PX / tall)
    for scale in (most * factor for factor in _SMALLER):
        cards = []
        for view, whole, part in zip(shown, scenes, stretches, strict=True):
            scene = shortened_scene(whole, part, _MM_PX / scale)
            cards.append(Card(view, view_of(scene), scale, scene))
        if _height_px(cards[:MOST_CARDS]) <= _SCREEN_PX[1]:
            break
    return cards


def _height_px(cards: Sequence[Card]) -> float:
    """Return height that cards in rows take on a wide screen, about."""
    height, x, tallest = 0.0, 0.0, 0.0
    for card in cards:
        wide, tall = card.pixels
        wide = max(wide, *(_LETTER_PX * len(words) for words in (card.piece.title, *card.figures)))
        if x and x + wide > _SCREEN_PX[0]:
            height, x, tallest = height + tallest + _WORDS_PX, 0.0, 0.0
        x, tallest = x + wide + _GAP_PX, max(tallest, tall)
    return height + tallest + _WORDS_PX
