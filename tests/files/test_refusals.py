"""What the system refuses, in words."""

import errno
import os

import pytest

from kit.errors import KitError
from kit.files.refusals import changed, in_words


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
    """What is in words already stays as it is; a copy is named where there is one."""
    fault = changed(tmp_path / "a", tmp_path / "a.copy")
    with pytest.raises(KitError) as caught, in_words(tmp_path / "b", "read"):
        raise KitError(fault)
    assert caught.value.faults == (fault,)
    assert fault.advice.endswith("kept beside it as a.copy.")
