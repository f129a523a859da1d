"""What a review found, in words: in full for a walk, in short before an edit's result."""

from __future__ import annotations

from collections.abc import Sequence

from propagate.counts import say_count
from propagate.engine.review.finding import Finding
from propagate.report.layout import lay_heading, wrap_sentence
from propagate.visible import shell_word

__all__ = ["review_lines", "review_short_lines", "review_words"]

_FIRST = 3
"""Findings that are told before the result of an edit; a walk tells all."""


def review_words(findings: Sequence[Finding]) -> str:
    """Tell how many findings there are, for the first line of a walk; empty for none."""
    if not findings:
        return ""
    bad = sum(not finding.sews for finding in findings)
    words = say_count(len(findings), "likely mistake")
    return f"{words} in the set" + (f", {bad} of which WILL NOT SEW" if bad else "")


def review_lines(findings: Sequence[Finding]) -> list[str]:
    """Tell every finding, what does not sew first; nothing for none."""
    if not findings:
        return []
    return [*lay_heading("looks like a mistake in the set"), *_tell_findings(findings)]


def review_short_lines(findings: Sequence[Finding], path: str, what: str = "the set") -> list[str]:
    """Tell the first findings of a set that is edited, and where to read all of them."""
    if not findings:
        return []
    lines = wrap_sentence(
        f"Before the result: {say_count(len(findings), 'likely mistake')} in {what}"
    )
    lines += _tell_findings(findings[:_FIRST])
    if len(findings) > _FIRST:
        lines += [f"  {len(findings) - _FIRST} more: propagate walk {shell_word(path)}"]
    return [*lines, ""]


def _tell_findings(findings: Sequence[Finding]) -> list[str]:
    lines: list[str] = []
    for finding in findings:
        verdict = "" if finding.sews else "WILL NOT SEW: "
        lines += wrap_sentence(f"- {verdict}{finding.where}: {finding.text}", 2, 2, clip=True)
    return lines
