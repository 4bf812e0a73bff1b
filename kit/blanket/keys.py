"""The keys of blanket.toml: checked one by one, put together as Choices, and back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass, fields, is_dataclass, replace
from difflib import get_close_matches
from itertools import chain
from typing import Any

from kit.blanket.checks import Key, WrongError, keys_of, printed
from kit.blanket.choices import (
    GAUGE,
    Arranging,
    Bridging,
    Choices,
    Judging,
    Laying,
    Making,
    Pace,
    Size,
    Strands,
)
from kit.errors import Fault, KitError, unknown
from kit.yarn import Gauge
from kit.yarn.measures import in_units

# Whose fields each table holds, in the order in which tables and keys are told.
_HOMES: tuple[tuple[str, tuple[Any, ...]], ...] = (
    ("", (Choices,)),
    ("gauge", (Gauge,)),
    ("size", (Size,)),
    ("strands", (Strands,)),
    ("colours", (Arranging, Laying, Judging, Bridging)),
    ("pace", (Pace,)),
    ("", (Making,)),
)
_TABLE_OF = {kind: table for table, kinds in _HOMES for kind in kinds}
TABLES = tuple(table for table, _ in _HOMES if table)


def _declared(table: str, kinds: tuple[Any, ...]) -> Iterator[tuple[str, Key]]:
    """The keys of a table, with it."""
    found = (GAUGE if kind is Gauge else keys_of(kind) for kind in kinds)
    pairs = chain.from_iterable(keys.items() for keys in found)
    for name, one in sorted(pairs, key=lambda pair: pair[1].told):
        yield _dotted(table, name), one


def _dotted(table: str, name: str) -> str:
    return f"{table}.{name}" if table else name


KEYS: dict[str, Key] = dict(chain.from_iterable(_declared(*home) for home in _HOMES))


def full_key(key: str) -> str:
    """A key with its table: that of [colours], else of the one table that has it.

    >>> full_key("by"), full_key("size.width_cm"), full_key("width_cm")
    ('colours.by', 'size.width_cm', 'size.width_cm')
    """
    if "." in key or key in KEYS:
        return key
    homes = [known for known in KEYS if known.rpartition(".")[2] == key]
    return homes[0] if len(homes) == 1 else f"colours.{key}"


def check_key(key: str, value: Any) -> Any:
    """One key's value, checked and frozen. Raises KitError with the key as place."""
    if key not in KEYS:
        raise KitError(unknown("key", key, _keys_beside(key)))
    try:
        return KEYS[key].check(value)
    except WrongError as wrong:
        fault = Fault("choice", found=printed(value), expected=str(wrong), column=key)
        raise KitError(fault) from None
    except KitError as error:
        raise KitError(fault.at(column=key) for fault in error.faults) from None


def _keys_beside(key: str) -> list[str]:
    """The keys of the same table, to name the nearest; else the tables."""
    table = key.split(".")[0] + "."
    beside = [k for k in KEYS if k.startswith(table) or k.endswith(f".{key}")]
    return beside or [known for known in KEYS if "." not in known] + [*TABLES]


def missing_keys(stated: Set[str], misspelt: Set[str] = frozenset()) -> list[Fault]:
    """Keys that a table needs; not those that a misspelt one was meant for."""
    tables = {"", *(key.split(".")[0] for key in stated)}
    absent = [
        key
        for key, one in KEYS.items()
        if one.needed and key.rpartition(".")[0] in tables and key not in stated
        if not get_close_matches(key, misspelt, n=1)
    ]
    return [Fault("missing", "nothing", "a value", column=key) for key in absent]


@dataclass(frozen=True, slots=True)
class AtMost:
    """What one key may say at most: what another one says.

    `key` is what the other is called where this is told, in the file by its key.

    >>> str(AtMost("strands.most", 3))
    'no more than strands.most (3)'
    """

    key: str
    most: float

    def __str__(self) -> str:
        return f"no more than {self.key} ({self.most:g})"


# --- Choices from values by key, and back ---------------------------------------------


def choices_of(values: Mapping[str, Any]) -> Choices:
    """Checked values by key as Choices. Raises KitError where they do not agree."""
    making = Making(
        strands=Strands(**_fields(Strands, values)),
        pace=Pace(**_fields(Pace, values)),
        **_fields(Making, values),
    )
    _check_agree(making)
    size, gauge = _fields(Size, values), _fields(Gauge, values)
    if gauge and "repeat_stitches" in size:
        gauge["repeat_stitches"] = size["repeat_stitches"]
    return Choices(
        arranging=Arranging(**_fields(Arranging, values)),
        laying=Laying(**_fields(Laying, values)),
        judging=Judging(**_fields(Judging, values)),
        bridging=Bridging(**_fields(Bridging, values)),
        making=replace(
            making,
            gauge=_gauge(gauge, values.get("units", "metric")) if gauge else None,
            size=Size(**size) if size else None,
        ),
        given=frozenset(values),
        **_fields(Choices, values),
    )


def _fields(kind: Any, values: Mapping[str, Any]) -> dict[str, Any]:
    """Of values by key those of one kind's fields, by the fields' names."""
    table = _TABLE_OF[kind]
    named = {_dotted(table, one.name): one.name for one in fields(kind)}
    return {name: values[key] for key, name in named.items() if key in values}


def _check_agree(making: Making) -> None:
    least, most = making.strands.least, making.strands.most
    if least > most:
        expected = AtMost("strands.most", most)
        raise KitError(Fault("choice", str(least), expected, column="strands.least"))
    named = [section.name for section in making.sections]
    for carry in making.carry:
        if carry.section and carry.section not in named:
            raise KitError(unknown("section", carry.section, named).at(column="carry"))


def _gauge(values: dict[str, Any], units: str) -> Gauge:
    try:
        return Gauge(**values)
    except KitError as error:
        named = (f.at(column=f"gauge.{f.column}".rstrip(".")) for f in error.faults)
        raise KitError(told_in(fault, units) for fault in named) from None


def told_in(fault: Fault, units: str) -> Fault:
    """A fault about lengths in the blanket's units."""
    found, expected = in_units(fault.found, units), in_units(fault.expected, units)
    return fault.at(found=found, expected=expected)


def with_changes(choices: Choices, changes: Mapping[str, Any]) -> Choices:
    """The same choices with other values by key; None: the default again.

    Keys as `full_key` takes them, values as blanket.toml would hold them. Raises
    KitError, also where values do not go together.
    """
    changed = {full_key(key): value for key, value in changes.items()}
    stated = {}
    for key, value in changed.items():
        if value is not None or key not in KEYS:
            stated[key] = check_key(key, value)
    values = {
        key: value
        for key, value in values_of(choices).items()
        if key not in changed
        and (KEYS[key].needed or value != KEYS[key].default or key in choices.given)
    } | stated
    if faults := missing_keys(values.keys()):
        raise KitError(faults)
    given = frozenset((choices.given - changed.keys()) | stated.keys())
    return replace(choices_of(values), given=given)


def values_of(choices: Choices) -> dict[str, Any]:
    """What the choices hold for each key, in the order of their fields; nothing for a
    table that is left out."""
    making = choices.making
    parts = (
        *(choices, choices.arranging, choices.laying, choices.judging),
        *(choices.bridging, making, making.gauge, making.size, making.strands),
        making.pace,
    )
    of_kind = {type(part): part for part in parts}
    return {
        key: getattr(of_kind[kind], one.name)
        for kind, table in _TABLE_OF.items()
        if kind in of_kind
        for one in fields(kind)
        if (key := _dotted(table, one.name)) in KEYS
    }


def yarn_names(item: Any) -> tuple[str, ...]:
    """The names of yarns in one item of a key that holds them.

    >>> from kit.blanket.choices import Carry
    >>> yarn_names("Sage"), yarn_names(("A", "B")), yarn_names(Carry("Mist"))
    (('Sage',), ('A', 'B'), ('Mist',))
    """
    if isinstance(item, str):
        return (item,)
    if isinstance(item, tuple):
        return item
    named = (name for name, one in keys_of(type(item)).items() if one.yarns)
    return tuple(getattr(item, name) for name in named)


def as_toml(items: Iterable[Any]) -> list[Any] | None:
    """Frozen choices as blanket.toml would hold them; None for none.

    >>> from kit.blanket.choices import Carry
    >>> as_toml(("A", ("B", "C")))
    ['A', ['B', 'C']]
    >>> as_toml([Carry("Mist", rows=(1, 60))])
    [{'yarn': 'Mist', 'rows': [1, 60]}]
    """
    return [_item_as_toml(item) for item in items] or None


def _item_as_toml(item: Any) -> Any:
    if isinstance(item, tuple):
        return list(item)
    if not is_dataclass(item):
        return item
    held = {one.name: (getattr(item, one.name), one.default) for one in fields(item)}
    return {
        name: _item_as_toml(value)
        for name, (value, default) in held.items()
        if value != default
    }
