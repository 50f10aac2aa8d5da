"""The bench page: its markup, its look and its scripts, each in a file of its own, put together here; it computes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib import resources

# In the order in which a browser needs them; all share one scope.
SCRIPTS = (
    "elements",
    "asking",
    "passes",
    "home",
    "reading",
    "strip",
    "turns",
    "broken",
    "sound",
    "live",
    "ear",
    "begin",
)
HEAD = '<title>At the stand</title>\n<link rel="stylesheet" href="page.css">\n<script src="page.js" defer></script>'
FOOT = "<noscript>This page needs JavaScript; without it use: wheelcalc true FILE READINGS.csv</noscript>"


@cache
def markup() -> str:
    """Return the page's HTML, as it is served."""
    return markup_with(HEAD, FOOT)


def markup_with(head: str, foot: str) -> str:
    """Return the page's HTML.

    Parameters
    ----------
    head : what its head holds besides
    foot : what follows the screen
    """
    return _text("page.html").replace("{head}", head, 1).replace("{foot}", foot, 1)


@cache
def look() -> str:
    """Return the page's CSS."""
    return _text("page.css")


@cache
def script(names: Sequence[str] = SCRIPTS) -> str:
    """Return the page's JavaScript, its files in one."""
    return "".join(['"use strict";\n', *(_text(f"{name}.js") for name in names)])


@cache
def microphone() -> str:
    """Return the JavaScript that runs where the sound arrives, beside the page."""
    return _text("microphone.js")


def _text(name: str) -> str:
    return (resources.files("wheelcalc.paper.bench") / name).read_text(encoding="utf-8")
