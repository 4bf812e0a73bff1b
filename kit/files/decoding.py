"""Bytes of unknown origin to text, other kinds of file refused; line ends kept."""

from __future__ import annotations

import re

from kit.errors import Fault, KitError

BOM = b"\xef\xbb\xbf"  # how UTF-8 says that it is UTF-8; spreadsheets need it

_LINE_END = re.compile(r"\r\n|\r|\n")
# How other kinds of file begin, as their published formats have it.
_OTHER_KINDS = (
    (rb"\x89PNG|\xff\xd8\xff|GIF8[79]a|II\*\0|MM\0\*", "a picture"),
    (rb"RIFF....WEBP|....ftyp", "a picture or a film"),
    (rb"%PDF-", "a PDF"),
    (rb"\x1f\x8b|7z\xbc\xaf|Rar!\x1a", "a compressed file"),
    (rb"SQLite format 3\0", "a database"),
    (rb"\{\\rtf", "a word processor's file"),
    (rb"(?i:(\xef\xbb\xbf)?\s*<(!doctype|html|table|\?xml))", "a web page"),
)
_MARKS = (  # longest first: UTF-16's mark begins UTF-32's
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
# UTF-8 taken for Windows text begins its letters so.
_MISREAD = re.compile("[ÂÃÄÅÐÑâ][^\\s\0-\x7f]")
_BETWEEN_WORDS = re.compile(r"[\s,;|\"]+")
_SAVE_AS = 'Save it as "CSV UTF-8" in the spreadsheet.'


def decode(data: bytes, *, file: str = "") -> tuple[str, tuple[str, ...]]:
    """Bytes to text, and what the user should be told about it. Raises KitError.

    By byte order mark, then strict UTF-8; else one byte a letter: Mac Roman where line
    ends are CR only, Windows (cp1252) otherwise, and the guess is told. Text that is
    partly UTF-8 is refused, with its rows, and so is text with NUL bytes. (Rows are
    lines here: a line break inside a cell counts as well.)

    >>> decode(b"Cr\\xe8me")[0]
    'Crème'
    """
    for beginning, kind in _OTHER_KINDS:
        if re.match(beginning, data, re.DOTALL):
            says = f"This is {kind}, not a table of text"
            advice = "Choose another file."
            raise KitError(Fault("not_a_table", says=says, advice=advice, file=file))
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            text = _tidy(_strictly(data, encoding, file), file)
            return text, _spoilt(text, file)
    try:
        text = _tidy(data.decode("utf-8"), file)
    except UnicodeDecodeError:
        return _one_byte_a_letter(data, file)
    return text, _spoilt(text, file)


def _strictly(data: bytes, encoding: str, file: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        before = data[: error.start].decode(encoding, "replace")
        row = len(_LINE_END.findall(before)) + 1
        says = f"the file begins as {encoding.upper()}, but this row does not fit that"
        fault = Fault("encoding", says=says, advice=_SAVE_AS, file=file, row=row)
        raise KitError(fault) from error


def _tidy(text: str, file: str) -> str:
    """Text without marks in front or an end-of-file mark behind; no NUL in it."""
    text = text.lstrip("\ufeff").rstrip("\x1a")
    n_nul = text.count("\0")
    if n_nul > len(text) / 8:
        says = "The file's encoding is not clear: it has empty (NUL) bytes all through"
        raise KitError(Fault("encoding", says=says, advice=_SAVE_AS, file=file))
    if n_nul:
        says = "this row holds empty (NUL) bytes, which a failed save or copy leaves"
        advice = "Type the row again, or go back to an earlier copy."
        raise KitError(_rows_with("\0", text, says, advice, file))
    return text


def _one_byte_a_letter(data: bytes, file: str) -> tuple[str, tuple[str, ...]]:
    half = data.decode("utf-8", "surrogateescape")
    if re.search("[^\0-\x7f\udc80-\udcff]", half):
        says = "the file is UTF-8, but this row holds bytes that are not"
        advice = 'Type its accented letters again and save as "CSV UTF-8".'
        raise KitError(_rows_with("[\udc80-\udcff]", half, says, advice, file))
    is_mac = b"\r" in data and b"\n" not in data
    encoding, name = ("mac_roman", "Mac Roman") if is_mac else ("cp1252", "Windows")
    try:
        text = _tidy(data.decode(encoding), file)
    except UnicodeDecodeError:
        says = "this row holds bytes that are neither UTF-8 nor Windows text"
        raise KitError(
            _rows_with("[\udc81\udc8d\udc8f\udc90\udc9d]", half, says, _SAVE_AS, file)
        ) from None
    odd = _odd_words(text)
    note = (
        f"{file or 'The file'} is not UTF-8 and was read as {name} text, which makes "
        f'"{odd[0][:40] if odd else " "}" one of its words. If that looks wrong, save '
        'it as "CSV UTF-8".'
    )
    return text, (note,)


def _odd_words(text: str) -> list[str]:
    return [word for word in _BETWEEN_WORDS.split(text) if not word.isascii()]


def _spoilt(text: str, file: str) -> tuple[str, ...]:
    """What an earlier program did to the letters, as far as it can be seen."""
    place = file or "The file"
    if "\ufffd" in text:
        return (
            f'{place}: letters were lost in an earlier save and stand as "\ufffd". '
            "Type them again.",
        )
    if not _MISREAD.search(text):
        return ()
    for word in _odd_words(text):
        try:
            right = word.encode("cp1252").decode("utf-8")
        except UnicodeError:
            continue
        return (
            f'{place}: "{word[:40]}" looks like "{right[:40]}" as a program misread it '
            "in an earlier save. Type such words again.",
        )
    return ()


def _rows_with(
    pattern: str, text: str, says: str, advice: str, file: str
) -> list[Fault]:
    lines = enumerate(_LINE_END.split(text), 1)
    rows = [row for row, line in lines if re.search(pattern, line)]
    fault = Fault("encoding", says=says, advice=advice, file=file)
    return [fault.at(row=row) for row in rows]


def with_line_ends(text: str, before: bytes) -> str:
    """Text with the line ends of what it takes the place of, if all of them were CRLF.

    >>> with_line_ends("a\\nb\\n", b"x\\r\\n")
    'a\\r\\nb\\r\\n'
    """
    if b"\n" in before and before.count(b"\n") == before.count(b"\r\n"):
        return text.replace("\r\n", "\n").replace("\n", "\r\n")
    return text
