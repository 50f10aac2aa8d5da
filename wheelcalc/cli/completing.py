"""What the shell completes on the Tab key: keys of the build file, tables, readings, parts of a drawer. Nothing here loads numpy."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import click
    from click.shell_completion import CompletionItem

    from wheelcalc.build.section import Key
    from wheelcalc.files.drawer import Part

PART = ".part"  # ends a key that takes a part of a drawer by its name


def settings(context: click.Context, _parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Complete KEY= for --set, and behind it the words that the key takes: of a part, those of the drawers named before."""
    from wheelcalc.files.keys import keys  # noqa: PLC0415 - only a shell that completes needs it

    key, equals, _value = incomplete.partition("=")
    if not equals:
        return _offered(incomplete, ((f"{name}=", each.how) for name, each in keys().items()))
    known = keys().get(key)
    return _offered(incomplete, ((f"{key}={word}", "") for word in _words(context, key, known))) if known else []


def answer(key: str) -> Callable[..., list[CompletionItem]]:
    """Return what completes the value of one key."""

    def words(context: click.Context, _parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
        from wheelcalc.files.keys import keys  # noqa: PLC0415 - only a shell that completes needs it

        return _offered(incomplete, ((word, "") for word in _words(context, key, keys()[key])))

    return words


def kept(context: click.Context, _parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Complete PART= for --keep, and behind it the names that its drawers have, to be written anew."""
    from wheelcalc.files.drawer import SECTIONS  # noqa: PLC0415 - only a shell that completes needs it

    kinds = [(f"{kind}=", "") for kind in SECTIONS.values()]
    return _offered(incomplete, [*kinds, *((f"{part.kind}={part.name}", "") for part in _parts(context))])


def readings(_context: click.Context, _parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Complete the names that `measure --how` explains."""
    from wheelcalc.files.how import topics  # noqa: PLC0415 - only a shell that completes needs it

    return _offered(incomplete, ((name, "") for name in topics()))


def tables(_context: click.Context, _parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Complete the names of the tables, `keys` and `schema` among them."""
    from wheelcalc.files.tables import names, title  # noqa: PLC0415 - only a shell that completes needs it

    own = {"keys": "every key of the build file", "schema": "JSON Schema of the build file, or of an answer"}
    return _offered(incomplete, {**{name: title(name) for name in names()}, **own}.items())


def with_schema(context: click.Context, _parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Complete the commands whose answers have a schema, behind `tables schema`."""
    from wheelcalc.files.schema import OF_FILES, of_answers  # noqa: PLC0415 - only a shell that completes needs it

    names = [*OF_FILES, *of_answers()] if context.params["table"] == "schema" else []
    return _offered(incomplete, ((name, "") for name in names))


def _offered(incomplete: str, words: Iterable[tuple[str, str]]) -> list[CompletionItem]:
    """Return the words that begin so, each with what it is."""
    from click.shell_completion import CompletionItem  # noqa: PLC0415 - only a shell that completes needs it

    return [CompletionItem(word, help=text or None) for word, text in words if word.startswith(incomplete)]


def _words(context: click.Context, key: str, known: Key) -> Iterable[str]:
    if key.endswith(PART):
        kind = "hub" if key == "old_wheel.hub.part" else key.removesuffix(PART)
        return [part.name for part in _parts(context) if part.kind == kind]
    return ("true", "false") if known.kind == "flag" else known.choices


def _parts(context: click.Context) -> Iterator[Part]:
    """Yield the parts of the drawers named on the line; a drawer that cannot be read has none."""
    import tomllib  # noqa: PLC0415 - only a shell that completes needs it
    from pathlib import Path  # noqa: PLC0415

    from wheelcalc.files.drawer import drawer_of  # noqa: PLC0415
    from wheelcalc.wheel.errors import InputError  # noqa: PLC0415

    for name in context.params.get("drawers") or ():
        with contextlib.suppress(OSError, ValueError, InputError), Path(name).open("rb") as file:
            yield from drawer_of(tomllib.load(file), name)
