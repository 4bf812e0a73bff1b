"""Files and sets of files saved whole or not at all."""

import errno
import os
import stat
import sys
from json import dumps
from pathlib import Path
from types import SimpleNamespace

import pytest

from kit.errors import KitError
from kit.files.reading import MOST_BYTES, digest, digest_of, read_bytes
from kit.files.saving import LIST, check_can_save, mend, save_all, save_text

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="POSIX modes and links")


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def refuse(*_args, **_kwargs):
    raise OSError(errno.ENOSPC, "No space left on device")


def test_what_is_saved_is_read(tmp_path):
    """Text comes back as UTF-8 with its line ends as they were."""
    save_text(tmp_path / "stash.csv", "Crème\r\nSage\n")
    assert read_bytes(tmp_path / "stash.csv") == b"Cr\xc3\xa8me\r\nSage\n"


def test_missing_folder_is_said(tmp_path):
    """Saving makes no folders; it says which one is missing."""
    path = tmp_path / "blanket" / "stash.csv"
    with pytest.raises(KitError) as caught:
        save_text(path, "x")
    said = f"{path} was not saved: there is no folder {path.parent}. "
    assert str(caught.value) == said + "Make the folder first."


@on_posix
def test_protected_file_is_kept(tmp_path):
    """A file that its owner made read-only is not replaced."""
    path = tmp_path / "stash.csv"
    path.write_text("old")
    path.chmod(0o444)
    with pytest.raises(KitError) as caught:
        save_text(path, "new")
    said = f"{path} cannot be saved: it or its folder is protected or in use. "
    assert str(caught.value) == said + (
        "Close it in other programs, or use another folder."
    )
    assert path.read_text() == "old"


def test_previous_is_kept(tmp_path):
    """NAME.bak is what was there before; saving the same twice does not lose it."""
    path = tmp_path / "stash.csv"
    save_text(path, "first", keep_previous=True)
    assert names_in(tmp_path) == ["stash.csv"]
    for text in ("second", "third", "third"):
        save_text(path, text, keep_previous=True)
    assert path.read_text() == "third"
    assert (tmp_path / "stash.csv.bak").read_text() == "second"
    assert names_in(tmp_path) == ["stash.csv", "stash.csv.bak"]


def test_a_file_too_big_to_read_is_replaced(tmp_path):
    """What stands there is read only where it matters whether it has changed."""
    path = tmp_path / "a.csv"
    path.touch()
    os.truncate(path, MOST_BYTES + 1)
    with pytest.raises(KitError, match="the most that is read"):
        save_text(path, "new", unless_changed_since=digest_of(b"old"))
    save_text(path, "new")
    assert path.read_text() == "new"


def test_edits_made_elsewhere_are_kept(tmp_path):
    """A file that has changed since it was read is not saved over."""
    path = tmp_path / "stash.csv"
    assert digest(path) == ""
    read = save_text(path, "first", unless_changed_since="")
    assert read == digest(path)
    read = save_text(path, "second", unless_changed_since=read)
    path.write_text("by hand")
    with pytest.raises(KitError) as caught:
        save_text(path, "third", unless_changed_since=read)
    said = (
        f"{path} was not saved: another program has changed it since it was read. "
        "Read it again and make the change once more."
    )
    assert str(caught.value) == said
    assert path.read_text() == "by hand"
    with pytest.raises(KitError):
        save_text(path, "third", unless_changed_since="")


def test_what_was_to_be_saved_is_kept_beside(tmp_path):
    """Where another program was there first, ours lies beside it under a name told."""
    path = tmp_path / "stash.csv"
    path.write_text("by hand")
    with pytest.raises(KitError) as caught:
        save_text(path, "ours", unless_changed_since="other", copy_beside=True)
    said = (
        f"{path} was not saved: another program has changed it since it was read. "
        "Read it again and make the change once more. What was to be saved is kept "
        "beside it as stash.copy.csv."
    )
    assert str(caught.value) == said
    assert path.read_text() == "by hand"
    assert (tmp_path / "stash.copy.csv").read_text() == "ours"


@on_posix
def test_trouble_is_told_before_the_work(tmp_path, monkeypatch):
    """Protected, full, or below a file: known without writing anything."""
    check_can_save(tmp_path / "plan" / "new" / "plan.html")
    assert names_in(tmp_path) == []
    (tmp_path / "stash.csv").touch()
    with pytest.raises(KitError, match="Not a directory"):
        check_can_save(tmp_path / "stash.csv" / "plan.html")
    with monkeypatch.context() as patch:
        patch.setattr(os, "access", lambda *_: False)
        with pytest.raises(KitError, match="protected or in use"):
            check_can_save(tmp_path / "new.csv")
    usage = SimpleNamespace(free=999_999)
    monkeypatch.setattr("shutil.disk_usage", lambda _: usage)
    with pytest.raises(KitError, match="the disk is full"):
        check_can_save(tmp_path / "new.csv")


def interrupted(folder, places):
    """A folder as a dead stop in the middle of a set leaves it."""
    (folder / LIST).write_text(places if isinstance(places, str) else dumps(places))


def test_an_interrupted_set_is_finished(tmp_path):
    """What is on the list and still waits is put in place, by `mend` or a save."""
    one, two = ".0123456789abcdef.saving", ".fedcba9876543210.saving"
    for finish in (mend, lambda folder: save_text(folder / "other", "x")):
        (tmp_path / "a").write_text("new a")  # in place already, its temporary gone
        (tmp_path / "b").write_text("old b")
        (tmp_path / two).write_text("new b")
        interrupted(tmp_path, {one: "a", two: "b"})
        finish(tmp_path)
        assert (tmp_path / "b").read_text() == "new b"
        assert {*names_in(tmp_path)} <= {"a", "b", "other"}


@pytest.mark.parametrize(
    "places",
    [
        "",
        "[1]",
        {"stash.csv": "b"},
        {".0123456789abcdef.saving": "../b"},
        {".0123456789abcdef.saving": 5},
    ],
)
def test_a_list_that_is_not_ours(tmp_path, places):
    """A list that leads elsewhere moves nothing and goes away."""
    folder = tmp_path / "blanket"
    folder.mkdir()
    (folder / "stash.csv").write_text("mine")
    (folder / ".0123456789abcdef.saving").write_text("theirs")
    interrupted(folder, places)
    mend(folder)
    assert names_in(folder) == [".0123456789abcdef.saving", "stash.csv"]
    assert names_in(tmp_path) == ["blanket"]


@on_posix
def test_mode_is_kept(tmp_path):
    """The file's mode is kept, its .bak has it too, a new one follows the umask."""
    path = tmp_path / "stash.csv"
    old = os.umask(0o027)
    try:
        save_text(path, "first")
    finally:
        os.umask(old)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    path.chmod(0o600)
    save_text(path, "second", keep_previous=True)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@on_posix
def test_link_stays_a_link(tmp_path):
    """Saving through a link changes the file it leads to."""
    (tmp_path / "real").mkdir()
    real, link = tmp_path / "real" / "stash.csv", tmp_path / "stash.csv"
    real.write_text("old")
    link.symlink_to(real)
    save_text(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"
    assert names_in(tmp_path) == ["real", "stash.csv"]


@pytest.mark.parametrize("keep_previous", [False, True])
def test_full_disk_leaves_the_old_file(tmp_path, monkeypatch, keep_previous):
    """Where writing fails, the old file is whole and nothing else is left behind."""
    path = tmp_path / "stash.csv"
    path.write_text("old")
    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(KitError) as caught:
        save_text(path, "new", keep_previous=keep_previous)
    said = f"{path} was not saved: the disk is full. The file is as it was before. "
    assert str(caught.value) == said + "Make room and save again."
    assert path.read_text() == "old"
    assert names_in(tmp_path) == ["stash.csv"]


def test_file_in_use_leaves_the_old_file(tmp_path, monkeypatch):
    """Where the last step fails, the old file is whole and nothing is left behind."""
    path = tmp_path / "stash.csv"
    path.write_text("old")

    def in_use(*_args):
        raise PermissionError(errno.EACCES, "in use")

    monkeypatch.setattr(Path, "replace", in_use)
    with pytest.raises(KitError, match="is protected or in use"):
        save_text(path, "new")
    assert path.read_text() == "old"
    assert names_in(tmp_path) == ["stash.csv"]


def test_broken_letter_is_said(tmp_path):
    """Text that UTF-8 cannot hold is refused and the old file stays."""
    path = tmp_path / "stash.csv"
    path.write_text("old")
    with pytest.raises(KitError, match="half a letter"):
        save_text(path, "Sage \ud83e")
    assert path.read_text() == "old"


def test_set_is_saved(tmp_path):
    """A set of files is written into a folder that need not exist."""
    folder = tmp_path / "blanket" / "plan"
    save_all(folder, {"plan.json": b"{}", "plan.html": b"<p>"})
    save_all(folder, {"plan.json": b"{1}", "plan.html": b"<b>"})
    assert (folder / "plan.json").read_bytes() == b"{1}"
    assert names_in(folder) == ["plan.html", "plan.json"]


@pytest.mark.parametrize("n_done", range(5))
def test_full_disk_leaves_the_last_set(tmp_path, monkeypatch, n_done):
    """Where writing a set fails after n files, no file of it is in place."""
    save_all(tmp_path, {"a": b"old a", "b": b"old b"})
    real, calls = os.fsync, []

    def fsync(number):
        calls.append(number)
        return real(number) if len(calls) <= n_done else refuse()

    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.raises(KitError, match="the disk is full"):
        save_all(tmp_path, {"a": b"new a", "b": b"new b", "c": b"new c"})
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {
        "a": b"old a",
        "b": b"old b",
    }


@pytest.mark.parametrize("n_done", range(3))
def test_file_in_use_leaves_the_last_set(tmp_path, monkeypatch, n_done):
    """Where putting a set in place fails after n files, those are taken back."""
    save_all(tmp_path, {"b": b"old b", "c": b"old c"})
    real, calls = Path.replace, []

    def replace(path, target):
        calls.append(path)
        if len(calls) == n_done + 1:
            raise PermissionError(errno.EACCES, "in use")
        return real(path, target)

    monkeypatch.setattr(Path, "replace", replace)
    with pytest.raises(KitError, match="is protected or in use"):
        save_all(tmp_path, {"a": b"new a", "b": b"new b", "c": b"new c"})
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {
        "b": b"old b",
        "c": b"old c",
    }
