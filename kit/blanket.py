"""The blanket folder, and the only place where the stages are put together."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

import tomlkit

from kit.bridging import Bridge
from kit.choices import Choices
from kit.colour import chroma_hue
from kit.crossing import Crossed, carry_across
from kit.design import Design, design_colours, is_arranged
from kit.errors import Fault, KitError, shorten, unknown
from kit.fabric import (
    NOT_BEGUN,
    Fabric,
    Start,
    can_be_made,
    continued,
    make_fabric,
    smoother_run,
)
from kit.families import FAMILIES, family_named
from kit.files import (
    digest,
    found_as,
    mend,
    read_bytes,
    save_all,
    save_text,
    shared_folder,
)
from kit.keys import (
    TABLES,
    check_key,
    default_sentences,
    full_key,
    read_choices,
    read_toml,
    with_changes,
)
from kit.layout import Laid
from kit.stash import Stash, Yarn, read_stash
from kit.steps import Step, largest_step
from kit.stripes import stripe_steps

STASH, SHOP, CHOICES = "stash.csv", "shop.csv", "blanket.toml"
WORKBOOKS = (".xlsx", ".ods")  # a stash or shop may be one, where there is no .csv
N_TRIES = 20  # of saving, where another notebook saves the same file all the time
LISTED = ("sections", "carry")  # written as [[sections]], one after the other
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Blanket:
    """What a blanket folder holds: the yarns, what could be bought, the choices."""

    folder: Path
    stash: Stash
    shop: Stash | None
    choices: Choices

    def __repr__(self) -> str:
        return f"Blanket({self.choices.name!r}, {len(self.stash.yarns)} yarns)"


@dataclass(frozen=True, slots=True)
class Plan:
    """A blanket worked out: what it was made from, and what came of it.

    `fabric` is None where gauge, size or lengths are missing. `fabric_steps` lie
    between its stripes; `largest_by_yarn_order` is the largest of them, dE00, had the
    yarns been ordered by their own steps alone. `carried_bridges` are held across the
    hardest changes; their steps lie between stripes.
    """

    stash: Stash
    choices: Choices
    design: Design
    fabric: Fabric | None
    fabric_steps: tuple[Step, ...]
    largest_by_yarn_order: float | None
    carried_bridges: tuple[Bridge, ...]
    assumed: tuple[str, ...]
    cautions: tuple[str, ...]
    start: Start = NOT_BEGUN

    @property
    def for_stripes(self) -> bool:
        """Whether the order was sought on the stripes and flows better there than the
        balls' own; the steps between its balls then do not count."""
        others = self.largest_by_yarn_order
        if others is None or self.choices.arranging.by != "smoothest":
            return False
        return others > largest_step(self.fabric_steps) + 0.05


def open_blanket(
    folder: str | Path,
    *,
    shop_file: str | Path | None = None,
    settings: Mapping[str, Any] | None = None,
) -> Blanket:
    """Read a blanket folder; raises one KitError with the faults of all its files.

    `shop_file` is read instead of the folder's shop.csv; `settings` (checked values, as
    `keys.read_settings` makes them) win over blanket.toml.
    """
    folder = Path(folder)
    if not folder.is_dir():
        says = f"There is no folder {folder}"
        raise KitError(Fault("no_folder", says=says))
    mend(folder)
    mend(folder / "plan")
    faults: list[Fault] = []
    own_shop = found_as(folder / SHOP, WORKBOOKS)
    shop_path = (
        Path(shop_file) if shop_file else own_shop if own_shop.exists() else None
    )
    stash = _try(lambda: _read_yarns(stash_path(folder)), faults)
    shop = shop_path and _try(lambda: _read_yarns(shop_path), faults)
    choices = _try(
        lambda: read_choices(_choices_text(folder), settings=settings), faults
    )
    if stash and choices and (shop or not shop_path):
        shop = shop and _apart(shop, stash)
        faults += name_faults(choices, [*stash.yarns, *(shop.yarns if shop else ())])
    if faults or stash is None or choices is None:
        raise KitError(faults)
    return Blanket(folder, stash, shop or None, choices)


def stash_path(folder: str | Path) -> Path:
    """The folder's stash: stash.csv, or where there is none stash.xlsx or stash.ods."""
    return found_as(Path(folder) / STASH, WORKBOOKS)


def _read_yarns(path: Path) -> Stash:
    stash = read_stash(read_bytes(path), file=path.name)
    if faults := family_faults(stash, path.name):
        raise KitError(faults)
    return replace(stash, notes=(*stash.notes, *_not_read(path)))


def _not_read(path: Path) -> list[str]:
    """The workbooks that lie beside a .csv of their name."""
    beside = [path.with_suffix(ending) for ending in WORKBOOKS]
    return [
        f"{other.name} lies beside {path.name} and is not read."
        for other in beside
        if other != path and other.is_file()
    ]


def family_faults(stash: Stash, file: str) -> list[Fault]:
    """Cells of the column family that name none, each with its row."""
    faults: list[Fault] = []
    for yarn, row in zip(stash.yarns, stash.table.rows, strict=True):
        try:
            family_named(yarn.family or FAMILIES[0])
        except KitError as error:
            place = {"row": row.number, "column": "family", "name": yarn.name}
            faults += (fault.at(file=file, **place) for fault in error.faults)
    return faults


def _try(read: Callable[[], T], faults: list[Fault]) -> T | None:
    try:
        return read()
    except KitError as error:
        faults += error.faults
    return None


def _apart(shop: Stash, stash: Stash) -> Stash:
    """The shop's skeins with names that no ball of the stash has."""
    taken = {yarn.name for yarn in stash.yarns}
    named = []
    for yarn in shop.yarns:
        name = yarn.name
        while name in taken:
            name += " (shop)"
        taken.add(name)
        named.append(replace(yarn, name=name))
    return replace(shop, yarns=tuple(named))


def name_faults(choices: Choices, yarns: Sequence[Yarn]) -> list[Fault]:
    """Yarn names among the choices that no yarn has, each with the nearest one."""
    known = [yarn.name for yarn in yarns]
    arranging, kept = choices.arranging, choices.bridging.bridges_kept
    said = {
        "colours.accents": [n for pair in choices.judging.accents for n in pair],
        "colours.order": arranging.order,
        "colours.locked": [
            name
            for item in arranging.locked
            for name in ((item,) if isinstance(item, str) else item)
        ],
        "colours.left_out": choices.laying.left_out,
        "colours.bridges_kept": [
            n for one in kept for n in (one.yarn, one.after, one.before)
        ],
        "carry": [carry.yarn for carry in choices.making.carry],
    }
    return [
        unknown("yarn", name, known).at(file=CHOICES, column=key)
        for key, names in said.items()
        for name in names
        if name not in known
    ]


def plan(
    stash: Stash,
    choices: Choices,
    *,
    shop: Sequence[Yarn] = (),
    start: Start = NOT_BEGUN,
    quick: bool = False,
) -> Plan:
    """Work a blanket out. Raises KitError where there is no yarn to use.

    `start` says what is knitted and held already, and whether the stash then holds what
    is left or what was had; yarns that are finished are taken out. `quick`
    searches less for the smoothest arrangement: a first answer for the screen.
    """
    stash, left_out = _without(stash, choices.laying.left_out)
    whole_stash, stash = stash, _unfinished(stash, start)
    if not any(is_arranged(yarn, choices) for yarn in stash.yarns) and not start.ahead:
        says = "No yarn to arrange: every row is held back, left out or carried along"
        raise KitError(Fault("no_yarn", says=says, file=STASH, column="role"))
    along = _ahead(stash, shop, start)
    design = design_colours(stash.yarns, shop, choices, quick=quick, along=along)
    fabric: Fabric | None = None
    steps: tuple[Step, ...] = ()
    by_yarn_order: float | None = None
    across: tuple[Bridge, ...] = ()
    across_said: tuple[str, ...] = ()
    if can_be_made(_in_fabric(design, stash, choices), choices.making):
        fabric, steps = _knitted(design, stash, choices, start)
        by_yarn_order = largest_step(steps)
        if _smooth_for_fabric(choices) and not quick and not along:
            for other in _smoothed(design, stash, shop, choices):
                knitted = _knitted(other, stash, choices, start)
                if largest_step(knitted[1]) < largest_step(steps) - 1e-9:
                    design, (fabric, steps) = other, knitted
        crossed = _crossed(design, fabric, steps, stash, shop, choices, start)
        fabric, steps, across = crossed.fabric, crossed.steps, crossed.bridges
        across_said = crossed.said
        if start.knitted:
            fabric, by_yarn_order = continued(fabric, start, choices), None
            steps = stripe_steps(fabric.stripes, choices)
    suits: tuple[str, ...] = ()
    mirrored = choices.laying.layout == "mirrored"
    if fabric and not quick and mirrored and not start.row:
        suits = (_which_sharing(largest_step(steps), stash, choices, shop, start),)
    assumed = (
        *stash.assumed,
        *stash.notes,
        *left_out,
        *design.said,
        *across_said,
        *suits,
        *(fabric.said if fabric else no_fabric_words(design, choices)),
        *default_sentences(choices),
    )
    return Plan(
        whole_stash, choices, design, fabric, steps, by_yarn_order, across, assumed,
        cautions(whole_stash.yarns), start,
    )  # fmt: skip


def _unfinished(stash: Stash, start: Start) -> Stash:
    """The stash without the yarns that are not to be used any more."""
    if not start.finished:
        return stash
    kept = tuple(yarn for yarn in stash.yarns if yarn.name not in start.finished)
    return replace(stash, yarns=kept)


def _ahead(stash: Stash, shop: Sequence[Yarn], start: Start) -> Laid | None:
    """The yarns still to come as they lie along the blanket, where that is kept."""
    by_name = {yarn.name: yarn for yarn in (*shop, *stash.yarns)}
    kept = [one for one in start.ahead if one.yarn in by_name]
    if not kept:
        return None
    pairs = enumerate(zip(kept, kept[1:], strict=False))
    joins = {k for k, (one, two) in pairs if two.time > one.time}
    n_held = sum(one.yarn in start.held for one in kept[: len(start.held)])
    joins |= set(range(n_held - 1))  # between strands held together nothing can be put
    return Laid(tuple(by_name[one.yarn] for one in kept), frozenset(joins))


def _without(stash: Stash, names: Sequence[str]) -> tuple[Stash, tuple[str, ...]]:
    """The stash with these yarns left out of this blanket, and that it is so."""
    if not names:
        return stash, ()
    yarns = tuple(
        replace(yarn, role="leave out") if yarn.name in names else yarn
        for yarn in stash.yarns
    )
    listed = ", ".join(f'"{shorten(name)}"' for name in dict.fromkeys(names))
    said = f"Left out of this blanket alone (colours.left_out): {listed}."
    return replace(stash, yarns=yarns), (said,)


def _which_sharing(
    largest: float, stash: Stash, choices: Choices, shop: Sequence[Yarn], start: Start
) -> str:
    """Whether halving the balls or pairing look-alikes suits this stash, measured."""
    ways = {
        "halve": "Halving every ball",
        "pair": "Pairing look-alikes, no ball cut,",
    }
    chosen = choices.laying.sharing
    (other,) = (way for way in ways if way != chosen)
    laying = replace(choices.laying, sharing=other)
    changed = replace(choices, laying=laying)
    design = design_colours(stash.yarns, shop, changed)
    _, steps = _knitted(design, stash, changed, start)
    instead = largest_step(steps)
    suits = chosen if largest <= instead else other
    return (
        f"{ways[chosen]} leaves a largest step between stripes of {largest:.1f}; "
        f"{ways[other][0].lower()}{ways[other][1:]} would leave {instead:.1f}. "
        f'By that, sharing = "{suits}" suits this stash.'
    )


def _smoothed(
    design: Design, stash: Stash, shop: Sequence[Yarn], choices: Choices
) -> tuple[Design, Design]:
    """The yarns ordered for their stripes: with bridges put in, and with none but the
    kept ones, since a bridge between balls may break up good stripes."""
    run = smoother_run(design.arrangement.yarns, choices)
    bare = replace(choices, bridging=replace(choices.bridging, bridges=0))
    with_bridges, without = (
        design_colours(stash.yarns, shop, each, smooth=lambda _: run)
        for each in (choices, bare)
    )
    return with_bridges, without


def takes_long(choices: Choices) -> bool:
    """Whether a `quick` plan is worth showing before the full one."""
    return choices.arranging.by == "smoothest" or choices.laying.layout == "mirrored"


def _smooth_for_fabric(choices: Choices) -> bool:
    arranging = choices.arranging
    by_search = arranging.by == "smoothest" and not arranging.order
    return by_search and arranging.smooth_for == "fabric"


def _in_fabric(design: Design, stash: Stash, choices: Choices) -> list[Yarn]:
    return [*design.laid.yarns, *_carried(stash, choices)]


def _carried(stash: Stash, choices: Choices) -> list[Yarn]:
    names = {carry.yarn for carry in choices.making.carry}
    return [yarn for yarn in stash.yarns if yarn.name in names]


def _crossed(
    design: Design,
    fabric: Fabric,
    steps: tuple[Step, ...],
    stash: Stash,
    shop: Sequence[Yarn],
    choices: Choices,
    start: Start,
) -> Crossed:
    """With the bridges still allowed carried across the hardest changes of fabric."""
    carried = _carried(stash, choices)
    placed = {yarn.name for yarn in (*design.laid.yarns, *carried)}
    from_shop = shop if choices.bridging.bridges_from != "stash" else ()
    spare = [yarn for yarn in stash.yarns if yarn.role == "bridge"]

    def knit(changed: Choices, more: Sequence[Yarn]) -> Fabric:
        return make_fabric(design.laid, [*carried, *more], changed, start)

    return carry_across(
        fabric,
        steps,
        [yarn for yarn in (*spare, *from_shop) if yarn.name not in placed],
        choices,
        knit,
        most=choices.bridging.bridges - len(design.bridges),
    )


def _knitted(
    design: Design, stash: Stash, choices: Choices, start: Start
) -> tuple[Fabric, tuple[Step, ...]]:
    fabric = make_fabric(design.laid, _carried(stash, choices), choices, start)
    return fabric, stripe_steps(fabric.stripes, choices)


def plan_blanket(blanket: Blanket, *, quick: bool = False) -> Plan:
    """The plan of an open blanket folder.

    The last few are remembered: a choice taken back, and a plan written as it is shown,
    are there at once.
    """
    shop = blanket.shop.yarns if blanket.shop else ()
    return _remembered(blanket.stash, blanket.choices, shop, quick)


@lru_cache(maxsize=8)
def _remembered(
    stash: Stash, choices: Choices, shop: tuple[Yarn, ...], quick: bool
) -> Plan:
    return plan(stash, choices, shop=shop, quick=quick)


def no_fabric_words(design: Design, choices: Choices) -> list[str]:
    """Why the plan stops at the colours, and what would take it further."""
    said, making = "This plan is the colour design alone", choices.making
    if making.gauge is None or making.size is None:
        return [f"{said}: fabric needs both [gauge] and [size] in {CHOICES}."]
    unweighed = [yarn.name for yarn in design.laid.yarns if yarn.metres is None]
    few = ", ".join(dict.fromkeys(unweighed[:6])) + (
        ", …" if len(unweighed) > 6 else ""
    )
    return [
        f"{said}. Weigh these and it will say rows, metres and where each ball ends: "
        f"{few}."
    ]


def cautions(yarns: Sequence[Yarn]) -> tuple[str, ...]:
    """What to mind with these yarns, calmly and once; local guidance goes first."""
    used = [yarn for yarn in yarns if yarn.role != "leave out"]
    care = {yarn.label.care.casefold() for yarn in used}
    fibre = " ".join(yarn.label.fibre.casefold() for yarn in used)
    washing = "Wash by the gentlest label among the yarns used."
    if any("superwash" in text for text in care) and "wool" in fibre:
        washing += " Superwash and feltable wool in one stripe can pucker."
    if any(_may_bleed(yarn) for yarn in used):
        washing += " Test dark or red strands for bleeding first."
    loose = "Long loose ends, fringes and shedding fluff are a choking risk for small"
    return (
        "A blanket is not for a baby's sleep space unless the local health service "
        "says so; follow its advice.",
        washing,
        f"{loose} children and pets. The yarn's own label and local guidance go first.",
    )


def _may_bleed(yarn: Yarn) -> bool:
    """Dark or red colours (common practice, no source)."""
    for lab in yarn.mix.labs:
        chroma, hue = chroma_hue(lab)
        if lab[0] < 35 or (chroma > 30 and (hue < 45 or hue > 340)):
            return True
    return False


# --- choices made in the notebook -----------------------------------------------------


def choose(blanket: Blanket, **changes: Any) -> Blanket:
    """The same blanket with other choices; nothing is saved.

    Values as blanket.toml would hold them: `choose(blanket, by="smoothest")`, and of
    another table than [colours] `choose(blanket, **{"size.width_cm": 120})`.
    """
    choices = with_changes(blanket.choices, changes)
    _check_names(choices, blanket)
    return replace(blanket, choices=choices)


def save_choices(blanket: Blanket, changes: Mapping[str, Any]) -> Blanket:
    """Write changed keys to blanket.toml; its remarks and order stay.

    Keys as `keys.full_key` takes them: {"by": "value", "size.width_cm": 120}.
    What another program has changed in the file meanwhile stays, whatever its key.
    Raises KitError, with the file as it was, where it cannot be written.
    """
    path = blanket.folder / CHOICES
    for last in (*(False,) * N_TRIES, True):
        seen = digest(path)
        text = changed_toml(_choices_text(blanket.folder), changes)
        choices = read_choices(text)
        _check_names(choices, blanket)
        try:
            save_text(path, text, keep_previous=True, unless_changed_since=seen)
            break
        except KitError as error:  # changed since three lines above: read it again
            if last or error.faults[0].code != "changed_elsewhere":
                raise
    return replace(blanket, choices=choices)


def _check_names(choices: Choices, blanket: Blanket) -> None:
    shop = blanket.shop.yarns if blanket.shop else ()
    if faults := name_faults(choices, [*blanket.stash.yarns, *shop]):
        raise KitError(faults)


def _choices_text(folder: Path) -> str:
    """blanket.toml as text. Raises KitError."""
    try:
        return read_bytes(folder / CHOICES).decode("utf-8-sig")
    except UnicodeDecodeError:
        says = "is not UTF-8 text; save it again as UTF-8"
        raise KitError(Fault("encoding", says=says, file=CHOICES)) from None


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


# --- which folder ---------------------------------------------------------------------

DEMO = "reading-room"


def own_demo(below: str | Path) -> Path:
    """blankets/reading-room in the folder `below`, the other demos beside it.

    Each is made once, then left alone.
    """
    own = Path(below) / "blankets"
    for stash in sorted(shared_folder("data").glob(f"*/{STASH}")):
        _copied(stash.parent, own / stash.parent.name)
    return (own / DEMO).resolve()


def _copied(demo: Path, blanket: Path) -> None:
    if (blanket / STASH).exists():
        return
    files = [path for path in sorted(demo.rglob("*")) if path.is_file()]
    # The folder itself comes last: only a whole copy has a stash.
    for folder in sorted({path.parent for path in files}, reverse=True):
        below = blanket / folder.relative_to(demo)
        contents = {
            path.name: read_bytes(path)
            for path in files
            if path.parent == folder and not (below / path.name).exists()
        }
        save_all(below, contents)


def blanket_in_view() -> Path:
    """The folder a notebook is about.

    What `python -m kit open` said, else the folder above or around the notebook where
    it holds a stash.csv, else the demo, copied below here on first use.
    """
    here = Path.cwd()
    said = os.environ.get("SHADEPATH_BLANKET")
    for folder in (Path(said) if said else here, here, here.parent):
        if stash_path(folder).is_file():
            return folder.resolve()
    return own_demo(here)


def blankets_beside(folder: str | Path) -> list[Path]:
    """The folder and those beside it that hold a stash.csv, by name."""
    folder = Path(folder).resolve()
    beside = folder.parent.glob("*/stash.*")
    found = {path.parent for path in beside if path == stash_path(path.parent)}
    return sorted(found | {folder})
