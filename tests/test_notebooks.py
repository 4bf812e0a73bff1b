"""Every notebook runs from top to bottom without a browser, and stays thin."""

import os
import re
from itertools import pairwise

import pytest

import kit
from kit.files import shared_folder
from tests.helpers.demos import own_demo
from tests.helpers.notebooks import code_cell, read, runner

NOTEBOOKS = sorted(shared_folder("notebooks").glob("*.ipynb"))


WITH_CONTROLS = [path for path in NOTEBOOKS if path.stem != "6_your_own_chart"]


def code_cells(notebook):
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


@pytest.fixture(scope="module")
def kernel(tmp_path_factory):
    """One kernel for all notebooks, since each would load the same packages."""
    folder = str(tmp_path_factory.mktemp("kernel"))
    from nbclient.util import run_sync

    client = runner()
    client.create_kernel_manager()
    client.start_new_kernel(cwd=folder, env=os.environ | {"IPYTHONDIR": folder})
    yield client.km
    run_sync(client.km.shutdown_kernel)(now=True)


@pytest.mark.filterwarnings("ignore")  # the kernel's own, about its connection
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_runs_from_top_to_bottom(path, kernel, tmp_path):
    """Each cell runs on the demo and leaves something to see."""
    notebook = read(path)
    assert notebook.cells
    # No name is left of the notebook before, nor brought in by this cell.
    where = {"SHADEPATH_BLANKET": str(own_demo(tmp_path))}
    begin = f"%reset -f\n__import__('os').environ.update({where!r})"
    notebook.cells.insert(0, code_cell(begin))
    client = runner(notebook, km=kernel, timeout=120)
    try:
        client.execute()
    finally:
        client.kc.stop_channels()
    assert all(cell.outputs for cell in code_cells(notebook)[1:])


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_cells_are_thin(path):
    """At most five lines, no loops or definitions, no output kept."""
    for cell in code_cells(read(path)):
        lines = cell.source.splitlines()
        assert len(lines) <= 5
        words = ("def ", "class ", "for ", "if ", "while ")
        assert not any(line.strip().startswith(words) for line in lines)
        assert cell.outputs == []
        assert cell.execution_count is None


@pytest.mark.parametrize("path", WITH_CONTROLS, ids=lambda path: path.stem)
def test_cells_of_controls_are_folded(path):
    """The code behind controls is folded away, a comment first says what it shows."""
    for cell in code_cells(read(path)):
        assert cell.source.startswith("# ")
        assert cell.metadata["jupyter"]["source_hidden"]


def test_a_readers_own_notebook_uses_the_door_alone():
    """Its code is seen, and of the kit it knows `import kit`."""
    (path,) = {*NOTEBOOKS} - {*WITH_CONTROLS}
    cells = code_cells(read(path))
    assert not any("jupyter" in cell.metadata for cell in cells)
    code = "\n".join(cell.source for cell in cells)
    assert re.findall(r"^(?:import|from) .+", code, re.MULTILINE) == [
        "import pandas as pd",
        "import kit",
        "import matplotlib.pyplot as plt",
    ]
    assert {*re.findall(r"\bkit\.(\w+)", code)} <= {*kit.__all__}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_words_come_before_each_cell(path):
    """Controls are introduced: a sentence stands before each code cell, not a heading
    alone."""
    cells = read(path).cells
    assert cells[0].cell_type == "markdown"
    for before, cell in pairwise(cells):
        if cell.cell_type == "code":
            assert before.cell_type == "markdown"
            words = [w for w in before.source.splitlines() if not w.startswith("#")]
            assert "".join(words).strip(), before.source
