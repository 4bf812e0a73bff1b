"""Every system call of the one save helper fails, or is the last one before a kill.

    python -m pytest -m long tests/trust/test_faults.py     all calls, 300 random kills

Nothing may be torn (half of a file, half of a set) and nothing lost (neither the old
nor the new), whatever the call and whatever the fault.
"""

import os
import re
import signal
import subprocess
import sys
import time

import pytest

from kit.errors import KitError
from kit.files import save_all, temporaries
from kit.files.saving import mend, save_bytes
from tests.trust.faulty import FAILURES, KINDS, FaultySystem

OLDER, OLD, NEW = b"older " * 40, b"old " * 70, b"new " * 90
SET_OLD = {"a": b"old a", "b": b"old b", "c": b"old c"}
SET_NEW = {"a": b"new a" * 9, "b": b"new b", "c": b"new c", "d": b"new d"}
TEMPORARY = re.compile(r"\.[0-9a-f]{16}\.saving|\.shadepath\.saving\.json")

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="POSIX calls")


@pytest.fixture(autouse=True)
def at_once(monkeypatch):
    """Left-over temporaries are swept at once, so that this is tested too."""
    monkeypatch.setattr(temporaries, "LEFT_OVER_AFTER_S", -1.0)
    monkeypatch.setattr(os, "fsync", lambda number: None)  # the disk is not tested


def held(folder):
    """What the folder holds; temporaries are no loss and no gain."""
    return {
        path.name: path.read_bytes()
        for path in folder.iterdir()
        if not TEMPORARY.fullmatch(path.name)
    }


def left_over(folder):
    return [path.name for path in folder.iterdir() if TEMPORARY.fullmatch(path.name)]


def lay(folder, contents):
    """Make the folder hold exactly this."""
    folder.mkdir(exist_ok=True)
    for path in folder.iterdir():
        path.unlink()
    for name, data in contents.items():
        (folder / name).write_bytes(data)


def refused(told):
    """Whether nothing was to be saved, by what was told."""
    return told is not None and all(f.code != "unsafe" for f in told.faults)


def n_calls(monkeypatch, act):
    with FaultySystem(monkeypatch).running() as system:
        act()
    return system.n_calls


# In the suite every fifth call, another fifth for each kind of fault; all with -m long.
CALLS = pytest.mark.parametrize(
    "step", [5, pytest.param(1, marks=pytest.mark.long)], ids=["some", "all"]
)


def outcomes(folder, monkeypatch, before, act, *, step):
    """Run `act` under each fault at each call; (kind, call, the KitError) after each.

    `step` 1 takes every call, 5 a fifth of them. Any other exception than a KitError
    passes through and fails the test.
    """
    lay(folder, before)
    total = n_calls(monkeypatch, act)
    assert total > 20
    for k, kind in enumerate(KINDS):
        for at in range(1 + k % step, total + 1, step):
            lay(folder, before)
            told = None
            with FaultySystem(monkeypatch, kind, at).running() as system:
                try:
                    act()
                except KitError as error:
                    told = error
            yield kind, f"{kind} at call {at}, {system.hit}", told


@on_posix
@CALLS
@pytest.mark.parametrize(
    "before",
    [
        {},
        {"stash.csv": OLD},
        {"stash.csv": OLD, "stash.csv.bak": OLDER},
        {"stash.csv": OLD, ".0123456789abcdef.saving": b"half"},
    ],
    ids=["new", "replaced", "with bak", "with left-over"],
)
def test_one_file_is_whole_whatever_fails(tmp_path, monkeypatch, before, step):
    """Old or new, never torn; the old one is in .bak before the new one is there."""
    folder = tmp_path / "blanket"
    path = folder / "stash.csv"
    old, older = before.get("stash.csv"), before.get("stash.csv.bak")

    def act():
        save_bytes(path, NEW, keep_previous=True)

    for kind, where, told in outcomes(folder, monkeypatch, before, act, step=step):
        found = held(folder)
        assert set(found) <= {"stash.csv", "stash.csv.bak"}, where
        assert found.get("stash.csv") in (old, NEW), where
        assert found.get("stash.csv.bak") in (older, old), where
        if found.get("stash.csv") == NEW and old:
            assert found["stash.csv.bak"] == old, where
        if kind in FAILURES and refused(told):
            assert found.get("stash.csv") == old, where
        if kind == "short write":
            assert told is None, where
            assert found["stash.csv"] == NEW, where
        act()  # whatever happened, the next save works and tidies up
        assert held(folder)["stash.csv"] == NEW, where
        save_bytes(path, OLDER, keep_previous=True)
        assert left_over(folder) == [], where
        assert held(folder)["stash.csv.bak"] == NEW, where


@on_posix
@CALLS
def test_a_set_is_whole_whatever_fails(tmp_path, monkeypatch, step):
    """After a failure the set is the old one; after a kill and mending old or new."""
    folder = tmp_path / "plan"

    def act():
        save_all(folder, SET_NEW)

    n_mended = 0
    for kind, where, told in outcomes(folder, monkeypatch, SET_OLD, act, step=step):
        found = held(folder)
        if kind in FAILURES and refused(told):
            assert found == SET_OLD, where
        n_mended += found not in (SET_OLD, SET_NEW)
        mend(folder)
        assert held(folder) in (SET_OLD, SET_NEW), where
        act()
        assert held(folder) == SET_NEW, where
        assert left_over(folder) == [], where
    assert n_mended  # else mending was never needed and never tested


@on_posix
@CALLS
def test_a_change_elsewhere_is_safe_whatever_fails(tmp_path, monkeypatch, step):
    """What another has changed stays; the copy of ours is whole or absent."""
    folder = tmp_path / "blanket"
    path = folder / "stash.csv"

    def act():
        with pytest.raises(KitError):
            save_bytes(path, NEW, unless_changed_since="other", copy_beside=True)

    before = {"stash.csv": OLD}
    for _, where, _ in outcomes(folder, monkeypatch, before, act, step=step):
        found = held(folder)
        assert found.pop("stash.csv") == OLD, where
        assert found in ({}, {"stash.copy.csv": NEW}), where


# --- a real process, killed -----------------------------------------------------------

SAVER = """
import sys
from pathlib import Path
from kit.files import (save_all)
from kit.files.saving import (save_bytes)
folder = Path(sys.argv[1])
print("begun", flush=True)
k = 0
while True:
    k += 1
    mark = b"%08d " % k
    save_bytes(folder / "stash.csv", mark * 2000, keep_previous=True)
    save_all(folder / "plan", {name: mark * 500 for name in "abcdefgh"})
"""


def kill_once(folder, wait_s):
    call = [sys.executable, "-c", SAVER, str(folder)]
    with subprocess.Popen(call, stdout=subprocess.PIPE) as saver:
        saver.stdout.readline()
        time.sleep(wait_s)
        saver.send_signal(signal.SIGKILL)


def assert_whole(folder):
    """Each file is one mark over and over; a mended set is of one mark."""
    for name in ("stash.csv", "stash.csv.bak"):
        if (folder / name).exists():
            data = (folder / name).read_bytes()
            assert data == data[:9] * 2000
    mend(folder / "plan")
    plan = held(folder / "plan") if (folder / "plan").exists() else {}
    marks = {data[:9] for data in plan.values()}
    assert all(data == data[:9] * 500 for data in plan.values())
    assert len(marks) <= 1
    assert set(plan) in (set(), {*"abcdefgh"})


@on_posix
@pytest.mark.parametrize(
    "n_kills", [3, pytest.param(300, marks=pytest.mark.long)], ids=["few", "many"]
)
def test_random_kills(tmp_path, n_kills):
    """SIGKILL at any moment: what is found is whole, and saving goes on."""
    moments = [0.05 + 0.6 * (k * 0.6180339887 % 1) / 4 for k in range(n_kills)]
    for wait_s in moments:
        kill_once(tmp_path, wait_s)
        assert_whole(tmp_path)
    save_bytes(tmp_path / "stash.csv", b"x")
    save_all(tmp_path / "plan", {"a": b"x"})
    assert left_over(tmp_path) == left_over(tmp_path / "plan") == []


@on_posix
def test_the_harness_sees_tears(tmp_path, monkeypatch):
    """A helper that writes in place is caught: the harness can fail."""

    def careless(path, data):
        number = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.write(number, data)
        os.close(number)

    path = tmp_path / "stash.csv"
    torn = 0
    for at in range(1, 4):
        path.write_bytes(OLD)
        with FaultySystem(monkeypatch, "killed half-way", at).running():
            careless(path, NEW)
        torn += path.read_bytes() not in (OLD, NEW)
    assert torn
