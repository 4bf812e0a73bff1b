"""Two notebooks on one blanket: every edit of both is in the end there.

Each edit adds one to a number that both writers change, and to one of its own: a
single edit that is written over shows in the sums.
"""

import subprocess
import sys

import pytest

from kit.blanket import open_blanket
from kit.blanket.stash_file import open_stash

STASH = (
    "name,colours,grams,my remark\nAll,#fff,{all},\nA,#888,{a},\nB,#000,{b},keep this\n"
)
CHOICES = '# ours\nname = "Hall"\n\n[colours]\njump_limit = 1  # of balls\n'

STASH_WRITER = """
import sys
from kit.blanket.stash_file import cells_of, with_cells
from kit.errors import KitError
from kit.blanket.stash_file import (open_stash)
from kit.blanket.stash_file import (save_table)
folder, n_edits, own = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
n_refused = 0
file = open_stash(folder)
print("ready", flush=True)
sys.stdin.readline()
while n_edits:
    table = file.stash.table
    for at in (0, own):
        grams = int(cells_of(table, at)["grams"]) + 1
        table = with_cells(table, at, {"grams": str(grams)})
    try:
        file = save_table(file, table)
        n_edits -= 1
    except KitError as error:
        assert error.faults[0].code == "changed_elsewhere", error
        n_refused += 1
        file = open_stash(folder)
print(n_refused)
"""

CHOICES_WRITER = """
import sys
from kit.blanket import (open_blanket, save_choices)
folder, n_edits, key = sys.argv[1], int(sys.argv[2]), sys.argv[3]
blanket = open_blanket(folder)
print("ready", flush=True)
sys.stdin.readline()
for k in range(n_edits):
    blanket = save_choices(blanket, {key: k % 100 + 2})
print(0)
"""

HOW_MANY = pytest.mark.parametrize(
    "n_edits", [20, pytest.param(1000, marks=pytest.mark.long)]
)


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "stash.csv").write_text(STASH.format(all=0, a=0, b=0))
    (tmp_path / "blanket.toml").write_text(CHOICES)
    return tmp_path


def both(code, *calls):
    """Run the writers at the same time; what each printed last."""
    pipe = subprocess.PIPE
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", code, *map(str, call)],
            stdin=pipe,
            stdout=pipe,
            stderr=pipe,
            text=True,
        )
        for call in calls
    ]
    assert [writer.stdout.readline() for writer in writers] == ["ready\n", "ready\n"]
    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()
    heard = [writer.communicate(timeout=500) for writer in writers]
    assert [error for _, error in heard] == ["", ""]
    return [int(said) for said, _ in heard]


@HOW_MANY
def test_no_edit_of_the_stash_is_lost(folder, n_edits):
    """Half of the edits each; the sum is all of them, the rest is as it was."""
    half = n_edits // 2
    both(STASH_WRITER, (folder, half, 1), (folder, half, 2))
    text = (folder / "stash.csv").read_text()
    assert text == STASH.format(all=n_edits, a=half, b=half)
    before = [
        STASH.format(all=n_edits - 1, a=half - 1, b=half),
        STASH.format(all=n_edits - 1, a=half, b=half - 1),
    ]
    assert (folder / "stash.csv.bak").read_text() in before
    assert open_stash(folder).stash.yarns[0].grams == n_edits


@HOW_MANY
def test_no_choice_is_lost(folder, n_edits):
    """Two desks that change different keys both have their last word."""
    half = n_edits // 2
    keys = ("colours.jump_limit", "colours.fabric_jump_limit")
    both(CHOICES_WRITER, *((folder, half, key) for key in keys))
    judging = open_blanket(folder).choices.judging
    last = (half - 1) % 100 + 2
    assert (judging.jump_limit, judging.fabric_jump_limit) == (last, last)
    text = (folder / "blanket.toml").read_text()
    assert text.startswith("# ours\n")
    assert "# of balls" in text
    assert {path.name for path in folder.iterdir()} == {
        "stash.csv",
        "blanket.toml",
        "blanket.toml.bak",
    }
