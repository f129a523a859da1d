"""Options of reading DXF that are a choice of words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args, get_type_hints

__all__ = ["CHOICES", "dxf_choices"]

CHOICES = ("boundary", "deltas", "axis", "mirror", "quantity", "corners", "darts")


def dxf_choices() -> Mapping[str, tuple[str, ...]]:
    """The options of the DXF reader that are a choice of words, with their words."""
    from propagate.io.dxf.options import ReadOptions

    hints = get_type_hints(ReadOptions)
    return {key: get_args(hints[key]) for key in CHOICES}
