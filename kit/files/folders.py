"""Names of files and folders: a blanket's, any text as one, and the kit's own."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from kit.errors import Fault, KitError

STASH, SHOP, CHOICES = "stash.csv", "shop.csv", "blanket.toml"  # of a blanket
# Names that Windows keeps for devices, whatever their ending.
_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)", re.IGNORECASE)


def file_name(text: str, *, otherwise: str = "blanket") -> str:
    """Any text as a name that every system takes; `otherwise` where nothing is left.

    Letters and digits of all scripts stay; at most 80 bytes, so that endings fit.

    >>> file_name("Reading-room throw: no. 2/3")
    'Reading-room-throw-no.-2-3'
    """
    kept = "".join(
        c if c in "._" or unicodedata.category(c)[0] in "LMN" else "-"
        for c in unicodedata.normalize("NFC", text)
    )
    kept = re.sub("-+", "-", kept).encode()[:80].decode(errors="ignore").strip("-._")
    return f"_{kept}" if _RESERVED.match(kept) else kept or otherwise


def shared_folder(name: str) -> Path:
    """Where the kit's own "data" or "notebooks" lie: in the package, or beside it.

    Parameters
    ----------
    name : str
        "data" or "notebooks".

    Returns
    -------
    Path
        A folder that is there.

    Raises
    ------
    KitError
        Where it is missing.

    Examples
    --------
    >>> sorted(path.name for path in shared_folder("data").iterdir() if path.is_dir())
    ['pram-cover', 'reading-room', 'wardrobe-store']
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / name, package.parent / name):
        if folder.is_dir():
            return folder
    says = f"The kit's own folder {name} is missing"
    raise KitError(Fault("missing_folder", says=says, advice="Install the kit again."))
