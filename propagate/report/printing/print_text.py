"""What was printed, in words and as plain data."""

from __future__ import annotations

from typing import Any

from propagate.counts import say_count
from propagate.report.printing.plan import PrintOptions
from propagate.report.printing.print_file import PrintSummary

__all__ = ["print_lines", "print_plain"]


def print_lines(out: str, summary: PrintSummary, options: PrintOptions) -> list[str]:
    """What is on which paper."""
    sizes = f"size{'' if len(summary.sizes) == 1 else 's'} {', '.join(summary.sizes)}"
    said = options.unit.said
    where = f"{said(summary.width)} × {said(summary.height)}"
    what = "assembled" if options.chosen == "tiled" else "the largest"
    left = f", {summary.left_out} blank left out" if summary.left_out else ""
    pages = f"{say_count(summary.pages, 'page')} of {options.paper.name}{left}; {what} {where}"
    return [
        f"{out}: {say_count(len(summary.pieces), 'piece')}, {sizes}",
        f"  one page of {where}" if options.chosen == "one" else f"  {pages}",
        "",
    ]


def print_plain(summary: PrintSummary, options: PrintOptions) -> dict[str, Any]:
    """What was printed, as plain data."""
    return {
        "paper": options.paper.name,
        "layout": options.chosen,
        "pages": summary.pages,
        "left_out": summary.left_out,
        "width_mm": summary.width,
        "height_mm": summary.height,
        "pieces": list(summary.pieces),
        "sizes": list(summary.sizes),
        "names": options.names,
        "used": summary.used,
        "missing_characters": list(summary.missing),
    }
