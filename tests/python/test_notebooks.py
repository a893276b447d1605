"""Every notebook runs from top to bottom and asserts its key numbers."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"


@pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of the kernel's own machinery
@pytest.mark.parametrize("path", sorted(NOTEBOOKS.glob("*.ipynb")), ids=lambda path: path.stem)
def test_notebook_runs_and_asserts_its_key_numbers(path):
    notebook = nbformat.read(path, as_version=4)
    assert "assert " in notebook.cells[-1].source, "a notebook ends by asserting its key numbers"
    client = NotebookClient(notebook, timeout=600, resources={"metadata": {"path": str(NOTEBOOKS)}})
    client.execute()


def test_there_are_notebooks():
    assert list(NOTEBOOKS.glob("*.ipynb"))
