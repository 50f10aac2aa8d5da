"""A real browser without a window, one for all tests of a process; tests that need it are skipped where there is none."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
QUIET = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]


@contextmanager
def browser() -> Iterator[Any]:
    """A browser, driven by playwright."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        opened = started.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        try:
            yield opened
        finally:
            opened.close()


# Every text of a page's pictures: its words, the size of its letters and its box in pixels of the screen, whether it is turned, and
# the box of the picture it stands in.
TEXTS_OF_PICTURES = """() => [...document.querySelectorAll("svg")].flatMap((svg, number) => {
    const all = svg.getBoundingClientRect();
    return [...svg.querySelectorAll("text")].map(text => {
        const box = text.getBoundingClientRect(), matrix = text.getScreenCTM();
        return {
            picture: number, words: text.textContent,
            size: parseFloat(getComputedStyle(text).fontSize) * Math.hypot(matrix.a, matrix.b),
            left: box.left, right: box.right, top: box.top, bottom: box.bottom, turned: Math.abs(matrix.b) > 1e-6,
            inside: box.left >= all.left - 0.5 && box.right <= all.right + 0.5
                && box.top >= all.top - 0.5 && box.bottom <= all.bottom + 0.5,
        };
    });
})"""
