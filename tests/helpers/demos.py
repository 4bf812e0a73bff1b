"""Clean copies of the demos: as the repository has them, without what was made there.

The README's first command writes `data/reading-room/plan`, which git ignores. Tests
that take whole folders must not find it.
"""

import shutil
from pathlib import Path

from kit.blanket.whereabouts import DEMO
from kit.files import shared_folder

_made_there = shutil.ignore_patterns("plan", "plan-*", ".*")


def copy_of(name: str, to: Path, data: Path | None = None) -> Path:
    """The demo of this name, copied to the folder `to`, which is made."""
    demo = (data or shared_folder("data")) / name
    return Path(shutil.copytree(demo, to, ignore=_made_there))


def own_demo(below: Path) -> Path:
    """What kit's own_demo gives: blankets/reading-room, the other demos beside it."""
    for stash in sorted(shared_folder("data").glob("*/stash.csv")):
        copy_of(stash.parent.name, below / "blankets" / stash.parent.name)
    return (below / "blankets" / DEMO).resolve()
