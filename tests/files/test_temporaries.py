"""Files beside files: temporaries, copies, what was there before."""

import errno
import os
import stat
import sys
import time

import pytest

from kit.errors import KitError
from kit.files import temporaries
from kit.files.saving import save_all, save_bytes
from kit.files.temporaries import holds, kept_beside, sweep, sync_folder, write_beside

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="POSIX modes")
LEFT = ".0123456789abcdef.saving"


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def test_left_over_temporaries_are_swept(tmp_path):
    """Old ones go with the next save, fresh ones and files of others stay."""
    old = time.time() - 2 * temporaries.LEFT_OVER_AFTER_S
    others = (".mine.saving", "0123456789abcdef.saving", ".0123456789ABCDEF.saving")
    for name in (LEFT, *others):
        (tmp_path / name).write_bytes(b"half")
        os.utime(tmp_path / name, (old, old))
    fresh = tmp_path / ".fedcba9876543210.saving"
    fresh.write_bytes(b"half")
    save_bytes(tmp_path / "stash.csv", b"x")
    assert names_in(tmp_path) == sorted([*others, fresh.name, "stash.csv"])


def test_sweeping_is_never_in_the_way(tmp_path, monkeypatch):
    """A left-over that will not go is left."""
    (tmp_path / LEFT).mkdir()
    monkeypatch.setattr(temporaries, "LEFT_OVER_AFTER_S", -1.0)
    sweep(tmp_path)
    assert names_in(tmp_path) == [LEFT]


def test_copies_have_names_of_their_own(tmp_path):
    """Each copy gets the next free name; the same again is no new one."""
    path = tmp_path / "stash.csv"
    found = [kept_beside(path, data).name for data in (b"a", b"b", b"a", b"b", b"c")]
    assert found == [
        "stash.copy.csv",
        "stash.copy-2.csv",
        "stash.copy.csv",
        "stash.copy-2.csv",
        "stash.copy-3.csv",
    ]


@on_posix
def test_what_is_private_stays_private(tmp_path):
    """The .bak and the copy of a file that only its owner may read are so too."""
    path = tmp_path / "stash.csv"
    path.write_bytes(b"first")
    path.chmod(0o600)
    save_bytes(path, b"second", keep_previous=True)
    kept_beside(path, b"third")
    modes = {stat.S_IMODE(found.stat().st_mode) for found in tmp_path.iterdir()}
    assert names_in(tmp_path) == ["stash.copy.csv", "stash.csv", "stash.csv.bak"]
    assert modes == {0o600}


@on_posix
def test_the_temporary_is_private_before_it_is_written(tmp_path, monkeypatch):
    """Nothing is written that others could read in between."""
    path = tmp_path / "stash.csv"
    path.write_bytes(b"old")
    path.chmod(0o600)
    seen, write = [], os.write

    def look(number, data):
        seen.append(stat.S_IMODE(os.fstat(number).st_mode))
        return write(number, data)

    monkeypatch.setattr(os, "write", look)
    write_beside(path, b"new")
    assert seen == [0o600]


def test_holds(tmp_path):
    """Same bytes, not same size."""
    path = tmp_path / "a"
    assert not holds(path, b"")
    path.write_bytes(b"ab")
    assert holds(path, b"ab")
    assert not holds(path, b"ba")


@on_posix
@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.EINVAL, ""),
        (
            errno.EIO,
            "What was saved in {} is there, but the disk reports a fault. "
            "(Input/output error.) Keep a copy elsewhere.",
        ),
    ],
)
def test_a_folder_that_cannot_be_synced(tmp_path, monkeypatch, number, said):
    """A file system that cannot do it is fine; a broken disk is told."""

    def refuse(_):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", refuse)
    try:
        sync_folder(tmp_path)
    except KitError as error:
        assert str(error) == said.format(tmp_path)
    else:
        assert said == ""


@on_posix
def test_a_set_through_a_link(tmp_path):
    """A file of a set that is a link stays one; what it leads to changes."""
    (tmp_path / "real").mkdir()
    (tmp_path / "real" / "a").write_bytes(b"old")
    (tmp_path / "set").mkdir()
    (tmp_path / "set" / "a").symlink_to(tmp_path / "real" / "a")
    save_all(tmp_path / "set", {"a": b"new", "b": b"new"})
    assert (tmp_path / "set" / "a").is_symlink()
    assert (tmp_path / "real" / "a").read_bytes() == b"new"
    assert names_in(tmp_path / "real") == ["a"]
