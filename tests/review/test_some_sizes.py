"""Sizes that were edited alone on purpose are not told as slips of the pen."""

from click.testing import CliRunner

from propagate.cli.app import cli
from propagate.demo import demo_path

TAKEN_IN = ("take-in", "edge=back.side", "by=12mm", "both=true")


def test_what_was_asked_for_in_one_size_is_no_mistake() -> None:
    path = str(demo_path("lined_skirt"))
    alone = CliRunner().invoke(cli, ["change", path, *TAKEN_IN, "--sizes", "12"])
    assert alone.exit_code == 0, alone.output
    assert "slipped" not in alone.output and "out of line" not in alone.output
