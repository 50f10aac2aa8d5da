"""A build file that is still being written: what it says so far, one more answer, one answer back."""

from __future__ import annotations

import codecs
from pathlib import Path
from typing import Any

from wheelcalc.build.dimension import Dimension
from wheelcalc.build.whole import Build
from wheelcalc.files import typed, values
from wheelcalc.files.buildfile import build_of, in_file, key_of, parsed, raw_values
from wheelcalc.files.keys import keys
from wheelcalc.files.whole import write_whole
from wheelcalc.files.writing import insert
from wheelcalc.wheel.errors import InputError
from wheelcalc.wheel.parts import SIDES

HEAD = """\
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
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._bom = False
        self.text = self._on_disk() or HEAD
        self._read()

    def _read(self) -> None:
        """Take in what the text says, or raise `InputError` that names the file."""
        tree = parsed(self.text.encode())
        with in_file(str(self.path)):
            self.given = raw_values(tree)
            tool = str(self.given.get("measuring.tool", "rule"))
            single = {path: values.read(path, key_of(path), raw, tool) for path, raw in self.given.items()}
        self.fault: InputError | None = None
        try:
            self.build = build_of(tree, "").build
        except InputError as error:
            self.fault = error
            self.build = Build({**single, **_defaults(single)})

    def has(self, key: str) -> bool:
        """Whether the file itself says something of a key, for both sides where it may differ."""
        sides = [f"{key}.{side}" for side in SIDES]
        return key in self.given or (key in keys() and keys()[key].per_side and all(s in self.given for s in sides))

    def answered(self, key: str, answer: str, comment: str = "") -> str:
        """Return the file's text with a typed answer put in; as it is where the same stands there.

        Raises
        ------
        InputError
            If the answer cannot be used, alone or beside the others.
        """
        value = typed.value_of(key, keys()[key], answer, self.build.measuring.tool)
        if raw_values(parsed(insert("", key, value).encode())).items() <= self.given.items():
            return self.text
        text = insert(self.text, key, value, comment)
        self._check(key, text)
        return text

    def _check(self, key: str, text: str) -> None:
        """Refuse an answer that cannot stand beside the others; what only lacks another key may stand."""
        try:
            build_of(parsed(text.encode()), "")
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
            write_whole(self.path, ("\ufeff" if self._bom else "") + self.text)
        except OSError as error:
            reason = error.strerror or str(error)
            raise InputError(
                "-o", f'"{self.path}" cannot be written ({reason}); name a file in a folder that can be'
            ) from None

    def refresh(self) -> bool:
        """Take in what an editor changed on disk meanwhile; True where it did."""
        found = self._on_disk()
        if found is None or found == self.text:
            return False
        self.take(found)
        return True

    def _on_disk(self) -> str | None:
        try:
            data = self.path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise InputError(str(self.path), f"cannot be read ({error.strerror}); name another file") from None
        if not data.strip():
            return None
        with in_file(str(self.path)):
            parsed(data)
        self._bom = data.startswith(codecs.BOM_UTF8)
        return data.decode("utf-8-sig")


def _defaults(single: dict[str, Dimension]) -> dict[str, Dimension]:
    """What is taken where the file is silent, while the file cannot yet be read as a whole."""
    out: dict[str, Any] = {}
    for path, key in keys().items():
        if key.default is not None:
            for full in [f"{path}.{side}" for side in SIDES] if key.per_side else [path]:
                if full not in single:
                    out[full] = Dimension(key.default, 0.0, "default")
    return out
