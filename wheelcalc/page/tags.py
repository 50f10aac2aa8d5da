"""HTML text by text: what is not marked as HTML is escaped, so that nothing a user typed becomes markup."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape

Content = "Html | str | float | int | Iterable[Content] | None"

EMPTY_TAGS = frozenset({"br", "col", "hr", "meta"})


class Html(str):
    """Text that is HTML already."""

    __slots__ = ()


def tag(name: str, /, *content: object, **attributes: object) -> Html:
    """Return an element; strings inside are escaped unless they are `Html`.

    Parameters
    ----------
    name : of the element
    content : text, numbers, elements, or lists of them
    attributes : a trailing underscore is taken off, others become hyphens (class_="wide", aria_label="left")
    """
    given = {key.rstrip("_").replace("_", "-"): value for key, value in attributes.items() if value is not None}
    head = "".join(f' {key}="{escape(str(value))}"' for key, value in given.items())
    return Html(f"<{name}{head}>" if name in EMPTY_TAGS else f"<{name}{head}>{joined(content)}</{name}>")


def joined(content: object) -> Html:
    """Return content of any kind as HTML."""
    if content is None:
        return Html("")
    if isinstance(content, Html):
        return content
    if isinstance(content, str):
        return Html(escape(content))
    if isinstance(content, Iterable):
        return Html("".join(joined(each) for each in content))
    return Html(escape(str(content)))


def in_css(text: str) -> str:
    """Return text as a CSS string; every sign that is not a plain letter or digit by its number."""
    return '"' + re.sub(r"[^A-Za-z0-9]", lambda match: f"\\{ord(match[0]):06x}", text) + '"'


def table(
    headers: Sequence[object], rows: Iterable[Sequence[object]], class_: str = "", caption: str | None = None
) -> Html:
    """Return a table; its header is repeated on each page, the first cell of a row heads the row."""
    head = tag("thead", tag("tr", [tag("th", each, scope="col") if each else tag("td") for each in headers]))
    body = [tag("tr", tag("th", first, scope="row"), [tag("td", each) for each in rest]) for first, *rest in rows]
    named = tag("caption", caption) if caption else ""
    return tag("table", named, head, tag("tbody", body), class_=class_ or None)


def listed(items: Iterable[object], class_: str = "", ordered: bool = False) -> Html:
    """Return a list."""
    return tag("ol" if ordered else "ul", [tag("li", each) for each in items], class_=class_ or None)


def to_tick(items: Iterable[object], class_: str = "") -> Html:
    """Return a list with a box to tick before each item."""
    return tag("ul", [tag("li", BOX, tag("span", each)) for each in items], class_=f"tick {class_}".rstrip())


BOX = Html('<span class="box" role="img" aria-label="box to tick"></span>')


def blank(width_mm: float = 22.0) -> Html:
    """Return a line to write on."""
    return Html(f'<span class="blank" role="img" aria-label="to write in" style="width:{width_mm:g}mm"></span>')
