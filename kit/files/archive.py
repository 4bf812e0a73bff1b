"""The parts of a zip archive, unpacked within limits; and XML read as a stream.

Zip bombs are small files that unpack to more than a machine holds. What is unpacked is
counted while it is unpacked: what the archive says of itself is not relied on.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Iterable
from typing import Any
from xml.parsers import expat

from kit.errors import Fault, KitError

# Ours: a hundred thousand yarns with every column filled take about 100 MB and 1:20.
MOST_PARTS = 5_000
MOST_UNPACKED_BYTES = 200_000_000
MOST_TIMES_SMALLER = 200
RATIO_FROM_BYTES = 1_000_000  # a short text of blanks may well be packed 1000:1
_CHUNK_BYTES = 1 << 20
_ENCRYPTED = 0x1

Attributes = dict[str, str]


class Archive:
    """The parts of a zip archive by name. Raises KitError for one that is no good."""

    def __init__(self, data: bytes, file: str = "") -> None:
        self._file = file
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
        except Exception as error:  # of six classes and more, by what is broken
            raise damaged(file) from error
        infos = self._zip.infolist()
        if len(infos) > MOST_PARTS:
            raise self._bomb()
        self._infos = {info.filename.lstrip("/"): info for info in infos}
        self._unpacked = 0

    def __contains__(self, name: str) -> bool:
        return name in self._infos

    def names(self) -> Iterable[str]:
        return self._infos.keys()

    def part(self, name: str) -> bytes:
        """One part, unpacked. Raises KitError where it is damaged, locked or a bomb."""
        info = self._infos[name]
        if info.flag_bits & _ENCRYPTED:
            says = "This workbook is locked with a password"
            advice = "Save it without one, or as CSV UTF-8."
            raise KitError(Fault("locked", says=says, advice=advice, file=self._file))
        try:
            with self._zip.open(info) as packed:
                return self._within_limits(packed, info.compress_size)
        except KitError:
            raise
        except Exception as error:
            raise damaged(self._file) from error

    def _within_limits(self, packed: Any, packed_bytes: int) -> bytes:
        chunks, n_bytes = [], 0
        while chunk := packed.read(_CHUNK_BYTES):
            chunks.append(chunk)
            n_bytes += len(chunk)
            self._unpacked += len(chunk)
            times = n_bytes / max(packed_bytes, 1)
            if self._unpacked > MOST_UNPACKED_BYTES or (
                n_bytes > RATIO_FROM_BYTES and times > MOST_TIMES_SMALLER
            ):
                raise self._bomb()
        return b"".join(chunks)

    def _bomb(self) -> KitError:
        says = "This file unpacks to far more than a stash needs, so it was left packed"
        advice = "Copy the yarns into a new workbook, or save them as CSV UTF-8."
        fault = Fault("too_big", says=says, advice=advice, file=self._file)
        return KitError(fault)


def damaged(file: str) -> KitError:
    """The error for a workbook that is not whole."""
    says = "This workbook is damaged and cannot be read"
    advice = "Open it in the spreadsheet and save it again, or go back to a copy."
    return KitError(Fault("damaged", says=says, advice=advice, file=file))


def read_xml(
    data: bytes,
    *,
    file: str = "",
    start: Callable[[str, Attributes], None],
    end: Callable[[str], None] = lambda name: None,
    text: Callable[[str], None] = lambda text: None,
) -> None:
    """Read XML from end to end; names come without their namespace's prefix.

    A document type is refused: it is how XML bombs and look-ups of other files begin,
    and no workbook has one. Raises KitError.
    """

    def refuse(*_: Any) -> None:
        raise damaged(file)

    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = lambda name, found: start(
        name.rpartition(":")[2], found
    )
    parser.EndElementHandler = lambda name: end(name.rpartition(":")[2])
    parser.CharacterDataHandler = text
    parser.StartDoctypeDeclHandler = refuse
    try:
        parser.Parse(data, True)
    except (expat.ExpatError, UnicodeError, LookupError) as error:
        raise damaged(file) from error


def local(attributes: Attributes, name: str) -> str:
    """An attribute by its name without the prefix; "" where it is absent.

    >>> local({"office:value": "5"}, "value")
    '5'
    """
    if name in attributes:
        return attributes[name]
    ending = f":{name}"
    return next((v for k, v in attributes.items() if k.endswith(ending)), "")
