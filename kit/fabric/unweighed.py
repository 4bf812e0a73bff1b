"""Why a plan stops at the colours, and both ways on where few balls are unweighed."""

from __future__ import annotations

import json
import shlex
from collections.abc import Sequence

from kit.blanket import Choices, Stash, Yarn
from kit.errors import shorten
from kit.files.disk import CHOICES, STASH

N_NAMED = 6  # yarns that are named; more are counted
ALONE = "This plan is the colour design alone"
TELLS = "it will say rows, metres and where each ball ends"


def no_fabric_words(
    yarns: Sequence[Yarn], stash: Stash, choices: Choices
) -> tuple[str, ...]:
    """What would take a plan of these yarns further; the stash has their rows."""
    making = choices.making
    if making.gauge is None or making.size is None:
        return (f"{ALONE}: fabric needs both [gauge] and [size] in {CHOICES}.",)
    rows = zip(stash.yarns, stash.table.rows, strict=False)
    row = {yarn.name: line.number for yarn, line in rows}
    every = {yarn.name for yarn in yarns}
    missing = {yarn.name for yarn in yarns if yarn.metres is None}
    named = sorted(missing, key=lambda name: (row.get(name) or 10**9, name))
    if 2 * len(named) > len(every):
        return (f"{ALONE}. Weigh these and {TELLS}: {_few(named, {})}.",)
    are = "is" if len(named) == 1 else "are"
    them = "it" if len(named) == 1 else "them"
    return (
        f"{ALONE}: {len(named)} of {len(every)} yarns {are} not weighed in {STASH}, "
        f"{_few(named, row)}. Weigh {them}, and {TELLS}.",
        f"Or plan without {them}: {leave_out_command(named, choices)} "
        f"(in the notebook 2_colours: Leave out).",
    )


def _few(names: Sequence[str], row: dict[str, int]) -> str:
    """The first names, with their rows where those are known."""
    told = []
    for name in names[:N_NAMED]:
        at = f" (row {row[name]})" if row.get(name) else ""
        told.append(f'"{shorten(name)}"{at}')
    more = len(names) - N_NAMED
    return ", ".join([*told, *([f"and {more} more"] if more > 0 else [])])


def leave_out_command(names: Sequence[str], choices: Choices) -> str:
    """The command line that plans without these yarns and those left out already.

    In double quotes with the names in single ones, as every shell reads it; names that
    hold a sign that is special there are quoted for a POSIX shell.
    """
    left = list(dict.fromkeys((*choices.laying.left_out, *names)))
    if any(set(name) & set("'\"\\$`!%^") for name in left):
        listed = ", ".join(json.dumps(name, ensure_ascii=False) for name in left)
        setting = shlex.quote(f"colours.left_out=[{listed}]")
    else:
        listed = ", ".join(f"'{name}'" for name in left)
        setting = f'"colours.left_out=[{listed}]"'
    return f"python -m kit plan FOLDER --set {setting}"
