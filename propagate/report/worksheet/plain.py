"""The work sheet as plain values, for ``--json``."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from propagate.report.worksheet.value import CornerName, WorkSheet

__all__ = ["sheet_plain"]


def sheet_plain(sheet: WorkSheet) -> dict[str, Any]:
    """Everything that the sheet says; lengths in mm, angles in degrees, texts in its unit."""
    plain = asdict(sheet)
    plain["unit"] = sheet.unit.name
    for step in plain["steps"]:
        for sentence in step["sentences"]:
            sentence["measures"] = dict(sentence["measures"])
    for part in (*plain["steps"], *plain["pieces"]):
        for edge in part["edges"]:
            edge["offsets_from"] = _said(edge["offsets_from"])
        for corner in part.get("corners", ()):
            corner["name"] = _said(corner["name"])
    return plain


def _said(corner: dict[str, str] | None) -> str:
    """A corner's name in words; empty for none."""
    return "" if corner is None else str(CornerName(**corner))
