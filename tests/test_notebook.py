"""The example notebook runs from its first cell to its last, and what it shows is what a person would look for."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]


def shown(cell: dict[str, Any]) -> dict[str, str]:
    """What a cell shows, by kind; what it prints is "text/plain"."""
    out: dict[str, str] = {}
    for each in cell["outputs"]:
        assert each["output_type"] != "error"
        assert each.get("name") != "stderr", each
        data = each.get("data") or {"text/plain": each["text"]}
        for kind, text in data.items():
            out[kind] = out.get(kind, "") + (text if isinstance(text, str) else "".join(text))
    return out


def test_the_notebook_shows_what_it_says(tmp_path: Path) -> None:
    run = tmp_path / "run.ipynb"
    own = {"IPYTHONDIR": str(tmp_path), "JUPYTER_RUNTIME_DIR": str(tmp_path), "JUPYTER_PLATFORM_DIRS": "1"}
    command = [sys.executable, "-m", "tests.tools.notebook", ROOT / "examples" / "errand-rear.ipynb", run]
    done = subprocess.run(command, cwd=ROOT, env={**os.environ, **own}, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    notebook = json.loads(run.read_text(encoding="utf-8"))
    cells = [shown(cell) for cell in notebook["cells"] if cell["cell_type"] == "code"]
    pages = [cell["text/html"] for cell in cells if "text/html" in cell]
    assert len(pages) == 2  # order and true
    for page in pages:
        assert page.index('class="verdict"') < page.index("<table")
        assert '<td class="number">' in page
    assert "Order these: " in pages[0]
    assert len([cell for cell in cells if "image/svg+xml" in cell]) == 2  # map and strip
    text = "\n".join(cell.get("text/plain", "") for cell in cells)
    assert "<Hub: 18 + 18 holes" in text
    assert "'target_N'" in text
