"""The figure of a band: its zones, where it is slashed, and by how much it is spread there."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.motion import Motion
from propagate.geometry.polyline import between, point_at
from propagate.pattern.relations import Band
from propagate.report.lettering import letters_of
from propagate.report.pdf.fonts import FontBook
from propagate.report.scene.items import Item, Role, Scene, areas_of, make_line, make_text
from propagate.report.scene.labels import Labels
from propagate.report.scene.piece import compose_piece
from propagate.report.worksheet.band_steps import ZoneWork, outline_stays, spread_word, zones_of
from propagate.report.worksheet.figure import Figure, largest_scale
from propagate.report.worksheet.words import Source
from propagate.values import dataclass

__all__ = ["BandFigure"]

Array = npt.NDArray[np.float64]

_AROUND_MM = 13.0
"""Room above and below the band, for labels."""
_LETTER_SIZE, _MARK_SIZE, _GAP_SIZE, _ZONE_SIZE = 3.4, 2.7, 2.7, 2.5
_UP, _DOWN = math.pi / 2, -math.pi / 2


@dataclass(frozen=True, eq=False)
class BandFigure:
    """A band as it is when it is fitted, its sewn edge below, from left to right."""

    source: Source
    band: Band

    def fitted(self, room: tuple[float, float]) -> tuple[float, float]:
        """Scale (4.0 stands for 1:4) and height in mm of the drawing in a room of that size."""
        window = self._window
        scale = largest_scale(window, (room[0], 1e6))
        tall = float(window[1][1] - window[0][1]) / scale + 2 * _AROUND_MM
        return scale, min(tall, room[1])

    def drawn(self, fonts: FontBook, room: tuple[float, float]) -> list[tuple[Figure, float]]:
        """The figure, with its distance from the left, mm."""
        scale, height = self.fitted(room)
        middle = np.array([room[0], height]) / 2

        def at(xy: Array) -> Array:
            centred = self._turn.apply(xy) - self._window.mean(axis=0)
            return np.asarray(centred / scale + middle)

        frame = shapely.box(0.0, 0.0, room[0], height)
        scene = self._scene(scale).placed(scale, at).clipped(frame)
        labels = Labels(scene, fonts.width, frame.buffer(-0.6))
        self._write(labels, at)
        scene = scene.without(Role.FACE) + labels.scene
        return [(Figure(scene, room[0], height, scale), 0.0)]

    @property
    def _turn(self) -> Motion:
        """Lays the sewn edge from left to right, so that the band is above it."""
        sewn = self.source.sized(self.band.piece).edge(self.band.sewn).points
        way = complex(*(sewn[-1] - sewn[0]))
        return Motion(abs(way) / way)

    @property
    def _window(self) -> Array:
        points = self._turn.apply(self.source.sized(self.band.piece).outline)
        return np.array([points.min(axis=0), points.max(axis=0)])

    @property
    def _slashed(self) -> list[ZoneWork]:
        """The zones that are spread or lapped."""
        if outline_stays(self.source, self.band.piece):
            return []
        said, unit = self.source.said, self.source.unit
        return [
            zone
            for zone in zones_of(self.source, self.band)
            if said(zone.was) != said(zone.now) and zone.worked(unit)
        ]

    def _middle(self, zone: ZoneWork) -> Array:
        sewn = self.source.sized(self.band.piece).edge(self.band.sewn).points
        return point_at(sewn, (zone.begin + zone.end) / 2)

    def _scene(self, scale: float) -> Scene:
        """The band with its slash lines and gaps, in its own frame."""
        now = self.source.sized(self.band.piece)
        info = self.source.pattern.info[self.band.piece]
        whole = compose_piece(now, info, page_mm=scale).without(Role.LEVEL, Role.FOLD, Role.GRAIN)
        return whole + Scene(tuple(self._gaps()))

    def _gaps(self) -> Iterator[Item]:
        """Two edges of the paper at every slash, so far apart as it is spread or lapped."""
        outline = shapely.Polygon(self.source.sized(self.band.piece).outline)
        across, along = (self._turn.inverse().rotate(way) for way in ((0.0, 1.0), (1.0, 0.0)))
        reach = across * sum(self._window[1] - self._window[0])
        for zone in self._slashed:
            half = along * abs(zone.gain) / 2
            first, last = (self._middle(zone) + step for step in (-half, half))
            corners = [first - reach, last - reach, last + reach, first + reach]
            if zone.gain > 0.0:
                yield from areas_of(Role.TAPE_ON, outline.intersection(shapely.Polygon(corners)))
            for foot in (first, last):
                cut = outline.intersection(shapely.LineString([foot - reach, foot + reach]))
                yield make_line(Role.CUT, cut.coords)

    def _write(self, labels: Labels, at: Callable[[Array], Array]) -> None:
        """Letters of corners and marks; what is spread or lapped; each zone with its length."""
        now = self.source.sized(self.band.piece)
        middle = float(at(now.outline).mean(axis=0)[1])
        for one in letters_of(now):
            point, corner = at(one.point), one.kind == "corner"
            size = _LETTER_SIZE if corner else _MARK_SIZE
            way = _UP if point[1] > middle else _DOWN
            labels.near(point, make_text(point, one.letter, size, bold=corner), first=way)
        top = float(at(now.outline)[:, 1].max())
        for zone in self._slashed:
            point = np.array([at(self._middle(zone))[0], top])
            label = make_text(point, spread_word(self.source, zone), _GAP_SIZE)
            labels.near(point, label, first=_UP)
        for zone in zones_of(self.source, self.band):
            stretch = at(between(now.edge(self.band.sewn).points, *sorted((zone.begin, zone.end))))
            words = self.source.called(zone.name, self.band.name)
            words += f" {self.source.said(zone.printed_now(self.source.unit))}"
            label = make_text(stretch[0], words, _ZONE_SIZE)
            if not labels.along(stretch, label):
                labels.near(at(self._middle(zone)), label, first=_DOWN)
