"""The text of one cell: without invisible marks, a name, a word of a list."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from kit.errors import Fault, KitError, unknown

# Marks that turn the writing direction (they can make a name read as another) and
# marks of no width. The zero-width joiner and non-joiner stay: emoji and Persian
# need them.
_INVISIBLE = frozenset(
    "\u061c\u200b\u200e\u200f\u2060\ufeff"
    "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
    "\ufffe\uffff"  # no letters, and no XML may hold them
)


def clean_text(text: str) -> tuple[str, bool]:
    """Text in one line and one spelling (NFC), and whether marks were taken out.

    >>> clean_text(" Cre\u0300me\u200b  blanche ")
    ('Crème blanche', True)
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.split()), False
    kept = "".join(c for c in text if not _is_mark(c))
    line = " ".join(unicodedata.normalize("NFC", kept).split())
    return line, len(kept) < len(text)


def _is_mark(c: str) -> bool:
    return c in _INVISIBLE or (unicodedata.category(c) == "Cc" and not c.isspace())


def read_name(text: str) -> str:
    """A name: any text in which something can be seen. Raises KitError."""
    if any(unicodedata.category(c)[0] in "LNPS" for c in text):
        return text
    raise KitError(Fault("missing", "nothing", "a name"))


def read_choice(text: str, kind: str, known: Sequence[str]) -> str:
    """A word of a list, whatever its case, blanks and hyphens; "" for a blank cell.

    >>> read_choice("Leave-Out ", "role", ["use", "leave out"])
    'leave out'
    """
    spelled = {_squash(word): word for word in ("", *known)}
    if _squash(text) not in spelled:
        raise KitError(unknown(kind, text, known))
    return spelled[_squash(text)]


def _squash(word: str) -> str:
    return re.sub(r"[\s_-]+", "", word).casefold()
