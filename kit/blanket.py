"""The blanket folder, and the only place where the stages are put together."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

import tomlkit

from kit.choices import Choices
from kit.colour import chroma_hue
from kit.design import Design, design_colours
from kit.errors import Fault, KitError, unknown
from kit.files import digest, read_bytes, save_all, save_text, shared_folder
from kit.keys import check_key, default_sentences, read_choices
from kit.stash import Stash, Yarn, read_stash

STASH, SHOP, CHOICES = "stash.csv", "shop.csv", "blanket.toml"
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
    """A blanket worked out: what it was made from, and what came of it."""

    stash: Stash
    choices: Choices
    design: Design
    assumed: tuple[str, ...]
    cautions: tuple[str, ...]


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
    faults: list[Fault] = []
    own_shop = folder / SHOP
    shop_path = (
        Path(shop_file) if shop_file else own_shop if own_shop.exists() else None
    )
    stash = _try(lambda: read_stash(read_bytes(folder / STASH), file=STASH), faults)
    shop = shop_path and _try(
        lambda: read_stash(read_bytes(shop_path), file=shop_path.name), faults
    )
    choices = _try(
        lambda: read_choices(
            read_bytes(folder / CHOICES).decode("utf-8-sig"), settings=settings
        ),
        faults,
    )
    if stash and choices:
        shop = shop and _apart(shop, stash)
        faults += name_faults(choices, [*stash.yarns, *(shop.yarns if shop else ())])
    if faults or stash is None or choices is None:
        raise KitError(faults)
    return Blanket(folder, stash, shop or None, choices)


def _try(read: Callable[[], T], faults: list[Fault]) -> T | None:
    try:
        return read()
    except KitError as error:
        faults += error.faults
    except UnicodeDecodeError:
        says = "is not UTF-8 text; save it again as UTF-8"
        faults.append(Fault("encoding", says=says, file=CHOICES))
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
        "colours.locked": arranging.locked,
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
    quick: bool = False,
) -> Plan:
    """Work a blanket out. Raises KitError where there is no yarn to use.

    `quick` searches less for the smoothest arrangement: a first answer for the screen.
    """
    if not any(yarn.role in ("use", "accent") for yarn in stash.yarns):
        says = "No yarn to use: every row has the role bridge or leave out"
        raise KitError(Fault("no_yarn", says=says, file=STASH, column="role"))
    design = design_colours(stash.yarns, shop, choices, quick=quick)
    assumed = (
        *stash.assumed,
        *stash.notes,
        *design.said,
        *default_sentences(choices),
        *_not_used(choices),
    )
    return Plan(stash, choices, design, assumed, cautions(stash.yarns))


def plan_blanket(blanket: Blanket, *, quick: bool = False) -> Plan:
    """The plan of an open blanket folder."""
    shop = blanket.shop.yarns if blanket.shop else ()
    return plan(blanket.stash, blanket.choices, shop=shop, quick=quick)


def _not_used(choices: Choices) -> list[str]:
    """What the file asks for that this version does not do yet, or cannot."""
    later = ("gauge", "size", "strands", "pace", "sections", "carry")
    tables = [
        table
        for table in later
        if any(key.split(".")[0] == table for key in choices.given)
    ]
    keys = ("colours.locked", "colours.fabric_jump_limit", "colours.smooth_for")
    named = tables + [key for key in keys if key in choices.given]
    said = "This plan is the colour design alone"
    return [f"{said}; not used yet: {', '.join(named)}." if named else f"{said}."]


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
    """The same blanket with other choices under [colours]; nothing is saved.

    Values as blanket.toml would hold them: `choose(blanket, by="smoothest")`.
    """
    text = changed_toml(_choices_text(blanket), changes)
    return replace(blanket, choices=read_choices(text))


def save_choices(blanket: Blanket, changes: Mapping[str, Any]) -> Blanket:
    """Write changed keys of [colours] to blanket.toml; its remarks and order stay.

    Raises KitError, with the file as it was, where it cannot be written or was changed
    elsewhere meanwhile.
    """
    path = blanket.folder / CHOICES
    seen = digest(path)
    text = changed_toml(_choices_text(blanket), changes)
    choices = read_choices(text)
    save_text(path, text, keep_previous=True, unless_changed_since=seen)
    return replace(blanket, choices=choices)


def _choices_text(blanket: Blanket) -> str:
    return read_bytes(blanket.folder / CHOICES).decode("utf-8-sig")


def changed_toml(text: str, changes: Mapping[str, Any]) -> str:
    """blanket.toml's text with keys of [colours] set (None: taken out).

    >>> changed_toml('name = "A"  # mine', {"by": "value"})
    'name = "A"  # mine\\n\\n[colours]\\nby = "value"\\n'
    """
    for key, value in changes.items():
        if value is not None:
            check_key(f"colours.{key}", value)
    document = tomlkit.parse(text)
    if "colours" not in document:
        if text and not text.endswith("\n"):
            document.add(tomlkit.nl())
        document.add(tomlkit.nl())
        document["colours"] = tomlkit.table()
    table = document["colours"]
    for key, value in changes.items():
        if value is None:
            table.pop(key, None)  # type: ignore[union-attr]
        else:
            table[key] = value  # type: ignore[index]
    return tomlkit.dumps(document)


# --- which folder ---------------------------------------------------------------------

DEMO = "reading-room"


def own_demo(below: str | Path) -> Path:
    """blankets/reading-room in the folder `below`: made once, then left alone."""
    blanket, demo = Path(below) / "blankets" / DEMO, shared_folder("data") / DEMO
    if not blanket.exists():
        files = [path for path in sorted(demo.rglob("*")) if path.is_file()]
        for folder in sorted({path.parent for path in files}):
            contents = {
                path.name: read_bytes(path) for path in files if path.parent == folder
            }
            save_all(blanket / folder.relative_to(demo), contents)
    return blanket.resolve()


def blanket_in_view() -> Path:
    """The folder a notebook is about.

    What `python -m kit open` said, else the folder above or around the notebook where
    it holds a stash.csv, else the demo, copied below here on first use.
    """
    here = Path.cwd()
    said = os.environ.get("SHADEPATH_BLANKET")
    for folder in (Path(said) if said else here, here, here.parent):
        if (folder / STASH).is_file():
            return folder.resolve()
    return own_demo(here)


def blankets_beside(folder: str | Path) -> list[Path]:
    """The folder and those beside it that hold a stash.csv, by name."""
    folder = Path(folder).resolve()
    found = {path.parent for path in folder.parent.glob(f"*/{STASH}")}
    return sorted(found | {folder})
