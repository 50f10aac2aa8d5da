"""Runs a notebook from its first cell to its last, in a process of its own.

python -m tests.tools.notebook NOTEBOOK.ipynb RUN.ipynb    in the folder of the notebook, with this Python
"""

from __future__ import annotations

import sys
from pathlib import Path

import nbclient
import nbformat
from jupyter_client.kernelspec import KernelSpec
from jupyter_client.manager import AsyncKernelManager


def main(source: Path, output: Path) -> None:
    """Run one and write it with what it shows."""
    notebook = nbformat.read(source, as_version=4)
    manager = AsyncKernelManager()
    manager._kernel_spec = KernelSpec(argv=[sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"])
    where = {"metadata": {"path": str(source.parent)}}
    nbclient.NotebookClient(notebook, km=manager, timeout=600, resources=where).execute()
    nbformat.write(notebook, output)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
