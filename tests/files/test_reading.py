"""What a file holds, and what the system refuses, in words."""

import errno
import os
import sys

import pytest

from kit.errors import Fault, KitError
from kit.files import digest, read_bytes, save_text
from kit.files.reading import digest_of, found_as, in_words
from kit.files.saving import save_bytes

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="POSIX pipes")


@pytest.mark.parametrize(
    ("number", "done", "said"),
    [
        (errno.ENOENT, "read", "There is no file {}. Check its name and its folder."),
        (
            errno.ENOENT,
            "saved",
            "{} was not saved: there is no folder {folder}. Make the folder first.",
        ),
        (
            errno.ENOSPC,
            "saved",
            "{} was not saved: the disk is full. The file is as it was before. Make "
            "room and save again.",
        ),
        (
            errno.EROFS,
            "saved",
            "{} cannot be saved: it or its folder is protected or in use. Close it in "
            "other programs, or use another folder.",
        ),
        (errno.EIO, "read", "{} cannot be read: Input/output error."),
    ],
)
def test_what_the_system_says(tmp_path, number, done, said):
    """Each kind of refusal is one sentence and what to do."""
    path = tmp_path / "stash.csv"
    with pytest.raises(KitError) as caught, in_words(path, done):
        raise OSError(number, os.strerror(number))
    assert str(caught.value) == said.format(path, folder=tmp_path)


def test_words_pass_through(tmp_path):
    """What is in words already stays as it is."""
    fault = Fault("choice", "a", "b")
    with pytest.raises(KitError) as caught, in_words(tmp_path / "b", "read"):
        raise KitError(fault)
    assert caught.value.faults == (fault,)


def test_missing_file_is_said(tmp_path):
    """A file that is not there is one sentence and what to do."""
    path = tmp_path / "stash.csv"
    with pytest.raises(KitError) as caught:
        read_bytes(path)
    said = f"There is no file {path}. Check its name and its folder."
    assert str(caught.value) == said


def test_folder_is_no_file(tmp_path):
    """A folder is refused for reading and for saving."""
    said = f"{tmp_path} is a folder, not a file."
    with pytest.raises(KitError) as caught:
        read_bytes(tmp_path)
    assert str(caught.value) == said
    with pytest.raises(KitError) as caught:
        save_bytes(tmp_path, b"x")
    assert str(caught.value) == said


def test_too_big_is_said(tmp_path):
    """One byte over the cap is refused, the cap itself is read."""
    path = tmp_path / "stash.csv"
    path.write_bytes(b"x" * 1000)
    assert len(read_bytes(path, most_bytes=1000)) == 1000
    with pytest.raises(KitError) as caught:
        read_bytes(path, most_bytes=999)
    said = f"{path} is larger than 0.000999 MB, the most that is read. "
    assert str(caught.value) == said + "Check that it is the right file."


@on_posix
def test_pipe_is_refused(tmp_path):
    """A pipe is refused at once instead of waited for."""
    os.mkfifo(tmp_path / "pipe")
    for act in (read_bytes, lambda path: save_bytes(path, b"x")):
        with pytest.raises(KitError) as caught:
            act(tmp_path / "pipe")
        assert str(caught.value) == f"{tmp_path / 'pipe'} is not a plain file."


def test_impossible_name_is_said(tmp_path):
    """A name that no file can have is a KitError too."""
    with pytest.raises(KitError, match=r"cannot be read: its name cannot be used"):
        read_bytes("sta\0sh.csv")
    with pytest.raises(KitError, match="cannot be saved"):
        save_text(tmp_path / ("s" * 5000), "")


def test_a_file_under_another_ending(tmp_path):
    """The file itself first, then the endings in their order, else the file's name."""
    path = tmp_path / "stash.csv"
    assert found_as(path, [".xlsx", ".ods"]) == path
    (tmp_path / "stash.ods").touch()
    (tmp_path / "stash.xlsx").mkdir()
    assert found_as(path, [".xlsx", ".ods"]) == tmp_path / "stash.ods"
    path.touch()
    assert found_as(path, [".xlsx", ".ods"]) == path
    assert digest(path) == digest_of(b"")
