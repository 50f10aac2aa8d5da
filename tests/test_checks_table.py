"""reference/checks.md says what the tests in tests/published compare today, from enough outside sources."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
TABLE = (ROOT / "reference" / "checks.md").read_text(encoding="utf-8")
# Outside sources, each by a word of its section's heading or file.
OUTSIDE = (
    *("Abramowitz", "J. S. Allen", "VM18", "The Bicycle Wheel", "Burgoyne", "H. Fletcher", "H. P. Gavin", "JCGM 100"),
    *(
        "Meijaard",
        "McMahon",
        "J. K. Moore",
        "W. Zorn",
        "Two bare rims that somebody tapped",
        "Four bare rims that were bent",
        "A wheel that was measured under tension",
        "NAFEMS",
        "COMSOL",
        "SDLL101",
        "Timoshenko & Gere",
        "defining documents",
        "VM21",
        "VM53",
    ),
)


def rows(text: str) -> list[str]:
    return [line for line in text.splitlines() if line.startswith("| ") and not line.startswith("| quantity")]


def test_enough_sources_and_checks() -> None:
    headings = [line for line in TABLE.splitlines() if line.startswith("## ")]
    for source in OUTSIDE:
        assert any(source in heading for heading in headings), source
    assert len(OUTSIDE) >= 13
    assert len(rows(TABLE)) >= 60


def test_every_file_with_numbers_to_compare_is_there() -> None:
    """A file that compares counts alone has no line in the table."""
    folder = (ROOT / "tests" / "published").glob("test_*.py")
    files = {path.name for path in folder if re.search("approx|allclose", path.read_text(encoding="utf-8"))}
    assert set(re.findall(r"^tests/published/(\S+)$", TABLE, re.MULTILINE)) == files


def test_the_table_is_what_the_tests_compare_today() -> None:
    """The words and outside values exactly; our own numbers as near as the check itself asks, whatever multiplies matrices."""
    command = [sys.executable, "-m", "tests.oracles.published_checks", "--print"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT)
    now, written = rows(done.stdout), rows(TABLE)
    assert [line.split(" | ")[:2] for line in now] == [line.split(" | ")[:2] for line in written]
    far = []
    for line, old in zip(now, written, strict=True):
        _, ours, _, tolerance = map(float, line.strip("| ").split(" | ")[1:])
        before = float(old.split(" | ")[2])
        if abs(ours - before) > tolerance:
            far.append((line, old))
    assert far == []
