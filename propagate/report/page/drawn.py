"""Write drawings as elements of the page: path data, the role of each item as its class.

Path data is compact: hundredths of a millimetre, relative, y down.  Lengths are never taken from
it: the page is given them as they were measured.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

import numpy as np
import numpy.typing as npt
import shapely
from markupsafe import Markup, escape

from propagate.report.page.words import clean_text
from propagate.report.scene.items import Area, Item, Line, Role, Scene, Text
from propagate.report.scene.looks import LOOKS
from propagate.report.style import ADDED, BLUE, INK, ORANGE, PALE, PAPER, TRIMMED
from propagate.values import dataclass

__all__ = ["View", "looks_style", "view_of", "write_item", "write_number", "write_scene"]

Told = Callable[[Item], Mapping[str, str]]

_COLOURS = {INK: "--ink", PALE: "--quiet", BLUE: "--added", ORANGE: "--trimmed"}
_FILLS = {PAPER: "--piece", ADDED: "--tape-on", TRIMMED: "--trim"}
_MARGIN = 0.04


def looks_style() -> str:
    """Tell how every role looks as rules of a style sheet; `--mm` stands for 1 mm of a picture.

    Colours are those of the page, which has a light and a dark one for each.
    """
    rules = []
    for role, look in LOOKS.items():
        stroke = look.stroke
        dash = " ".join(f"calc({mm:g} * var(--mm))" for mm in stroke.dash) or "none"
        colour = _COLOURS.get(stroke.colour, "--quiet")
        rules.append(
            f".{role.value} {{ stroke: var({colour}); stroke-dasharray: {dash}; "
            f"stroke-width: calc({stroke.width:g} * var(--mm)); }}"
        )
        if role is not Role.LABEL:
            fill = _FILLS.get(look.fill, "--ink")
            rules.append(f".area.{role.value} {{ fill: var({fill}); stroke: none; }}")
        rules.append(f'[data-off~="{role.value}"] .{role.value} {{ display: none; }}')
    return "\n".join(rules)


def write_scene(scene: Scene, told: Told | None = None, within: float = 0.01) -> Markup:
    """Write the items of a drawing, y down, in the order of painting.

    Parameters
    ----------
    told : callable, optional
        Further attributes of an item; `title` becomes words that are shown on it.
    within : float
        mm that a line may be off.
    """
    layers = list(Role)
    items = sorted(scene.items, key=lambda item: layers.index(item.role))
    return Markup("").join(write_item(item, told(item) if told else {}, within) for item in items)


def write_item(item: Item, told: Mapping[str, str], within: float = 0.01) -> Markup:
    """Write one item; `told` and `within` as in `write_scene`."""
    attributes: dict[str, str] = {"class": item.role.value, **told}
    title = attributes.pop("title", "")
    if isinstance(item, Text):
        x, y = write_point(item.at)
        turn = f"rotate({write_number(-item.angle, 1)})" if item.angle else ""
        attributes |= {
            "transform": f"translate({x} {y}){turn}",
            "y": write_number(item.size * 0.36),
        }
        return _write_tag("text", attributes, Markup(escape(clean_text(item.text))))
    inner = _write_tag("title", {}, Markup(escape(clean_text(title)))) if title else Markup("")
    if isinstance(item, Line):
        attributes["d"] = _path_data(item.points, closed=item.closed, within=within)
        return _write_tag("path", attributes, inner)
    if isinstance(item, Area):
        attributes["class"] = f"area {item.role.value}"
        attributes["d"] = rings_data(item.rings, within=within)
        return _write_tag("path", attributes, inner)
    x, y = write_point(item.centre)
    attributes |= {"cx": x, "cy": y, "r": write_number(item.radius)}
    return _write_tag("circle", attributes, inner)


def _write_tag(name: str, attributes: Mapping[str, str], inner: Markup) -> Markup:
    words = Markup("").join(
        Markup(' {}="{}"').format(key, clean_text(value)) for key, value in attributes.items()
    )
    head = Markup("<") + Markup(name) + words
    return head + (Markup(">") + inner + Markup(f"</{name}>") if inner else Markup("/>"))


@dataclass(frozen=True)
class View:
    """The part of the plane that a drawing shows: x, y down, width and height, mm."""

    x: float
    y: float
    wide: float
    tall: float

    @property
    def box(self) -> str:
        """As an SVG wants it."""
        return " ".join(write_number(v, 1) for v in (self.x, self.y, self.wide, self.tall))


def view_of(scene: Scene) -> View:
    """Return all of a drawing, with a margin."""
    low, high = scene.bounds()
    margin = max(float((high - low).max()) * _MARGIN, 4.0)
    wide, tall = np.asarray(high - low) + 2 * margin
    return View(float(low[0]) - margin, -float(high[1]) - margin, float(wide), float(tall))


# -------------------------------------------------------------------------------- paths


def write_number(value: float, decimals: int = 2) -> str:
    """Write a number with no more digits than it needs."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def write_point(point: npt.ArrayLike) -> tuple[str, str]:
    """Write a point of the drawing, y down."""
    x, y = np.asarray(point, dtype=np.float64)
    return write_number(float(x)), write_number(-float(y))


def _path_data(points: npt.ArrayLike, *, closed: bool = False, within: float = 0.01) -> str:
    """Write a polyline as path data.

    Parameters
    ----------
    points : (n, 2) array, mm, y up
    closed : bool
        Close the line back to its first point, which is not repeated in `points`.
    within : float
        Points that lie this near to the line through their neighbours are left out, mm.

    Examples
    --------
    >>> _path_data([[0, 0], [10, 0], [10, 2.5]])
    'm0 0l10 0 0-2.5'
    """
    line = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if len(line) > 2:
        line = shapely.get_coordinates(shapely.simplify(shapely.LineString(line), within))
    cells = np.rint(line * [100.0, -100.0]).astype(np.int64)
    steps = np.diff(cells, axis=0)
    if len(steps) > 1:
        moved = steps.any(axis=1)
        steps = steps[moved] if moved.any() else steps[:1]
    start = _write_steps(cells[0].tolist())
    return f"m{start}l{_write_steps(steps.ravel().tolist())}" + ("z" if closed else "")


def rings_data(rings: Iterable[npt.ArrayLike], within: float = 0.01) -> str:
    """Write an area and its holes as path data, to be filled by the even-odd rule."""
    parts = (_path_data(ring, closed=True, within=within) for ring in rings)
    return "".join(f"M{part[1:]}" for part in parts)


def _write_steps(hundredths: list[int]) -> str:
    words: list[str] = []
    for value in hundredths:
        text = write_number(value / 100.0)
        words.append(text if not words or text.startswith("-") else f" {text}")
    return "".join(words)
