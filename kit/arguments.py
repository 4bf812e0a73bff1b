"""What a reader hands in at kit's own door: looked at there, once, and told in words.

Rooms trust each other. A name means the same in every function of the door, so what is
expected under it stands in one table.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, wraps
from inspect import Parameter, Signature, signature
from math import isfinite
from numbers import Integral, Real
from typing import Any

from kit.errors import Fault, KitError, shorten, unknown
from kit.late import named

NAMED = (Parameter.POSITIONAL_OR_KEYWORD, Parameter.KEYWORD_ONLY)


@dataclass(frozen=True, slots=True)
class Expected:
    """What stands under a name: in words, whether a value is that, where it is from."""

    words: str
    fits: Callable[[Any], bool]
    advice: str = ""

    def instead_of(self, found: str, name: str) -> Fault:
        """The fault of something else under that name."""
        return Fault("argument", found, self.words, advice=self.advice, column=name)


def answered(function: Any) -> Any:
    """A function of the door whose wrong arguments raise a KitError; classes as they
    are."""
    return function if isinstance(function, type) else _checked(function)


@lru_cache(maxsize=64)
def _checked(function: Callable[..., Any]) -> Callable[..., Any]:
    asked, place = signature(function), f"kit.{function.__name__}"

    @wraps(function)
    def checked(*values: Any, **keywords: Any) -> Any:
        faults = _misfits(asked, values, keywords) or _wrong(asked, values, keywords)
        if faults:
            raise KitError(fault.at(file=place) for fault in faults)
        return function(*values, **keywords)

    return checked


# --- too many, too few, unknown -------------------------------------------------------


def _misfits(
    asked: Signature, values: Sequence[Any], keywords: Mapping[str, Any]
) -> list[Fault]:
    """The faults of a call that does not fit the function at all."""
    parameters = asked.parameters.values()
    known = [one.name for one in parameters if one.kind in NAMED]
    in_order = [one.name for one in parameters if one.kind is NAMED[0]]
    needed = [n for n in known if asked.parameters[n].default is Parameter.empty]
    more = any(one.kind is Parameter.VAR_KEYWORD for one in parameters)
    filled = in_order[: len(values)]
    strange = [] if more else [name for name in keywords if name not in known]
    faults = [unknown("keyword", name, known) for name in strange]
    if len(values) > len(in_order):
        found = f"{len(values)} arguments without a keyword"
        most = f"at most {len(in_order)}: {', '.join(in_order)}"
        faults.append(Fault("too_many", found, most))
    twice = Fault("twice", "it twice", "it once")
    faults += [twice.at(column=name) for name in filled if name in keywords]
    missing = [name for name in needed if name not in (*filled, *keywords)]
    return faults + [EXPECTED[name].instead_of("nothing", name) for name in missing]


# --- of another kind ------------------------------------------------------------------


def _wrong(
    asked: Signature, values: Sequence[Any], keywords: Mapping[str, Any]
) -> list[Fault]:
    """The arguments that are not what their names stand for."""
    given = asked.bind(*values, **keywords).arguments
    return [
        EXPECTED[name].instead_of(described(value), name)
        for name, value in given.items()
        if name in EXPECTED
        and value is not asked.parameters[name].default
        and not EXPECTED[name].fits(value)
    ]


def described(value: Any) -> str:
    """What was handed in, in a word or two.

    >>> described([]), described("red"), described(None), described([1, "red"])
    ('an empty list', 'the text "red"', 'nothing (None)', 'a list that begins with 1')
    """
    kind = type(value).__name__
    if value is None:
        return "nothing (None)"
    if isinstance(value, str):
        return f'the text "{shorten(value)}"'
    if isinstance(value, (bool, Real)):
        return str(value)
    if isinstance(value, (list, tuple)):
        if value:
            return f"{_one(kind)} that begins with {described(value[0])}"
        return f"an empty {kind}"
    if kind == "ndarray":
        return f"an array of shape {value.shape}"
    return _one(kind)


def _one(kind: str) -> str:
    return f"{'an' if kind[:1].lower() in 'aeiou' else 'a'} {kind}"


def _is(*homes: str) -> Callable[[Any], bool]:
    """Whether a value is of one of these classes ("module:class"), looked up late."""

    def fits(value: Any) -> bool:
        return isinstance(value, tuple(map(named, homes)))

    return fits


def _is_a(*kinds: type) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, kinds)


def _is_one_of(*words: str) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, str) and value in words


def _all_are(home: str) -> Callable[[Any], bool]:
    def fits(value: Any) -> bool:
        kind = named(home)
        listed = isinstance(value, (list, tuple))
        return listed and all(isinstance(one, kind) for one in value)

    return fits


def _is_number(least: float, most: float) -> Callable[[Any], bool]:
    def fits(value: Any) -> bool:
        real = isinstance(value, Real) and not isinstance(value, bool)
        return real and isfinite(value) and least <= value <= most

    return fits


def _are_indices(value: Any) -> bool:
    whole = isinstance(value, Collection) and not isinstance(value, str)
    return whole and all(isinstance(one, Integral) for one in value)


def _are_labs(value: Any) -> bool:
    import numpy as np  # late: kit's door is light

    try:
        array = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        return False
    return array.ndim > 0 and array.shape[-1] == 3


_FLAG = Expected("True or False", _is_a(bool))
_FRAME = Expected("a pandas DataFrame", _is("pandas:DataFrame"))
_INDICES = Expected("indices of steps: whole numbers", _are_indices)
_KEYS = Expected(
    "keys with their values", _is_a(Mapping), 'For example {"by": "value"}.'
)
_LABS = Expected("CIELAB colours: numbers in an array of shape (..., 3)", _are_labs)
_MIXES = Expected(
    "a list of Mix",
    _all_are("kit.colour:Mix"),
    "`stash.mixes` has those of a stash; `read_mix` reads one from text.",
)
_STASH = Expected(
    "a Stash",
    _is("kit.blanket:Stash"),
    "`stash_from(frame)` gives one, `open_blanket(folder).stash` another.",
)
_TABLES = _is(
    *("kit.blanket:Stash", "kit.arrangement:Design", "kit.fabric:Fabric"),
    *("kit.plan:Plan", "kit.colour.steps:Steps"),
)
EXPECTED: dict[str, Expected] = {
    "accents": _INDICES,
    "blanket": Expected(
        "a Blanket",
        _is("kit.blanket:Blanket"),
        "`open_blanket(folder)` gives one; a stash alone goes to `plan_stash`.",
    ),
    "changes": _KEYS,
    "folder": Expected("a folder", _is_a(str, os.PathLike)),
    "frame": _FRAME,
    "hints": _FLAG,
    "joins": _INDICES,
    "lab_1": _LABS,
    "lab_2": _LABS,
    "limit": Expected("a number from 0 to 200, in ΔE00", _is_number(0, 200)),
    "mixes": _MIXES,
    "mixes_1": _MIXES,
    "mixes_2": _MIXES,
    "name": Expected('"data" or "notebooks"', _is_one_of("data", "notebooks")),
    "pictures": _FLAG,
    "plan": Expected(
        "a Plan", _is("kit.plan:Plan"), "`plan_blanket` or `plan_stash` gives one."
    ),
    "quick": _FLAG,
    "settings": _KEYS,
    "shop": _STASH,
    "shop_file": Expected("a file", _is_a(str, os.PathLike)),
    "stash": _STASH,
    "text": Expected("text", _is_a(str)),
    "value": Expected("a Stash, Design, Fabric, Plan or Steps", _TABLES),
    "view": Expected(
        "a number from 0, in the hand, to 1, across the room", _is_number(0, 1)
    ),
}
