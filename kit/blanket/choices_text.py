"""blanket.toml with keys changed, as text; its remarks and order stay."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

import tomlkit

from kit.blanket.choices import Carry, Kept
from kit.blanket.keys import TABLES, check_key, full_key
from kit.blanket.toml_text import read_toml
from kit.errors import Fault, KitError
from kit.files.disk import CHOICES

LISTED = ("sections", "carry")  # written as [[sections]], one after the other


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
    return _ends_as(text, tomlkit.dumps(document))


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


def _ends_as(before: str, text: str) -> str:
    """The text with the line ends of the one before."""
    if "\n" in before and before.count("\n") == before.count("\r\n"):
        return text.replace("\r\n", "\n").replace("\n", "\r\n")
    return text


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


# --- choices as blanket.toml would hold them ------------------------------------------


def as_toml(items: Collection[Any]) -> list[Any] | None:
    """Frozen choices as blanket.toml would hold them; None for none.

    >>> as_toml(("A", ("B", "C")))
    ['A', ['B', 'C']]
    """
    held = [
        {"yarn": item.yarn, "after": item.after, "before": item.before}
        if isinstance(item, Kept)
        else item
        if isinstance(item, str)
        else list(item)
        for item in items
    ]
    return held or None


def carry_item(carry: Carry) -> dict[str, Any]:
    """A yarn carried along as blanket.toml would hold it."""
    item: dict[str, Any] = {"yarn": carry.yarn}
    if carry.rows is not None:
        item["rows"] = list(carry.rows)
    if carry.section:
        item["section"] = carry.section
    if carry.family:
        item["family"] = carry.family
    return item
