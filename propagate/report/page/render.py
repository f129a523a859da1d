"""Fill the page's templates; everything is escaped, nothing is fetched."""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from propagate.counts import say_count
from propagate.report.page.drawn import looks_style, write_number
from propagate.report.page.words import clean_text, cut_short
from propagate.values import dataclass

__all__ = ["ASKING", "render_page"]


@dataclass(frozen=True)
class Kind:
    """What a kind of page is made of: a template, style sheets and scripts, by file name."""

    template: str
    styles: tuple[str, ...]
    scripts: tuple[str, ...]


_REPORT = Kind(
    "page.html.j2",
    ("page.css",),
    (
        *("core.js", "layers.js", "viewer.js", "measure.js", "walk.js", "choose.js", "find.js"),
        *("steps.js", "main.js"),
    ),
)
ASKING = Kind("asking.html.j2", ("page.css", "asking.css"), ("asking.js",))


@lru_cache(maxsize=1)
def _make_environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("propagate.report.page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_clean_value,
    )
    environment.filters |= {"short": write_number, "cut_short": cut_short, "counted": say_count}
    return environment


def _clean_value(value: Any) -> Any:
    """Clean texts from a set of what a page cannot hold; markup of our own stays as it is."""
    return clean_text(value) if isinstance(value, str) and not isinstance(value, Markup) else value


@lru_cache(maxsize=2)
def _read_assets(kind: Kind) -> tuple[str, str]:
    folder = files("propagate.report.page") / "assets"
    styles = "\n".join((folder / name).read_text("utf-8") for name in kind.styles)
    scripts = "\n".join((folder / name).read_text("utf-8") for name in kind.scripts)
    return f"{looks_style()}\n{styles}", f'"use strict";\n(() => {{\n{scripts}}})();\n'


def render_page(kind: Kind = _REPORT, *, data: str, **values: Any) -> str:
    """Render a page.

    Parameters
    ----------
    data : str
        JSON for the script, with ``<``, ``>`` and ``&`` written as escapes.
    **values
        What the templates ask for.

    Notes
    -----
    The page's own policy lets only this one script run, by its hash, and lets nothing be
    fetched from anywhere.
    """
    style, script = _read_assets(kind)
    digest = base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")
    policy = (
        f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'unsafe-inline'; "
        "base-uri 'none'; form-action 'none'"
    )
    template = _make_environment().get_template(kind.template)
    return template.render(
        **values,
        policy=policy,
        style=Markup(style),
        script=Markup(script),
        data=Markup(data),
    )
