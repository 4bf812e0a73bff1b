"""Zip archives within limits, and XML without surprises."""

import io
import struct
import zipfile

import pytest

from kit.errors import KitError
from kit.files import archive
from kit.files.archive import Archive, local, read_xml
from tests.helpers.workbooks import packed

DAMAGED = (
    "stash.xlsx: This workbook is damaged and cannot be read. "
    "Open it in the spreadsheet and save it again, or go back to a copy."
)
BOMB = "This file unpacks to far more than a stash needs"


def refusal(act, *args, **keys):
    with pytest.raises(KitError) as caught:
        act(*args, **keys)
    return str(caught.value)


def test_parts_come_back():
    """Every part is there under its name, whole."""
    parts = {"a.xml": b"<a/>", "b/c.bin": bytes(range(256)) * 40}
    found = Archive(packed(parts))
    assert {name: found.part(name) for name in found.names()} == parts
    assert "a.xml" in found
    assert "nothing" not in found


@pytest.mark.parametrize(
    "data",
    [b"PK\x03\x04", b"PK\x03\x04" + b"\0" * 60, packed({"a": b"x"})[:-9]],
    # Else the hour, which is in the last, would be in its name.
    ids=["four letters", "noughts", "cut off"],
)
def test_damaged_archives(data):
    """What is no whole archive is called damaged."""
    assert refusal(Archive, data, "stash.xlsx") == DAMAGED


def test_a_changed_byte_is_noticed():
    """A part whose checksum does not fit is not used."""
    data = bytearray(packed({"a": b"yarn " * 9}, compression=zipfile.ZIP_STORED))
    data[40] ^= 1
    assert refusal(Archive(bytes(data), "stash.xlsx").part, "a") == DAMAGED


def test_locked_archive():
    """A part that needs a password says so."""
    data = bytearray(packed({"a": b"x"}))
    data[6] |= 1  # the flag, in the part's own header …
    at = data.index(b"PK\x01\x02")
    data[at + 8] |= 1  # … and in the list at the end
    assert "locked with a password" in refusal(Archive(bytes(data)).part, "a")


def test_one_bomb():
    """A megabyte and more of nothing, packed a thousand to one, is left packed."""
    data = packed({"a": b"\0" * 30_000_000})
    assert len(data) < 40_000
    assert BOMB in refusal(Archive(data).part, "a")


def test_small_parts_may_be_packed_tight():
    """What is small unpacked may be as blank as it likes."""
    assert len(Archive(packed({"a": b" " * 900_000})).part("a")) == 900_000


def test_many_parts_count_together(monkeypatch):
    """Bombs in pieces count as one."""
    monkeypatch.setattr(archive, "MOST_UNPACKED_BYTES", 2_500)
    found = Archive(packed({name: bytes(range(250)) * 4 for name in "abc"}))
    assert len(found.part("a") + found.part("b")) == 2_000
    assert BOMB in refusal(found.part, "c")


def test_too_many_parts(monkeypatch):
    """So do archives of very many parts."""
    monkeypatch.setattr(archive, "MOST_PARTS", 5)
    assert BOMB in refusal(Archive, packed({str(n): b"" for n in range(6)}))


def test_a_size_that_lies():
    """An archive that understates what is in it yields no byte more than it states."""
    data = bytearray(packed({"a": b"\0" * 5_000}))
    for mark, at in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        struct.pack_into("<I", data, data.index(mark) + at, 10)
    assert refusal(Archive(bytes(data), "stash.xlsx").part, "a") == DAMAGED


def test_parts_one_over_the_other():
    """Parts that share their bytes, another way to a bomb, do not add up for long."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("a", b"\0" * 900_000)
        for n in range(400):
            copy = zipfile.ZipInfo(f"b{n}")
            first = made.infolist()[0]
            for field in ("compress_type", "CRC", "compress_size", "file_size"):
                setattr(copy, field, getattr(first, field))
            copy.header_offset = 0
            made.filelist.append(copy)
            made.NameToInfo[copy.filename] = copy
    try:
        found = Archive(data.getvalue())
        n_bytes = 0
        for name in found.names():
            n_bytes += len(found.part(name))
    except KitError as error:
        assert {fault.code for fault in error.faults} <= {"damaged", "too_big"}
    else:
        pytest.fail(f"{n_bytes} bytes came out")


# --- XML ------------------------------------------------------------------------------


def test_xml_is_read_in_order():
    """Elements without their prefix, attributes, and text in one piece."""
    heard = []
    read_xml(
        b'<a:b xmlns:a="x" a:c="1">Cr&#232;me &amp; <d/>more</a:b>',
        start=lambda name, found: heard.append((name, local(found, "c"))),
        end=heard.append,
        text=heard.append,
    )
    assert heard == [("b", "1"), "Crème & ", ("d", ""), "d", "more", "b"]


@pytest.mark.parametrize(
    "xml",
    [
        "<a>",
        "",
        "<a><b></a></b>",
        '<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>',
        '<!DOCTYPE a SYSTEM "file:///etc/passwd"><a/>',
        "<!DOCTYPE a><a/>",
        '<?xml version="1.0" encoding="no-such"?><a/>',
        "<a>\0</a>",
    ],
)
def test_xml_that_is_refused(xml):
    """Broken XML, and any document type with its bombs and look-ups."""
    found = refusal(
        read_xml, xml.encode(), file="stash.xlsx", start=lambda name, found: None
    )
    assert found == DAMAGED
