"""Writes reference/checks.md: what the tests in tests/published compare, number by number.

    .venv/bin/python -m tests.oracles.published_checks

The tests stay as they are: this plugin listens to `pytest.approx` and `assert_allclose` while they run. A list of
numbers is one row, that of its worst member.
"""

from __future__ import annotations

import ast
import contextlib
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.testing
import pytest

ROOT = Path(__file__).parents[2]
PUBLISHED = ROOT / "tests" / "published"
TABLE = ROOT / "reference" / "checks.md"
ROUND_OFF = 1e-6  # of the published value: smaller differences are shown as 0, so that another machine writes the same

HEAD = """# Checks against outside values

Written by `tests/oracles/published_checks.py` from the tests in tests/published, one section a source. The labels: P published, D derived
independently (closed form or an unrelated method), C common practice, M from memory of the source. Tolerance: half the last printed digit,
or what the test gives a reason for. "worst of n": the member of a list that comes nearest to its tolerance.
"""


@dataclass
class Row:
    quantity: str
    published: float
    ours: float
    tolerance: float
    count: int = 1

    @property
    def share(self) -> float:
        """Share of the tolerance that is used up."""
        return abs(self.ours - self.published) / self.tolerance if self.tolerance else 0.0


@dataclass
class Recorder:
    """The plugin."""

    rows: dict[str, list[Row]] = field(default_factory=dict)
    _now: tuple[str, str] = ("", "")
    _list: list[Row] | None = None

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Any:
        name, bracket, parameters = item.name.removeprefix("test_").partition("[")
        quantity = name.replace("_", " ") + (f" ({parameters.removesuffix(']')})" if bracket else "")
        self._now = (item.path.name, quantity)
        return (yield)

    def add(self, published: Any, ours: Any, tolerance: Any) -> None:
        file, quantity = self._now
        try:
            row = Row(quantity, float(published), float(ours), float(tolerance))
        except (TypeError, ValueError):
            return
        if self._list is not None:
            self._list.append(row)
        elif file and np.isfinite([row.published, row.ours]).all():
            self.rows.setdefault(file, []).append(row)

    def together(self, compare: Callable[[], bool]) -> bool:
        """One row for all that a comparison of lists compares."""
        self._list, outer = [], self._list
        try:
            equal = compare()
            found = self._list
        finally:
            self._list = outer
        if equal and found:
            worst = max(found, key=lambda row: row.share)
            worst.count = len(found)
            self._keep(worst)
        return equal

    def _keep(self, row: Row) -> None:
        if self._list is not None:
            self._list.append(row)
        elif self._now[0]:
            self.rows.setdefault(self._now[0], []).append(row)


def listen(recorder: Recorder) -> None:
    """Let a recorder hear every comparison that holds."""
    approx_one = type(pytest.approx(1.0))
    scalar = approx_one.__eq__

    def one(self: Any, actual: Any) -> bool:
        equal = bool(scalar(self, actual))
        if equal and not isinstance(actual, bool | complex | str):
            recorder.add(self.expected, actual, getattr(self.tolerance, "real", self.tolerance))
        return equal

    approx_one.__eq__ = one  # type: ignore[method-assign, assignment]
    for example in (np.ones(2), [1.0], {"a": 1.0}):
        kind = type(pytest.approx(example))
        several = kind.__eq__

        def many(self: Any, actual: Any, several: Any = several) -> bool:
            return recorder.together(lambda: bool(several(self, actual)))

        kind.__eq__ = many  # type: ignore[method-assign, assignment]
    plain = numpy.testing.assert_allclose

    def all_close(actual: Any, desired: Any, rtol: float = 1e-7, atol: float = 0.0, **more: Any) -> None:
        plain(actual, desired, rtol, atol, **more)
        ours, published = np.broadcast_arrays(np.asarray(actual, float), np.asarray(desired, float))

        def compare() -> bool:
            for a, b in zip(ours.ravel(), published.ravel(), strict=True):
                recorder.add(b, a, atol + rtol * abs(b))
            return True

        recorder.together(compare)

    numpy.testing.assert_allclose = all_close


def source_of(path: Path) -> str:
    """First paragraph of a test file: its source, with the label."""
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or path.stem
    return " ".join(text.split("\n\n", maxsplit=1)[0].split())


def _line(row: Row) -> str:
    difference = row.ours - row.published
    if abs(difference) <= ROUND_OFF * abs(row.published) or abs(difference) < 1e-12:
        difference = 0.0
    ours = row.published if difference == 0 else row.ours
    count = f", worst of {row.count}" if row.count > 1 else ""
    cells = (
        f"{row.quantity.replace('|', '/')}{count}",
        f"{row.published:.7g}",
        f"{ours:.7g}",
        f"{difference:+.1g}",
        f"{row.tolerance:.1g}",
    )
    return "| " + " | ".join(cells) + " |"


def table(rows: dict[str, list[Row]]) -> str:
    """The whole file."""
    count = sum(map(len, rows.values()))
    out = [HEAD, f"{len(rows)} files of sources, {count} checks.", ""]
    for name in sorted(rows):
        out += [f"## {source_of(PUBLISHED / name)}", "", f"tests/published/{name}", ""]
        out += ["| quantity | outside value | ours | difference | tolerance |", "|---|---|---|---|---|"]
        out += [*dict.fromkeys(map(_line, rows[name])), ""]
    return "\n".join(out)


def record() -> dict[str, list[Row]]:
    """Run the tests of tests/published in this process and return what they compare."""
    recorder = Recorder()
    listen(recorder)
    arguments = [str(PUBLISHED), "-n", "0", "-p", "no:cacheprovider", f"--rootdir={ROOT}"]
    with contextlib.redirect_stdout(sys.stderr):
        status = pytest.main(arguments, plugins=[recorder])
    if status:
        raise SystemExit("a test of tests/published fails; see pytest")
    return recorder.rows


if __name__ == "__main__":
    text = table(record())
    if sys.argv[1:] == ["--print"]:
        sys.stdout.write(text)
    else:
        TABLE.write_text(text, encoding="utf-8")
