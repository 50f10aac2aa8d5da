"""The bench page: its markup, its look and its scripts, each in a file of its own, put together here; it computes nothing."""

from __future__ import annotations

from functools import cache
from importlib import resources

# In the order in which a browser needs them; all share one scope.
SCRIPTS = ("elements", "asking", "passes", "home", "reading", "strip", "turns", "broken", "sound", "begin")


@cache
def markup() -> str:
    """Return the page's HTML."""
    return _text("page.html")


@cache
def look() -> str:
    """Return the page's CSS."""
    return _text("page.css")


@cache
def script() -> str:
    """Return the page's JavaScript, all of its files in one."""
    return "".join(['"use strict";\n', *(_text(f"{name}.js") for name in SCRIPTS)])


def _text(name: str) -> str:
    return (resources.files("wheelcalc.paper.bench") / name).read_text(encoding="utf-8")
