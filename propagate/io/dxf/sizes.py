"""The sizes of a style: their order and the base size."""

from __future__ import annotations

from collections.abc import Sequence

from propagate.errors import FormatError
from propagate.io.dxf.options import ReadOptions
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.rules import RuleTable
from propagate.io.dxf.style import Style, size_slug

__all__ = ["base_size", "ordered"]


def ordered(
    drawn: Sequence[list[str]], table: RuleTable | None, options: ReadOptions, notes: Notes
) -> tuple[str, ...]:
    """Return the sizes in the order of the nest and say what gave it."""
    present = list(dict.fromkeys(size for sizes in drawn for size in sizes))
    if options.sizes:
        unknown = [size for size in present if size not in options.sizes]
        if unknown:
            raise FormatError(
                f"found the sizes {', '.join(present)}, but the order asked for does not name "
                f"{', '.join(unknown)}; name every size"
            )
        return tuple(size for size in options.sizes if size in present)
    if table is not None and set(present) <= set(table.sizes):
        return tuple(size for size in table.sizes if size in present)
    try:
        by_value = sorted(present, key=float)
    except ValueError:
        if len(present) > 1:
            notes.info(
                f"the sizes stand in the order of the file: {', '.join(present)}", option="sizes"
            )
        return tuple(present)
    if by_value != present:
        notes.info(
            f"the sizes were put in order of their numbers: {', '.join(by_value)}", option="sizes"
        )
    return tuple(by_value)


def base_size(sizes: tuple[str, ...], style: Style, options: ReadOptions, notes: Notes) -> str:
    """Return the base size: as asked, as the rule table or the style says, else the middle."""
    stated = size_slug(style.words["sample size"]) if style.words.get("sample size") else ""
    for base, asked in (
        (options.base, True),
        (style.table.sample if style.table else "", False),
        (stated, False),
    ):
        if base in sizes:
            return base
        if base and asked:
            raise FormatError(f"found no size '{base}', expected one of {', '.join(sizes)}")
    base = sizes[len(sizes) // 2]
    notes.warn(f"the file names no sample size; '{base}' is taken", option="base")
    return base
