"""Results that several tests of the pictures share."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

import propagate
from tests.shared import blended

JOBS: Mapping[str, Mapping[str, str]] = {
    "slant_trouser": {"waist": "42", "hip": "46"},
    "scoop_skirt": {"natural_waist": "L", "seat": "S"},
}


@pytest.fixture(scope="session")
def results() -> dict[str, propagate.Result]:
    return {name: blended(name, *sizes.values()) for name, sizes in JOBS.items()}
