"""The work sheet as plain values, for ``--json``."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from propagate.report.worksheet.value import WorkSheet

__all__ = ["sheet_plain"]


def sheet_plain(sheet: WorkSheet) -> dict[str, Any]:
    """Everything that the sheet says; lengths in mm, angles in degrees, texts in its unit."""
    plain = asdict(sheet)
    plain["unit"] = sheet.unit.name
    for step in plain["steps"]:
        for sentence in step["sentences"]:
            sentence["measures"] = dict(sentence["measures"])
    return plain
