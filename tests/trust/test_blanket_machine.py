"""A blanket folder in any order of edit, plan, undo, save, crash and reopen.

python -m pytest -m long tests/trust/test_blanket_machine.py     many more runs
"""

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from kit.blanket import open_blanket, save_choices
from kit.blanket.stash_file import (
    cells_of,
    open_stash,
    save_table,
    undone,
    with_cells,
    with_row,
    without_row,
)
from kit.errors import KitError
from kit.plan import plan_blanket
from kit.report import write_plan
from tests.trust.faulty import FaultySystem

BEGUN = (
    "my shelf,name,colours,grams\n"
    "B 2,Pebble,#c8cdd0,50\n,Slate,#5b6770,40\nC,Ink,#1d2733,30\n"
)
CHOICES = '# our own\nname = "Hall"  # short\n[colours]\nby = "value"\nbridges = 0\n'
NAMES = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=6)
GRAMS = st.integers(0, 99_999).map(str) | st.just("")


class BlanketFolder(RuleBasedStateMachine):
    """What the folder must hold is kept beside it, in `now` and `past`."""

    def __init__(self):
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        (self.folder / "stash.csv").write_text(BEGUN)
        (self.folder / "blanket.toml").write_text(CHOICES)
        self.file = open_stash(self.folder)
        self.now, self.past = BEGUN.encode(), []
        self.by = "value"
        self.n_marks = 0

    def teardown(self):
        shutil.rmtree(self.folder)

    # --- the knitter ---

    def save(self, table):
        before = self.now
        try:
            self.file = save_table(self.file, table)
        except KitError as error:
            codes = {fault.code for fault in error.faults}
            assert codes <= {"ambiguous_number", "missing", "quote"}, error
            return
        self.now = self.file.data
        if self.now != before:
            self.past.append(before)

    @rule(at=st.integers(0, 99), name=NAMES, grams=GRAMS)
    def edit(self, at, name, grams):
        table = self.file.stash.table
        at %= len(table.rows)
        self.save(with_cells(table, at, {"name": f"Y{name}", "grams": grams}))

    @rule(name=NAMES, number=st.integers(0, 0xFFFFFF))
    def add(self, name, number):
        cells = {"name": f"Z{name}", "colours": f"#{number:06x}"}
        self.save(with_row(self.file.stash, cells))

    @precondition(lambda self: len(self.file.stash.yarns) > 2)
    @rule(at=st.integers(0, 99))
    def take_out(self, at):
        self.save(without_row(self.file.stash, at % len(self.file.stash.yarns)))

    @rule()
    def undo(self):
        self.file = undone(self.file)
        if self.past:
            self.now = self.past.pop()

    @rule(by=st.sampled_from(["value", "family"]))
    def choose(self, by):
        blanket = save_choices(open_blanket(self.folder), {"by": by})
        self.by = by
        assert blanket.choices.arranging.by == by

    @rule()
    def plan(self):
        left = [yarn for yarn in self.file.stash.yarns if yarn.metres != 0]
        if not left:
            with pytest.raises(KitError, match="No yarn to arrange"):
                plan_blanket(open_blanket(self.folder), quick=True)
            return
        made = plan_blanket(open_blanket(self.folder), quick=True)
        assert {y.name for y in made.stash.yarns} == {
            y.name for y in self.file.stash.yarns
        }
        assert len(made.design.laid.yarns) == len(left)

    @rule()
    def reopen(self):
        self.file, self.past = open_stash(self.folder), []

    # --- the world ---

    @rule(row=st.sampled_from(["Q,Moss,#6b7a45,7\n", ",Fern,#3e6b4a,\n"]))
    def another_program_edits(self, row):
        """It stays, ours is refused and kept beside, and reading again helps."""
        path = self.folder / "stash.csv"
        width = len(self.file.stash.table.columns)
        theirs = self.now + (row.rstrip("\n") + "," * (width - 4) + "\n").encode()
        path.write_bytes(theirs)
        self.n_marks += 1
        table = with_cells(self.file.stash.table, 0, {"name": f"Mark {self.n_marks}"})
        with pytest.raises(KitError, match="another program has changed it"):
            save_table(self.file, table)
        mark = f"Mark {self.n_marks}".encode()
        copies = self.folder.glob("stash.copy*.csv")
        assert any(mark in copy.read_bytes() for copy in copies)
        self.now, self.past = theirs, []
        self.file = open_stash(self.folder)

    @rule(
        at=st.integers(1, 45), kind=st.sampled_from(["killed before", "killed after"])
    )
    def crash(self, at, kind):
        """The program ends while it saves; what is found on opening is old or new."""
        self.n_marks += 1
        table = with_cells(self.file.stash.table, 0, {"name": f"Mark {self.n_marks}"})
        patch = pytest.MonkeyPatch()
        with FaultySystem(patch, kind, at).running():
            save_table(self.file, table)
        self.file, self.past = open_stash(self.folder), []
        found = cells_of(self.file.stash.table, 0)["name"]
        if found == f"Mark {self.n_marks}":
            assert (self.folder / "stash.csv.bak").read_bytes() == self.now
            self.now = self.file.data

    # --- what always holds ---

    @invariant()
    def the_file_is_what_it_should_be(self):
        assert (self.folder / "stash.csv").read_bytes() == self.now
        assert self.file.data == self.now
        assert self.now.startswith(b"my shelf,name,colours,grams")

    @invariant()
    def the_choices_are_what_they_should_be(self):
        text = (self.folder / "blanket.toml").read_text()
        assert text == CHOICES.replace('"value"', f'"{self.by}"')


def run(n_examples, n_steps):
    run_state_machine_as_test(
        BlanketFolder,
        settings=settings(
            max_examples=n_examples,
            stateful_step_count=n_steps,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )


@pytest.fixture(autouse=True)
def quick_disk(monkeypatch):
    """Waiting for the disk is not what is tested."""
    monkeypatch.setattr("os.fsync", lambda number: None)


def test_any_order_of_things():
    """Twelve runs of fifteen steps."""
    run(12, 15)


@pytest.mark.long
def test_any_order_of_many_things():
    """A thousand runs of forty."""
    run(1000, 40)


def test_a_plan_cut_off_is_the_old_or_the_new(tmp_path, monkeypatch):
    """A crash while a plan is put in place: the next opening leaves one plan whole."""
    monkeypatch.setattr("kit.files.temporaries.LEFT_OVER_AFTER_S", -1.0)
    (tmp_path / "stash.csv").write_text(BEGUN)
    (tmp_path / "blanket.toml").write_text(CHOICES)
    made = plan_blanket(open_blanket(tmp_path), quick=True)
    names = ("a.png", "plan.html", "plan.json")
    old, new = (dict.fromkeys(names, mark) for mark in (b"old", b"new"))

    def write(files):
        monkeypatch.setattr(
            "kit.report.report.plan_files", lambda plan, pictures: files
        )
        write_plan(made, tmp_path / "plan")

    found, n_mended = old, 0
    for at in range(1, 400, 3):
        write(old)
        with FaultySystem(monkeypatch, "killed before", at).running() as system:
            write(new)
        before = {name: (tmp_path / "plan" / name).read_bytes() for name in names}
        open_blanket(tmp_path)
        found = {name: (tmp_path / "plan" / name).read_bytes() for name in names}
        assert found in (old, new), system.hit
        n_mended += before != found
        if system.n_calls < at:  # too late to hit anything
            break
    assert found == new
    assert n_mended > 1
