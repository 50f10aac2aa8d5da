"""One more part in a drawer: what a build file says of its rim, hub, spokes or crank, under a name."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from wheelcalc.files.buildfile import in_file, name_of, parsed, tree_of
from wheelcalc.files.drawer import SECTIONS, drawer_of, together
from wheelcalc.files.whole import write_whole
from wheelcalc.files.writing import write_key
from wheelcalc.wheel.errors import InputError

HEAD = '# A drawer of own parts for wheelcalc (--parts). A build takes one with, for example, rim.part = "NAME".\n'
LISTS = {kind: section for section, kind in SECTIONS.items()}


def put_in(path: Path, kind: str, name: str, given: Mapping[str, Any]) -> None:
    """Write a part into a drawer, which is begun where there is none; all that lies in it stays.

    Parameters
    ----------
    path : of the drawer
    kind, name : "rim", "hub", "spokes" or "crank", and what it is to be called
    given : raw values of a build file by dotted key

    Raises
    ------
    InputError
        If the build says nothing of that part, the drawer has the name already, or cannot be written.
    """
    own = {key.removeprefix(f"{kind}."): value for key, value in given.items() if key.startswith(f"{kind}.")}
    own.pop("part", None)
    if not own:
        raise InputError("--keep", f"found {kind}, but the build file says nothing of it yet")
    before = "" if not path.exists() else path.read_text(encoding="utf-8-sig") if tree_of(path) else ""
    lines = [f"[[{LISTS[kind]}]]", write_key("name", name), *(write_key(key, value) for key, value in own.items())]
    text = (before.rstrip("\n") + "\n" if before else HEAD) + "\n" + "\n".join(lines) + "\n"
    with in_file(name_of(path)):
        together([drawer_of(parsed(text.encode()), name_of(path))])
        try:
            write_whole(path, text)
        except OSError as error:
            raise InputError("--keep", f"cannot be written ({error.strerror or error})") from None
