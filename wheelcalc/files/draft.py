"""A build file that is still being written: what it says so far, one more answer, one answer back."""

from __future__ import annotations

import codecs
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build
from wheelcalc.files import typed, values
from wheelcalc.files.buildfile import (
    LARGEST_FILE,
    build_of,
    in_file,
    key_of,
    parsed,
    raw_values,
    refuse_drawer,
    with_parts,
)
from wheelcalc.files.bytes import bytes_of
from wheelcalc.files.drawer import Part
from wheelcalc.files.keys import keys
from wheelcalc.files.whole import write_whole
from wheelcalc.files.writing import insert, replace
from wheelcalc.wheel.errors import LONGEST_ECHO, InputError, printable
from wheelcalc.wheel.parts import SIDES

HEAD = """\
#:schema ./build-file.schema.json
# Editors complete keys once that file is there: wheelcalc tables schema -o build-file.schema.json
# A build file of wheelcalc, begun by `wheelcalc start`. It is yours: change, add and comment as you like.
# A bare number is mm, N, g, degrees or a count; text carries its unit: "5 1/2 in", "120 kgf". A list in square
# brackets is one dimension read several times. left and right are the rider's, facing forward.
# What is not here yet, `wheelcalc start` asks for when it is run on this file again.

"""


class Draft:
    """A build file on its way; on disk after every answer, whole.

    Parameters
    ----------
    path : the file; it may exist already
    parts : of drawers, which the build may take by name
    """

    def __init__(self, path: Path, parts: Sequence[Part] = ()) -> None:
        self.path, self.parts = path, parts
        self._name = printable(str(path), LONGEST_ECHO)
        self._bom = False
        self._seen: bytes | None = None
        self.text = self._on_disk() or HEAD
        self._read()

    def _read(self) -> None:
        """Take in what the text says, or raise `InputError` that names the file."""
        tree = parsed(self.text.encode())
        with in_file(str(self.path)):
            refuse_drawer(tree, _beside_a_drawer(self._name))
            self.own = raw_values(tree)
            self.given = with_parts(self.own, self.parts)
            tool = str(self.given.get("measuring.tool", "rule")).strip().lower()
            single = {path: values.read(path, key_of(path), raw, tool) for path, raw in self.given.items()}
        self.fault: InputError | None = None
        try:
            self.build = build_of(tree, "", (), self.parts).build
        except InputError as error:
            self.fault = error
            self.build = Build({**single, **_defaults(single)})

    def has(self, key: str) -> bool:
        """Whether the file itself, or a part that it takes, says something of a key, for both sides where it may differ."""
        sides = [f"{key}.{side}" for side in SIDES]
        return key in self.given or (key in keys() and keys()[key].per_side and all(s in self.given for s in sides))

    def answer(self, key: str) -> str:
        """Return what the file itself says of a key, as one would type it; empty where it says nothing."""
        if key in self.own:
            return typed.answer_of(self.own[key])
        sides = {side: self.own.get(f"{key}.{side}") for side in SIDES}
        return "" if None in sides.values() else typed.answer_of(sides)

    def answered(self, key: str, answer: str, comment: str = "", *, instead: bool = False) -> str:
        """Return the file's text with a typed answer put in; as it is where the same stands there.

        Parameters
        ----------
        key, answer : what was asked and typed
        comment : one sentence, written beside it
        instead : whether it may take the place of what stands there

        Raises
        ------
        InputError
            If the answer cannot be used, alone or beside the others.
        """
        value = typed.value_of(key, keys()[key], answer, self.build.measuring.tool)
        if raw_values(parsed(insert("", key, value).encode())).items() <= self.given.items():
            return self.text
        stands = instead and self.answer(key)
        text = replace(self.text, key, value) if stands else insert(self.text, key, value, comment)
        self._check(key, text)
        return text

    def _check(self, key: str, text: str) -> None:
        """Refuse an answer that cannot stand beside the others; what only lacks another key may stand."""
        try:
            build_of(parsed(text.encode()), "", (), self.parts)
        except InputError as error:
            of_given = any(each == error.key or each.startswith(f"{error.key}.") for each in [key, *self.given])
            if of_given and str(error) != str(self.fault):
                raise

    def take(self, text: str) -> None:
        """Go on with another text (of `answered`, or an earlier one)."""
        self.text = text
        self._read()

    def save(self) -> None:
        """Write the text to disk, whole or not at all."""
        try:
            if self._seen != self._bytes():
                raise InputError("-o", f'"{self._name}" was changed by another program meanwhile; begin again')
            text = ("\ufeff" if self._bom else "") + self.text
            write_whole(self.path, text, over=self._seen is not None)
            self._seen = text.encode()
        except FileExistsError:
            raise InputError("-o", f'"{self._name}" was begun by another program meanwhile; begin again') from None
        except OSError as error:
            reason = error.strerror or str(error)
            raise InputError(
                "-o", f'"{self._name}" cannot be written ({reason}); name a file in a folder that can be'
            ) from None

    def refresh(self) -> bool:
        """Take in what an editor changed on disk meanwhile; True where it did."""
        on_disk = self._on_disk()
        if on_disk is None or on_disk == self.text:
            return False
        self.take(on_disk)
        return True

    def _on_disk(self) -> str | None:
        data = self._seen = self._bytes()
        if data is None or not data.strip():
            return None
        with in_file(str(self.path)):
            parsed(data)
        self._bom = data.startswith(codecs.BOM_UTF8)
        return data.decode("utf-8-sig")

    def _bytes(self) -> bytes | None:
        """What lies on disk, no more of it than a build file may have; None where there is nothing."""
        if not self.path.exists():
            return None
        if not self.path.is_file():
            raise InputError("-o", f'"{self._name}" is no plain file; name one')
        with in_file(str(self.path)):
            return bytes_of(self.path, LARGEST_FILE, "a build file")


def _beside_a_drawer(name: str) -> str:
    start = f"wheelcalc start wheel.toml --parts {name}"
    return f'name another file for the wheel: `{start}` asks which of its parts to take, and with --keep rim="NAME" puts that rim into it'


def _defaults(single: dict[str, Dimension]) -> dict[str, Dimension]:
    """What is taken where the file is silent, while the file cannot yet be read as a whole."""
    out: dict[str, Any] = {}
    for path, key in keys().items():
        if key.default is not None:
            for full in [f"{path}.{side}" for side in SIDES] if key.per_side else [path]:
                if full not in single:
                    out[full] = Dimension(key.default, 0.0, "default")
    return out
