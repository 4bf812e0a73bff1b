"""blanket.toml: its text as Choices, and the text with keys changed."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from math import inf
from typing import Any

import tomlkit

from kit.blanket.checks import printed
from kit.blanket.choices import Choices
from kit.blanket.keys import (
    KEYS,
    TABLES,
    check_key,
    choices_of,
    full_key,
    missing_keys,
    values_of,
)
from kit.errors import Fault, KitError, shorten
from kit.files.decoding import with_line_ends
from kit.files.folders import CHOICES

TOLD = ("colours", "strands", "pace")  # tables whose keys all have a default
LISTED = ("sections", "carry")  # written as [[sections]], one after the other

_LINE = re.compile(r"at line (\d+)")
_BARE = re.compile(r"\s*([\w.-]+)\s*=\s*([^\s\"'\[{#,][^#\[\]{}=]*?)\s*(?:#.*)?")
_CURLY = "\u201c\u201d\u201e\u2018\u2019\u00ab\u00bb"


# --- the text as Choices --------------------------------------------------------------


def read_choices(
    text: str,
    *,
    settings: Mapping[str, Any] | None = None,
    file: str = "blanket.toml",
) -> Choices:
    """blanket.toml's text as Choices; `settings` (checked values) win over it.

    Raises one KitError with every fault of the file.
    """
    faults: list[Fault] = []
    checked: dict[str, Any] = {}
    stated = []
    for key, value in _flat(read_toml(text, file=file), faults):
        stated.append(key)
        try:
            checked[key] = check_key(key, value)
        except KitError as error:
            faults += error.faults
    checked |= settings or {}
    faults += missing_keys({*checked, *stated}, misspelt={*stated} - KEYS.keys())
    if not faults:
        try:
            return choices_of(checked)
        except KitError as error:
            faults += error.faults
    raise KitError(fault.at(file=file) for fault in faults)


def read_settings(settings: Iterable[str]) -> dict[str, Any]:
    """`KEY=VALUE` words; the value is read as TOML, else as text. Raises KitError.

    >>> read_settings(["colours.by=value", "colours.value_slack=8"])
    {'colours.by': 'value', 'colours.value_slack': 8.0}
    """
    checked = {}
    for setting in settings:
        key, equals, text = setting.partition("=")
        if not equals:
            says = f'"{setting}" is not of the form KEY=VALUE, as in colours.by=value'
            raise KitError(Fault("setting", says=says))
        checked[key.strip()] = check_key(key.strip(), toml_value(text.strip()))
    return checked


def _flat(document: dict[str, Any], faults: list[Fault]) -> list[tuple[str, Any]]:
    pairs = []
    for key, value in document.items():
        if key not in TABLES:
            pairs.append((key, value))
        elif isinstance(value, dict):
            pairs += [(f"{key}.{inner}", item) for inner, item in value.items()]
        else:
            expected = f"a table, [{key}]"
            faults.append(Fault("choice", printed(value), expected, column=key))
    return pairs


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


def default_sentences(choices: Choices) -> list[str]:
    """What a default filled in, one sentence for each table."""
    sentences = []
    for table in TOLD:
        parts = [
            f"{key.removeprefix(f'{table}.')} = {in_toml(value)}"
            for key, value in values_of(choices).items()
            if key.startswith(f"{table}.")
            and key not in choices.given
            and value not in ((), None)
        ]
        if parts:
            sentences.append(f"[{table}] by default: " + ", ".join(parts) + ".")
    return sentences


def in_toml(value: Any) -> str:
    """A default of blanket.toml as it would stand there; inf is its "none".

    >>> in_toml(20.0), in_toml("hue"), in_toml(inf)
    ('20', '"hue"', '"none"')
    """
    if isinstance(value, float):
        return '"none"' if value == inf else f"{value:g}"
    return f'"{value}"' if isinstance(value, str) else str(value)


# --- the text with keys changed -------------------------------------------------------


def changed_toml(text: str, changes: Mapping[str, Any]) -> str:
    """blanket.toml's text with keys set (None: taken out), as `full_key` takes them.

    >>> changed_toml('name = "A"  # mine', {"by": "value"})
    'name = "A"  # mine\\n\\n[colours]\\nby = "value"\\n'
    """
    changed = {full_key(key): value for key, value in changes.items()}
    for key, value in changed.items():
        if value is not None:
            check_key(key, value)
    tables = {key.rpartition(".")[0] for key in changed} & {*TABLES}
    _check_tables(read_toml(text, file=CHOICES), tables)
    document = tomlkit.parse(text)
    for key, value in changed.items():
        table, _, name = key.rpartition(".")
        if value is None:
            (document.get(table, {}) if table else document).pop(name, None)
        elif table:
            _table_of(document, table)[name] = _inline(value)
        elif name in LISTED and value:
            _list_tables(document, name, value)
        else:
            document[name] = value
    return with_line_ends(tomlkit.dumps(document), text.encode("utf-8", "replace"))


def _check_tables(document: Mapping[str, Any], tables: Iterable[str]) -> None:
    for table in sorted(tables):
        was = document.get(table, {})
        if not isinstance(was, dict):
            fault = Fault("choice", repr(was), f"a table, [{table}]", column=table)
            raise KitError(fault.at(file=CHOICES))


def _table_of(document: tomlkit.TOMLDocument, table: str) -> Any:
    """A table of the file, put at its end where there is none."""
    if table not in document:
        _blank_line(document)
        document[table] = tomlkit.table()
    return document[table]


def _blank_line(document: tomlkit.TOMLDocument) -> None:
    text = tomlkit.dumps(document)
    if text and not text.endswith("\n"):
        document.add(tomlkit.nl())
    document.add(tomlkit.nl())


def _list_tables(
    document: tomlkit.TOMLDocument, name: str, items: Sequence[Mapping[str, Any]]
) -> None:
    """[[name]] once for each item; those that are there keep their remarks."""
    listed = document.get(name)
    if listed is None:
        _blank_line(document)
        document[name] = listed = tomlkit.aot()
    elif not isinstance(listed, tomlkit.items.AoT):
        document[name] = _inline(list(items))
        return
    del listed[len(items) :]
    for k, item in enumerate(items):
        if k == len(listed):
            listed.append(tomlkit.table())
        for key in [key for key in listed[k] if key not in item]:
            del listed[k][key]
        new = k == len(listed) - 1 and not listed[k]
        listed[k].update(item)
        if new and list(document)[-1] != name:  # what follows stands apart
            listed[k].add(tomlkit.nl())


def _inline(value: Any) -> Any:
    """A value for one line of TOML: tables, also in a list, stay in their brackets."""
    if isinstance(value, dict):
        table = tomlkit.inline_table()
        table.update(value)
        return table
    if not (isinstance(value, list) and any(isinstance(item, dict) for item in value)):
        return value
    listed = tomlkit.array()
    for item in value:
        listed.append(_inline(item))
    return listed
