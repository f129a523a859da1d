"""Run the content of a page (ISO 32000-1, 7.8): its lines and texts in mm, y up."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

import pikepdf

from propagate.errors import FormatError
from propagate.geometry.affine import Affine
from propagate.io.chain import Point, tidy_chain
from propagate.io.drawn_lines import DrawnLine, DrawnText, Look
from propagate.io.pdf.clip import Clip, clip_to
from propagate.io.pdf.colour_operators import colour_operators
from propagate.io.pdf.colours import is_white
from propagate.io.pdf.layers import LayerStack, is_shown_without, names_in
from propagate.io.pdf.limits import NOT_READABLE, Budget
from propagate.io.pdf.painted import Painted, drawn_lines
from propagate.io.pdf.state import State, read_matrix
from propagate.io.pdf.subpath import Subpath
from propagate.io.pdf.texts import TextPlace, joined_texts, part_texts, placed_text
from propagate.io.pdf.words import LINES

__all__ = ["Content"]

Operands = Sequence[Any]
DEEPEST_FORM = 20
DEEPEST_STATE = 500
_UNSEEN_TEXT = (3, 7)
_FAR = 1e12
_MOST_WAITING = 50_000
"""Segments that are painted before they are drawn."""


class Content:
    """Runs content streams and collects what they paint.

    Attributes
    ----------
    lines : list of DrawnLine
    texts : list of DrawnText
    counts : Counter
        How often something was left out, by a word for it.
    inks : set of str
    """

    def __init__(self, number: int, ctm: Affine, clip: Clip, budget: Budget) -> None:
        self.lines: list[DrawnLine] = []
        self.counts: Counter[str] = Counter()
        self.inks: set[str] = set()
        self._texts: list[DrawnText] = []
        self._number, self._budget = number, budget
        self._first = State(ctm, clip)
        self._state, self._kept = self._first.kept(), list[State]()
        self._layers = LayerStack()
        self._subpaths: list[Subpath] = []
        self._here: Point = (0.0, 0.0)
        self._clip_rule: bool | None = None
        self._painted: list[Painted] = []
        self._waiting = self._paintings = 0
        self._text = TextPlace()
        self._forms: list[Any] = []
        self._resources: Any = None
        self._run_operator = self._operators()

    @property
    def texts(self) -> list[DrawnText]:
        """The texts, those that go on from one another put together."""
        return joined_texts(self._texts)

    def run(self, page: Any, resources: Any) -> None:
        """Run a page with its resources."""
        self._run_stream(page, resources)
        self._draw_waiting()

    def draw_appearance(self, form: Any, placed: Affine, layer: Any) -> None:
        """Draw what an annotation shows, on top of the page."""
        self._state, self._subpaths = self._first.kept(), []
        self._state.ctm = self._state.ctm @ placed
        try:
            around = LayerStack().within(self._read_layers(layer))
            self._draw_form(form, around.within(self._read_layers(form.get("/OC"))))
        except FormatError:  # more than a pattern holds
            raise
        except NOT_READABLE:
            self.counts["annotations"] += 1
        self._draw_waiting()

    def _run_stream(self, stream: Any, resources: Any) -> None:
        """Run a page or the stream of a form."""
        outer, self._resources = self._resources, resources
        operators = self._run_operator
        for operator, operands in self._budget.instructions(stream):
            try:
                operators.get(operator, self._pass_over)(operands)
            except FormatError:  # more than a pattern holds
                raise
            except NOT_READABLE:  # operands that an operator does not take: viewers pass it over
                self.counts["operators"] += 1
        self._resources = outer

    def _operators(self) -> dict[str, Callable[[Operands], None]]:
        paint = self._paint
        return {
            "q": self._keep,
            "Q": self._restore,
            "cm": self._concat,
            "w": lambda v: setattr(self._state, "width", float(v[0])),
            "d": self._set_dash,
            "gs": self._set_extended,
            "m": self._move,
            "l": self._line,
            LINES: self._lines,
            "c": self._curve,
            "v": self._curve_from,
            "y": self._curve_to,
            "h": self._close,
            "re": self._rectangle,
            "S": lambda _: paint(stroke=True),
            "s": lambda _: paint(stroke=True, close=True),
            "f": lambda _: paint(fill=True),
            "F": lambda _: paint(fill=True),
            "f*": lambda _: paint(fill=True),
            "B": lambda _: paint(stroke=True, fill=True),
            "B*": lambda _: paint(stroke=True, fill=True),
            "b": lambda _: paint(stroke=True, fill=True, close=True),
            "b*": lambda _: paint(stroke=True, fill=True, close=True),
            "n": lambda _: paint(),
            "W": lambda _: setattr(self, "_clip_rule", False),
            "W*": lambda _: setattr(self, "_clip_rule", True),
            "sh": lambda _: self.counts.update(["shadings"]),
            "INLINE IMAGE": lambda _: self.counts.update(["pictures"]),
            "Do": self._do,
            "BMC": lambda _: self._layers.begin(()),
            "BDC": self._begin_marked,
            "EMC": lambda _: self._layers.end(),
            **colour_operators(lambda: self._state, self._colour_space, self.inks.add),
            **self._text_operators(),
        }

    def _pass_over(self, _: Operands) -> None:
        """Take no notice of an operator that paints no lines."""

    # ---------------------------------------------------------------------------- state

    def _keep(self, _: Operands) -> None:
        if len(self._kept) < DEEPEST_STATE:
            self._kept.append(self._state.kept())

    def _restore(self, _: Operands) -> None:
        self._state = self._kept.pop()

    def _concat(self, values: Operands) -> None:
        self._state.ctm = self._state.ctm @ read_matrix(values)

    def _set_dash(self, values: Operands) -> None:
        dash = tuple(float(value) for value in list(values[0])[:32])
        self._state.dash = dash if any(value > 0 for value in dash) else ()

    def _set_extended(self, values: Operands) -> None:
        told = self._resource("/ExtGState", values[0])
        state = self._state
        if "/LW" in told:
            state.width = float(told["/LW"])
        if "/D" in told:
            self._set_dash(list(told["/D"]))
        if "/CA" in told:
            state.stroke.alpha = float(told["/CA"])
        if "/ca" in told:
            state.fill.alpha = float(told["/ca"])
        if "/Font" in told:
            state.font, state.size = self._budget.font(told["/Font"][0]), float(told["/Font"][1])

    def _resource(self, kind: str, name: Any) -> Any:
        return self._resources[kind][str(name)]

    def _colour_space(self, name: str) -> Any:
        known = self._resources.get("/ColorSpace", {}) if self._resources else {}
        return known.get(name, name)

    # ----------------------------------------------------------------------------- path

    def _at(self, x: Any, y: Any) -> Point:
        m = self._state.ctm
        x, y = float(x), float(y)
        point = m.a * x + m.c * y + m.e, m.b * x + m.d * y + m.f
        if not (-_FAR < point[0] < _FAR and -_FAR < point[1] < _FAR):
            raise ValueError(point)
        return point

    def _move(self, v: Operands) -> None:
        self._here = self._at(v[0], v[1])
        self._subpaths.append(Subpath(self._here))

    def _add(self, *points: Point) -> None:
        if not self._subpaths:
            raise ValueError("no current point")
        if self._subpaths[-1].closed:  # a line after a closed one begins where that one began
            self._subpaths.append(Subpath(self._subpaths[-1].start))
        self._subpaths[-1].segments.append(points)
        self._here = points[-1]

    def _line(self, v: Operands) -> None:
        self._add(self._at(v[0], v[1]))

    def _lines(self, v: Operands) -> None:
        m, path = self._state.ctm, self._subpaths[-1] if self._subpaths else None
        far = max(max(v), -min(v))
        far = max((abs(m.a) + abs(m.c)) * far + abs(m.e), (abs(m.b) + abs(m.d)) * far + abs(m.f))
        if path is not None and not len(path) and not path.closed and far < _FAR:
            path.row = v, m
            self._here = self._at(v[-2], v[-1])
            return
        for pair in zip(v[::2], v[1::2], strict=True):
            try:
                self._line(pair)
            except ValueError:
                self.counts["operators"] += 1

    def _curve(self, v: Operands) -> None:
        self._add(self._at(v[0], v[1]), self._at(v[2], v[3]), self._at(v[4], v[5]))

    def _curve_from(self, v: Operands) -> None:
        self._add(self._here, self._at(v[0], v[1]), self._at(v[2], v[3]))

    def _curve_to(self, v: Operands) -> None:
        end = self._at(v[2], v[3])
        self._add(self._at(v[0], v[1]), end, end)

    def _close(self, _: Operands) -> None:
        if self._subpaths:
            self._subpaths[-1].closed = True
            self._here = self._subpaths[-1].start

    def _rectangle(self, v: Operands) -> None:
        x, y, width, height = (float(value) for value in v[:4])
        self._move((x, y))
        for corner in ((x + width, y), (x + width, y + height), (x, y + height)):
            self._line(corner)
        self._close(v)

    # ------------------------------------------------------------------------- painting

    def _paint(self, *, stroke: bool = False, fill: bool = False, close: bool = False) -> None:
        if close:
            self._close(())
        state, subpaths, rule = self._state, self._subpaths, self._clip_rule
        self._subpaths, self._clip_rule = [], None
        if stroke and (is_white(state.stroke.colour) or state.stroke.alpha <= 0.0):
            self.counts["white"] += len(subpaths)
        elif stroke or fill:
            self._add_lines(subpaths, self._look(filled=not stroke))
        if rule is not None:
            chains = (tidy_chain(one.start, one.segments, True) for one in subpaths)
            path = [one for one in chains if one is not None]
            if self._budget.takes_clip(path):
                state.clip = clip_to(state.clip, path, even_odd=rule)
            else:
                self.counts["clips"] += 1

    def _look(self, *, filled: bool) -> Look:
        state = self._state
        if filled:
            return Look(state.fill.colour, filled=True)
        scale = math.sqrt(abs(state.ctm.a * state.ctm.d - state.ctm.b * state.ctm.c))
        dash = tuple(round(abs(part) * scale, 4) for part in state.dash)
        dash = dash * 2 if len(dash) % 2 else dash
        return Look(state.stroke.colour, round(abs(state.width) * scale, 4), dash)

    def _add_lines(self, subpaths: Sequence[Subpath], look: Look) -> None:
        if look.filled and (is_white(look.colour) or self._state.fill.alpha <= 0.0):
            self.counts["white areas"] += len(subpaths)
            return
        clip, layers = self._state.clip, self._layers.names
        at = self._paintings = self._paintings + 1
        self._painted += [Painted(path, look, clip, layers, at) for path in subpaths]
        self._waiting += sum(map(len, subpaths))
        if self._waiting > _MOST_WAITING:
            self._draw_waiting()

    def _draw_waiting(self) -> None:
        """Draw what was painted: much of it at once is quick."""
        take = self._budget.take_line
        self.lines += drawn_lines(self._painted, self._number, take, self.counts)
        self._painted, self._waiting = [], 0

    # ------------------------------------------------------------- marks, forms, pictures

    def _begin_marked(self, values: Operands) -> None:
        names: Sequence[str] = ()
        try:
            if str(values[0]) == "/OC":
                content = values[1]
                if isinstance(content, pikepdf.Name):
                    content = self._resource("/Properties", content)
                names = self._read_layers(content)
        finally:
            self._layers.begin(names)

    def _read_layers(self, content: Any) -> Sequence[str]:
        self.counts["shown without"] += is_shown_without(content)
        return names_in(content)

    def _do(self, values: Operands) -> None:
        thing = self._resource("/XObject", values[0])
        if str(thing.get("/Subtype", "")) != "/Form":
            self.counts["pictures"] += 1
        elif len(self._forms) >= DEEPEST_FORM or thing.objgen in self._forms:
            self.counts["forms"] += 1
        else:
            self._draw_form(thing, self._layers.within(self._read_layers(thing.get("/OC"))))

    def _draw_form(self, form: Any, layers: LayerStack) -> None:
        self._forms.append(form.objgen)
        outer = self._state, self._kept, self._layers, self._subpaths, self._text
        self._state, self._kept = self._state.kept(), []
        self._layers, self._subpaths, self._text = layers, [], TextPlace()
        try:
            self._state.ctm = self._state.ctm @ read_matrix(form.get("/Matrix"))
            self._clip_to_box(form.get("/BBox"))
            self._run_stream(form, form.get("/Resources", self._resources))
        finally:
            self._state, self._kept, self._layers, self._subpaths, self._text = outer
            self._forms.pop()

    def _clip_to_box(self, box: Any) -> None:
        if box is not None:
            left, bottom, right, top = (float(value) for value in box)
            self._rectangle((left, bottom, right - left, top - bottom))
            self._clip_rule = False
            self._paint()

    # ----------------------------------------------------------------------------- text

    def _text_operators(self) -> dict[str, Callable[[Operands], None]]:
        def put(name: str, factor: float = 1.0) -> Callable[[Operands], None]:
            return lambda v: setattr(self._state, name, float(v[0]) * factor)

        return {
            "BT": lambda _: self._text.begin(),
            "Tf": self._set_font,
            "Tc": put("char"),
            "Tw": put("word"),
            "Tz": put("stretch", 0.01),
            "TL": put("leading"),
            "Ts": put("rise"),
            "Tr": lambda v: setattr(self._state, "mode", int(v[0])),
            "Tm": lambda v: self._text.put(read_matrix(v)),
            "Td": lambda v: self._text.next_line(float(v[0]), float(v[1])),
            "TD": self._next_line_with_leading,
            "T*": lambda _: self._text.next_line(0.0, -self._state.leading),
            "Tj": lambda v: self._show([v[0]]),
            "TJ": lambda v: self._show(list(v[0])),
            "'": self._show_on_next_line,
            '"': self._show_spaced,
        }

    def _set_font(self, values: Operands) -> None:
        self._state.font, self._state.size = None, float(values[1])
        self._state.font = self._budget.font(self._resource("/Font", values[0]))

    def _next_line_with_leading(self, values: Operands) -> None:
        self._state.leading = -float(values[1])
        self._text.next_line(float(values[0]), float(values[1]))

    def _show_on_next_line(self, values: Operands) -> None:
        self._text.next_line(0.0, -self._state.leading)
        self._show([values[0]])

    def _show_spaced(self, values: Operands) -> None:
        self._state.word, self._state.char = float(values[0]), float(values[1])
        self._show_on_next_line(values[2:])

    def _show(self, parts: Sequence[Any]) -> None:
        shown = [bytes(p) if isinstance(p, pikepdf.String) else float(p) for p in parts]
        for run in part_texts(shown, self._state):
            self._show_run(run)

    def _show_run(self, shown: Sequence[bytes | float]) -> None:
        state = self._state
        words, start, along, unknown = self._text.show(shown, state)
        self.counts["letters"] += unknown
        filled = state.mode not in (1, 5)
        colour = state.fill.colour if filled else state.stroke.colour
        if state.mode in _UNSEEN_TEXT or is_white(colour):
            self.counts["unseen texts"] += 1
            return
        at, height, width, angle = placed_text(words, start, along, state.size)
        left, bottom, right, top = state.clip.box
        if not (left <= at[0] <= right and bottom <= at[1] <= top):
            return
        self._budget.take_text(words)
        look = Look(colour, filled=True)
        for layer in self._layers.names:
            self._texts.append(
                DrawnText(words, at, height, angle, width, look, layer, self._number)
            )
