"""What `show` says of an ease, in each of its forms, in both units."""

from __future__ import annotations

from dataclasses import replace

import pytest

from propagate.pattern.ease import Ease
from propagate.report.set_plain import set_plain
from propagate.report.set_text import set_lines
from propagate.report.units import MILLIMETRES, unit_of
from tests.builders import tiny_set


def eased(ease: float | Ease):
    pattern = tiny_set()
    seam = replace(pattern.relations.seams["side_seam"], ease=ease)
    return replace(pattern, relations=replace(pattern.relations, seams={"side_seam": seam}))


@pytest.mark.parametrize(
    ("ease", "said", "amount"),
    [
        (6.0, "ease 6.0 mm", 6.0),
        (Ease(share=0.035), "ease 3.5% of the length", None),
        (Ease(between=(15.0, 25.0)), "ease 15.0 mm to 25.0 mm", None),
        (
            Ease(sizes=(("36", 5.0), ("38", Ease(share=0.01)), ("40", 6.0))),
            "ease 5.0 mm in size 36, 1% of the length in size 38, 6.0 mm in size 40",
            None,
        ),
        (
            Ease(zones=(("front.hip_notch", 0.0), ("end", 12.0))),
            "ease 0.0 mm up to front.hip_notch, 12.0 mm up to end",
            None,
        ),
    ],
)
def test_show_says_it_in_words(ease: float | Ease, said: str, amount: float | None) -> None:
    text = " ".join(" ".join(set_lines(eased(ease), MILLIMETRES)).split())
    assert said in text
    (row,) = set_plain(eased(ease))["seams"]
    assert row["ease_mm"] == amount and ("ease" in row) == (amount is None)


def test_in_inches() -> None:
    text = " ".join(set_lines(eased(Ease(between=(12.7, 25.4))), unit_of("in")))
    assert "0.5" in text or "1/2" in text
