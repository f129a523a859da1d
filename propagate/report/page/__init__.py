"""The report page: one self-contained HTML file to look at a result in a browser."""

from __future__ import annotations

from propagate.report.page.build import report_page

__all__ = ["report_page"]
