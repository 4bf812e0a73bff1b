"""Where blankets lie: the demos, the one in view, those beside it, a new one."""

from __future__ import annotations

import os
from pathlib import Path

from kit.blanket.folder import stash_path
from kit.errors import Fault, KitError
from kit.files import read_bytes, save_all, shared_folder
from kit.files.folders import CHOICES, STASH, file_name

DEMO = "reading-room"
EXAMPLE = (
    "no,name,colours,grams,metres_per_100g,weight,style,surface,family,fibre,lot,care,"
    "role,notes\n"
    '1,An example,"#9caf88 60%, #b9c7a4 40%",50,400,fingering,tonal,smooth,,wool,,,,'
    "make this row your first yarn\n"
)


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


def begin_blanket(below: str | Path, name: str) -> Path:
    """Make a folder with a stash of one example row and a blanket.toml; its path.

    The folder lies in `below` and is called after the blanket. Raises KitError where
    the name is blank or such a folder is there already.
    """
    import tomlkit

    name = " ".join(name.split())
    if not name:
        fault = Fault("missing", "nothing", "a name", column="New blanket")
        raise KitError(fault)
    folder = Path(below) / file_name(name)
    if os.path.lexists(folder):
        says = f"{folder} is there already, so nothing was made"
        raise KitError(Fault("folder_exists", says=says, advice="Take another name."))
    text = tomlkit.dumps({"name": name})
    save_all(folder, {STASH: EXAMPLE.encode(), CHOICES: text.encode()})
    return folder.resolve()
