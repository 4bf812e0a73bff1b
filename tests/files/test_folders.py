"""Names of files and folders."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError
from kit.files import shared_folder
from kit.files.folders import file_name


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Reading-room throw", "Reading-room-throw"),
        ("../../stash", "stash"),
        ("a/b\\c:d*e?f", "a-b-c-d-e-f"),
        ("CON", "_CON"),
        ("nul.txt", "_nul.txt"),
        (".hidden. ", "hidden"),
        ("Cre\u0300me", "Crème"),
        ("毛糸 ऊन", "毛糸-ऊन"),
        ("🧶", "blanket"),
        ("", "blanket"),
    ],
)
def test_file_names(text, name):
    """Text becomes a name that is plain, visible and allowed everywhere."""
    assert file_name(text) == name


@given(st.text(max_size=200))
def test_any_text_is_a_file_name(text):
    """No text makes a name that a system would refuse or read as a path."""
    name = file_name(text)
    assert 0 < len(name.encode()) <= 81
    assert not set(name) & set('/\\:*?"<>|\0\n')
    assert name.strip(". ") == name
    assert file_name(name) == name


def test_shared_folder():
    """The kit's own folders are found; one that is not there is said."""
    assert (shared_folder("data").parent / "kit").is_dir() or (
        shared_folder("data").parent.name == "kit"
    )
    with pytest.raises(KitError) as caught:
        shared_folder("wool")
    said = "The kit's own folder wool is missing. Install the kit again."
    assert str(caught.value) == said
