"""Annotations that a viewer draws on a page (ISO 32000-1, 12.5)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from propagate.geometry.affine import Affine
from propagate.io.pdf.limits import NOT_READABLE
from propagate.io.pdf.state import read_box, read_matrix
from propagate.io.pdf.words import is_stream

__all__ = ["list_appearances"]

MOST_ANNOTATIONS = 5_000
_INVISIBLE, _HIDDEN, _NO_VIEW = 1, 2, 32
"""Flags by which an annotation is not seen."""
_SIGNS = ("/Link", "/Popup", "/Text", "/Sound", "/FileAttachment", "/Movie", "/Screen")
"""Kinds whose picture, if they have one, is a sign to click on, no part of a drawing."""


def list_appearances(page: Any, counts: Counter[str]) -> Iterator[tuple[Any, Affine, Any]]:
    """What annotations draw: the form, where it is put, and the layer that it is in.

    Parameters
    ----------
    page : pikepdf.Object
    counts : Counter
        Takes annotations that are not read, by a word for them.
    """
    try:
        annotations = list(page.get("/Annots") or ())[:MOST_ANNOTATIONS]
    except NOT_READABLE:
        counts["annotations"] += 1
        return
    for one in annotations:
        try:
            kind, flags = str(one.get("/Subtype", "")), int(one.get("/F", 0))
            if kind in _SIGNS or flags & (_HIDDEN | _NO_VIEW | _INVISIBLE):
                continue
            form = _find_form(one)
            placed = None if form is None else _find_place(form, one)
        except NOT_READABLE:
            form = placed = None
        if placed is None:
            counts["annotations"] += 1
        else:
            yield form, placed, one.get("/OC")


def _find_form(annotation: Any) -> Any:
    """The normal appearance, of the state that it is in."""
    form = annotation["/AP"]["/N"]
    if not is_stream(form):
        form = form[str(annotation.get("/AS", "/Off"))]
    return form if is_stream(form) else None


def _find_place(form: Any, annotation: Any) -> Affine:
    """From the space of a form to that of the page: its box fills the rectangle (12.5.5)."""
    left, bottom, right, top = read_box(form["/BBox"])
    x, y, far_x, far_y = read_box(annotation["/Rect"])
    m = read_matrix(form.get("/Matrix"))
    corners = [
        (m.a * u + m.c * v + m.e, m.b * u + m.d * v + m.f)
        for u in (left, right)
        for v in (bottom, top)
    ]
    low = min(p[0] for p in corners), min(p[1] for p in corners)
    wide, tall = max(p[0] for p in corners) - low[0], max(p[1] for p in corners) - low[1]
    a, d = ((far_x - x) / wide if wide else 1.0), ((far_y - y) / tall if tall else 1.0)
    return Affine(a=a, d=d, e=x - a * low[0], f=y - d * low[1])
