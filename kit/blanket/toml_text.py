"""TOML text and its values; what is wrong with a text, in words."""

from __future__ import annotations

import re
import tomllib
from math import inf
from typing import Any

from kit.errors import Fault, KitError, shorten

_LINE = re.compile(r"at line (\d+)")
_BARE = re.compile(r"\s*([\w.-]+)\s*=\s*([^\s\"'\[{#,][^#\[\]{}=]*?)\s*(?:#.*)?")
_CURLY = "\u201c\u201d\u201e\u2018\u2019\u00ab\u00bb"


def read_toml(text: str, *, file: str = "") -> dict[str, Any]:
    """TOML text as a dict. Raises KitError."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        if fault := _unquoted(text, str(error)):
            raise KitError(fault.at(file=file)) from None
        why = str(error).rstrip(".")
    except (RecursionError, ValueError):  # Python's own limits
        why = "brackets too deep, or a number too long"
    fault = Fault("toml", says=f"cannot be read as TOML: {why}", file=file)
    raise KitError(fault)


def _unquoted(text: str, why: str) -> Fault | None:
    """The fault of a line whose value is text that has no straight quotation marks."""
    where = _LINE.search(why)
    number = int(where[1]) if where else 0
    line = [*text.splitlines(), ""][number - 1]
    found = _BARE.fullmatch(line) if number else None
    if not found:
        return None
    key, value = found[1], found[2].strip(_CURLY)
    if not value or "\\" in value or '"' in value and "'" in value:
        return None
    mark = "'" if '"' in value else '"'
    says = f"line {number} cannot be read: {shorten(line)}"
    advice = f"Put text in quotes: {key} = {mark}{shorten(value)}{mark}."
    if re.fullmatch(r"[+-]?\d+,\d+", value):
        advice = f"Write a decimal point: {key} = {value.replace(',', '.')}."
    elif not re.search(r'[^\W\d_]|"', value):
        return None
    return Fault("toml", says=says, advice=advice)


def toml_value(text: str) -> Any:
    """The value that a piece of TOML stands for, else the text itself.

    >>> toml_value("8"), toml_value('"value"'), toml_value("value")
    (8, 'value', 'value')
    """
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (RecursionError, ValueError):  # no TOML, or beyond Python's own limits
        return text


def in_toml(value: Any) -> str:
    """A default of blanket.toml as it would stand there; inf is its "none".

    >>> in_toml(20.0), in_toml("hue"), in_toml(inf)
    ('20', '"hue"', '"none"')
    """
    if isinstance(value, float):
        return '"none"' if value == inf else f"{value:g}"
    return f'"{value}"' if isinstance(value, str) else str(value)


def shown(value: Any) -> str:
    """Any value of TOML as text for a sentence; Python will not print every number."""
    try:
        return value if isinstance(value, str) else repr(value)
    except (RecursionError, ValueError):
        return "a number too long to show"
