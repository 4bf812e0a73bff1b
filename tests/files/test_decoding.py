"""Bytes of unknown origin to text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError
from kit.files.decoding import decode

TEXT = "name,colours\r\nCrème,#FFF4E0\r\n毛糸 🧶,#000080\r\n"
SAVE = 'Save it as "CSV UTF-8" in the spreadsheet.'


def fault(data, **kwargs):
    with pytest.raises(KitError) as caught:
        decode(data, **kwargs)
    return caught.value


@pytest.mark.parametrize(
    "data",
    [
        TEXT.encode(),
        TEXT.encode("utf-8-sig"),
        b"\xef\xbb\xbf" * 3 + TEXT.encode(),
        b"\xff\xfe" + TEXT.encode("utf-16-le"),
        b"\xfe\xff" + TEXT.encode("utf-16-be"),
        b"\xff\xfe\xff\xfe" + TEXT.encode("utf-16-le"),
        b"\xff\xfe\x00\x00" + TEXT.encode("utf-32-le"),
        b"\x00\x00\xfe\xff" + TEXT.encode("utf-32-be"),
        TEXT.encode() + b"\x1a",
    ],
)
def test_unicode_is_certain(data):
    """UTF-8, and UTF-16 and UTF-32 with their marks, are read and nothing is said."""
    assert decode(data) == (TEXT, ())


@pytest.mark.parametrize(
    ("encoding", "line_end", "name"),
    [
        ("cp1252", "\r\n", "Windows"),
        ("cp1252", "\n", "Windows"),
        ("mac_roman", "\r", "Mac Roman"),
    ],
)
def test_one_byte_a_letter_is_told(encoding, line_end, name):
    """Windows and old Mac text is read, and the guess is shown by one of its words."""
    text = line_end.join(["name,colours", "“Crème”,#FFF4E0", ""])
    assert decode(text.encode(encoding), file="stash.csv") == (
        text,
        (
            f"stash.csv is not UTF-8 and was read as {name} text, which makes "
            '"“Crème”" one of its words. If that looks wrong, save it as "CSV UTF-8".',
        ),
    )


def test_two_encodings_name_their_rows():
    """A file that is partly UTF-8 is refused, every odd row named."""
    rows = ["name", "Crème", "Brûlée", "Sage", "Écru"]
    data = [row.encode("cp1252" if at in (2, 4) else "utf-8") for at, row in
            enumerate(rows)]  # fmt: skip
    says = (
        "the file is UTF-8, but this row holds bytes that are not. "
        'Type its accented letters again and save as "CSV UTF-8".'
    )
    for joined in (b"\n".join(data), b"\xef\xbb\xbf" + b"\r".join(data)):
        assert str(fault(joined, file="stash.csv")) == (
            f"stash.csv, row 3: {says}\nstash.csv, row 5: {says}"
        )


def test_bytes_of_no_encoding_name_their_rows():
    """A byte that Windows text does not have is refused with its row."""
    assert str(fault(b"name\nSage\x81\n", file="stash.csv")) == (
        "stash.csv, row 2: this row holds bytes that are neither UTF-8 nor Windows "
        f"text. {SAVE}"
    )


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-32-le"])
def test_unmarked_utf_16_is_refused(encoding):
    """UTF-16 without its mark is not guessed."""
    assert str(fault("name\tcolours\nCrème\t#fff\n".encode(encoding))) == (
        "The file's encoding is not clear: it has empty (NUL) bytes all through. "
        + SAVE
    )


def test_nul_bytes_name_their_rows():
    """A few NUL bytes in good text are refused with their rows."""
    rows = b"name,colours,grams\nSage,#9caf88,50\0\nMoss,#556b2f,50\nNa\0vy,#008,1\n"
    says = (
        "this row holds empty (NUL) bytes, which a failed save or copy leaves. "
        "Type the row again, or go back to an earlier copy."
    )
    assert str(fault(rows)) == f"row 2: {says}\nrow 4: {says}"
    assert [f.code for f in fault(rows).faults] == ["encoding", "encoding"]


def test_broken_utf_16_names_its_row():
    """UTF-16 that stops half-way through a letter is refused."""
    data = b"\xff\xfe" + "name\nSage\n".encode("utf-16-le") + b"x"
    assert str(fault(data)) == (
        f"row 3: the file begins as UTF-16, but this row does not fit that. {SAVE}"
    )


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (b"\x89PNG\r\n\x1a\n\0", "a picture"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "a picture"),
        (b"GIF89a", "a picture"),
        (b"RIFF\x24\0\0\0WEBPVP8 ", "a picture or a film"),
        (b"\0\0\0\x18ftypheic", "a picture or a film"),
        (b"%PDF-1.7", "a PDF"),
        (b"\x1f\x8b\x08", "a compressed file"),
        (b"{\\rtf1", "a word processor's file"),
        (b"\xef\xbb\xbf\n <!DOCTYPE html>", "a web page"),
        (b"<HTML><table>", "a web page"),
    ],
)
def test_other_kinds_of_file_are_named(data, kind):
    """A picture or a page under a wrong ending is called what it is."""
    (what,) = fault(data).faults
    assert what.code == "not_a_table"
    assert what.says == f"This is {kind}, not a table of text"


def test_words_that_begin_like_other_files():
    """A title such as "Riffle" or "Gifts" is text."""
    for title in (b"Riffle stash", b"GIFTS 8", b"PK yarns", b"II blankets"):
        assert decode(title) == (title.decode(), ())


def test_spoilt_letters_are_told():
    """Letters that an earlier program misread or lost are shown."""
    assert decode("name,x\nCrÃ¨me,1\n".encode(), file="stash.csv")[1] == (
        'stash.csv: "CrÃ¨me" looks like "Crème" as a program misread it in an earlier '
        "save. Type such words again.",
    )
    assert decode("Cr\ufffdme".encode())[1] == (
        'The file: letters were lost in an earlier save and stand as "\ufffd". '
        "Type them again.",
    )
    for fine in ("Ångström", "Âge d’or", "Ñandú", "château", "Ärger", "Ðór", "ÂÂ"):
        assert decode(fine.encode()) == (fine, ())


@given(st.binary(max_size=300))
def test_any_bytes(data):
    """Bytes become text, or a KitError."""
    try:
        text, notes = decode(data)
    except KitError as error:
        assert str(error)
    else:
        assert "\0" not in text
        assert all(note.endswith(".") for note in notes)


@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0\x1a")))
def test_saved_text_comes_back(text):
    """UTF-8 with our column names in front comes back as it was."""
    assert decode(f"name,{text}".encode())[0] == f"name,{text}"
