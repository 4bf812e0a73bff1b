"""The blanket folder: opened, its choices tried and saved."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from kit.blanket.choices import Choices
from kit.blanket.choices_toml import changed_toml, read_choices
from kit.blanket.keys import KEYS, as_toml, values_of, with_changes, yarn_names
from kit.blanket.stash import Stash, Yarn
from kit.blanket.stash_csv import read_stash
from kit.errors import Fault, KitError, shorten, unknown
from kit.files import digest, read_bytes, save_text
from kit.files.folders import CHOICES, SHOP, STASH
from kit.files.reading import found_as
from kit.files.saving import mend
from kit.late import draws_itself

WORKBOOKS = (".xlsx", ".ods")  # a stash or shop may be one, where there is no .csv
NO_ROWS = {"empty_file", "no_rows"}  # the faults of a list in which nothing stands yet
N_TRIES = 20  # of saving, where another notebook saves the same file all the time
OF_YARNS = [
    key for key, one in KEYS.items() if one.yarns and key.startswith("colours.")
]
T = TypeVar("T")


@draws_itself("kit.pictures.notebook:blanket_html")
@dataclass(frozen=True, slots=True)
class Blanket:
    """What a blanket folder holds: the yarns, what could be bought, the choices.

    Attributes
    ----------
    folder : Path
        Where it lies.
    stash : Stash
        The yarns in hand.
    shop : Stash or None
        Yarns that could be bought; None where there is no list.
    choices : Choices
        What blanket.toml says, and the defaults for the rest.
    """

    folder: Path
    stash: Stash
    shop: Stash | None
    choices: Choices

    def __repr__(self) -> str:
        return f"Blanket({self.choices.name!r}, {len(self.stash.yarns)} yarns)"


# --- opened ---------------------------------------------------------------------------


def open_blanket(
    folder: str | Path,
    *,
    shop_file: str | Path | None = None,
    settings: Mapping[str, Any] | None = None,
) -> Blanket:
    """Read a blanket folder: its stash, its choices and what could be bought.

    Parameters
    ----------
    folder : str or Path
        Holds stash.csv (or .xlsx, .ods) and blanket.toml; shop.csv where there is one.
    shop_file : str or Path, optional
        Read instead of the folder's shop.csv.
    settings : mapping, optional
        Checked values that win over blanket.toml, as `read_settings` makes them.

    Returns
    -------
    Blanket
        Masses in g, lengths in m, sizes in cm, whatever the files have them in.

    Raises
    ------
    KitError
        With the faults of all files of the folder, each with its row and column.

    Examples
    --------
    >>> import kit
    >>> kit.open_blanket(kit.shared_folder("data") / "pram-cover")
    Blanket("Lock-keeper's pram cover", 14 yarns)
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise KitError(_no_folder(folder))
    mend(folder)
    mend(folder / "plan")
    faults: list[Fault] = []
    own_shop = found_as(folder / SHOP, WORKBOOKS)
    shop_path = (
        Path(shop_file) if shop_file else own_shop if own_shop.exists() else None
    )
    stash = _try(lambda: _read_yarns(stash_path(folder)), faults)
    of_shop: list[Fault] = []
    shop = shop_path and _try(lambda: _read_yarns(shop_path), of_shop)
    empty = bool(of_shop) and {fault.code for fault in of_shop} <= NO_ROWS
    faults += [] if empty else of_shop
    choices = _try(
        lambda: read_choices(_choices_text(folder), settings=settings), faults
    )
    if stash and choices and (shop or empty or not shop_path):
        shop = shop and _apart(shop, stash)
        faults += name_faults(choices, [*stash.yarns, *(shop.yarns if shop else ())])
    if faults or stash is None or choices is None:
        raise KitError(faults)
    if shop_path and empty:
        none = f"{shop_path.name} has no rows: nothing is taken from a shop."
        stash = replace(stash, notes=(*stash.notes, none))
    return Blanket(folder, stash, shop or None, choices)


def _no_folder(folder: Path) -> Fault:
    if folder.is_file():
        says = f"{folder} is a file"
        advice = f"Give the folder that it lies in: {folder.parent}."
        return Fault("no_folder", says=says, advice=advice)
    return Fault("no_folder", says=f"There is no folder {folder}")


def stash_path(folder: str | Path) -> Path:
    """The folder's stash: stash.csv, or where there is none stash.xlsx or stash.ods."""
    return found_as(Path(folder) / STASH, WORKBOOKS)


def _read_yarns(path: Path) -> Stash:
    stash = read_stash(read_bytes(path), file=path.name)
    return replace(stash, notes=(*stash.notes, *_not_read(path)))


def _not_read(path: Path) -> list[str]:
    """The workbooks that lie beside a .csv of their name."""
    beside = [path.with_suffix(ending) for ending in WORKBOOKS]
    return [
        f"{other.name} lies beside {path.name} and is not read."
        for other in beside
        if other != path and other.is_file()
    ]


def _try(read: Callable[[], T], faults: list[Fault]) -> T | None:
    try:
        return read()
    except KitError as error:
        faults += error.faults
    return None


def _apart(shop: Stash, stash: Stash) -> Stash:
    """The shop's skeins with names and numbers that no ball of the stash has."""
    taken = {yarn.name for yarn in stash.yarns}
    numbers = {yarn.no for yarn in stash.yarns}
    free = 1 + max(yarn.no for yarn in (*stash.yarns, *shop.yarns))
    named = []
    for yarn in shop.yarns:
        name = yarn.name
        while name in taken:
            name += " (shop)"
        taken.add(name)
        no, free = (free, free + 1) if yarn.no in numbers else (yarn.no, free)
        named.append(replace(yarn, name=name, no=no))
    return replace(shop, yarns=tuple(named))


def name_faults(choices: Choices, yarns: Sequence[Yarn]) -> list[Fault]:
    """Yarn names among the choices that no yarn has, each with the nearest one."""
    known, values = [yarn.name for yarn in yarns], values_of(choices)
    return [
        unknown("yarn", name, known).at(file=CHOICES, column=key)
        for key, one in KEYS.items()
        if one.yarns
        for item in values[key]
        for name in yarn_names(item)
        if name not in known
    ]


def open_without_gone(
    folder: str | Path,
) -> tuple[Blanket, dict[str, Any], tuple[str, ...]]:
    """`open_blanket`, but yarns gone from the stash are passed over in the choices.

    Also gives the choices without them, to be saved with the next change made by hand,
    and a sentence that tells. Raises KitError for every other fault.
    """
    try:
        return open_blanket(folder), {}, ()
    except KitError as error:
        faults = error.faults
        if any(f.code != "unknown" or f.column not in OF_YARNS for f in faults):
            raise
    gone = dict.fromkeys(fault.found for fault in faults)
    values = values_of(read_choices(_choices_text(Path(folder))))
    left = {
        key: tuple(item for item in values[key] if not {*yarn_names(item)} & {*gone})
        for key in OF_YARNS
    }
    kept = {key: items for key, items in left.items() if items != values[key]}
    blanket = open_blanket(folder, settings=kept)
    listed = ", ".join(f'"{shorten(name)}"' for name in gone)
    said = (
        f"No longer in the stash, so passed over here: {listed}. {CHOICES} names "
        "them until the next change is saved."
    )
    return blanket, {key: as_toml(value) for key, value in kept.items()}, (said,)


# --- choices tried and saved ----------------------------------------------------------


def choose(blanket: Blanket, **changes: Any) -> Blanket:
    """The same blanket with other choices; nothing is saved.

    Parameters
    ----------
    blanket : Blanket
        An open one.
    **changes
        Keys of blanket.toml, values as it would hold them: `by="smoothest"`,
        `width_cm=100`; where several tables have a key, with its table,
        `**{"strands.most": 4}`. None: the default again.

    Returns
    -------
    Blanket
        With the same stash and shop list.

    Raises
    ------
    KitError
        Where a key, a word or the name of a yarn is not known, with the nearest one.

    Examples
    --------
    >>> import kit
    >>> blanket = kit.open_blanket(kit.shared_folder("data") / "pram-cover")
    >>> kit.choose(blanket, by="value").choices
    Choices("Lock-keeper's pram cover", by value, mirrored)
    """
    choices = with_changes(blanket.choices, changes)
    _check_names(choices, blanket)
    return replace(blanket, choices=choices)


def save_choices(blanket: Blanket, changes: Mapping[str, Any]) -> Blanket:
    """Write changed keys to blanket.toml; its remarks and order stay.

    What another program has changed in the file meanwhile stays, whatever its key.

    Parameters
    ----------
    blanket : Blanket
        An open one; its folder is written to.
    changes : mapping
        Keys as `choose` takes them: {"by": "value", "size.width_cm": 120}.

    Returns
    -------
    Blanket
        With the choices as the file now has them.

    Raises
    ------
    KitError
        With the file as it was, where it cannot be written or a value is wrong.
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
