"""Pages of the demo sets and of a hostile one, and a browser to drive them."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import propagate
from propagate.report.page import report_page
from tests.page.hostile import hostile_set
from tests.shared import blended, demo

ARGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
NAMES = ("chromium", "chromium-browser", "google-chrome")


def browser_path() -> str | None:
    named = os.environ.get("PROPAGATE_TEST_BROWSER")
    return named or next((found for name in NAMES if (found := shutil.which(name))), None)


@cache
def page_of_the_skirt() -> str:
    return report_page(demo("scoop_skirt"), unit="in")


@cache
def page_of_hostile_names() -> str:
    return report_page(hostile_set())


@pytest.fixture(scope="session")
def trouser() -> propagate.Result:
    return blended("slant_trouser", "42", "48")


@pytest.fixture(scope="session")
def page_text(trouser: propagate.Result) -> str:
    return report_page(trouser)


@pytest.fixture(scope="session")
def pages(page_text: str, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pages")
    texts = {
        "result": page_text,
        "set": page_of_the_skirt(),
        "hostile": page_of_hostile_names(),
    }
    for name, text in texts.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in texts}


@dataclass
class Opened:
    """A page in the browser, with what it said and asked for meanwhile."""

    page: Any
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


Open = Callable[..., Opened]


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    path = browser_path()
    if path is None:
        pytest.skip("no Chromium on this machine")
    api = pytest.importorskip("playwright.sync_api", reason="no browser driver installed")
    with api.sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=path, headless=True, args=list(ARGS))
        yield opened
        opened.close()


@pytest.fixture
def open_page(browser: Any, pages: dict[str, Path]) -> Iterator[Open]:
    """Open a page; at the end it must have said nothing and asked nobody for anything."""
    contexts, views = [], []

    def opened(name: str = "result", width: int = 1280, height: int = 900, **more: Any) -> Opened:
        path = pages.get(name) or Path(name)
        context = browser.new_context(viewport={"width": width, "height": height}, **more)
        contexts.append(context)
        view = Opened(context.new_page())
        views.append(view)
        view.page.on("console", lambda message: view.said.append(message.text))
        view.page.on("pageerror", lambda error: view.said.append(str(error)))
        view.page.on("request", lambda request: view.asked.append(request.url))
        view.page.goto(path.as_uri())
        return view

    yield opened
    for view in views:
        assert view.said == []
        assert len(view.asked) == 1, view.asked
        assert view.asked[0].startswith("file:")
    for context in contexts:
        context.close()
