"""The strip: a run of yarns that hands can touch. It shows what it is told and tells
what was done to it; all arithmetic is elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from kit.blanket.choices import ARRANGEMENTS

HERE = Path(__file__).parent

# What may be done, and what it speaks of: a yarn, and the yarn it goes before.
ON_YARN = ("move", "place", "shift", "out", "lock", "tie")
ALONE = ("undo", "redo", "computed", "anew", "stop")
OLDER = (
    "The page showed an older state, so nothing was moved. It is up to date now: do "
    "it once more."
)
END, UNKNOWN = -1, -2


@dataclass(frozen=True, slots=True)
class Act:
    """One thing done to the strip.

    `yarn` and `before` are places in the list of yarns; END: behind the last one. `by`
    is how many places on ("shift"), `way` how to arrange ("anew").
    """

    kind: str
    yarn: int = UNKNOWN
    before: int = END
    by: int = 0
    way: str = ""


class Strip(anywidget.AnyWidget):
    """The run, the yarns waiting aside, and lines of text.

    `yarns` has all there are, each a dict of texts and colours; `run` and `tray` name
    them by their places in it. `steps` lie between the members of the run. `edition`
    counts new lists of yarns, so that a page that is behind can be told.
    """

    _esm = HERE / "strip.js"
    _css = HERE / "strip.css"

    edition = traitlets.Int(0).tag(sync=True)
    yarns: traitlets.List = traitlets.List().tag(sync=True)
    run: traitlets.List = traitlets.List().tag(sync=True)
    steps: traitlets.List = traitlets.List().tag(sync=True)
    tray: traitlets.List = traitlets.List().tag(sync=True)
    numbers = traitlets.Unicode().tag(sync=True)
    sentences = traitlets.Unicode().tag(sync=True)
    busy = traitlets.Unicode().tag(sync=True)
    can_undo = traitlets.Bool(False).tag(sync=True)
    can_redo = traitlets.Bool(False).tag(sync=True)
    by_hand = traitlets.Bool(False).tag(sync=True)
    answer = traitlets.Unicode().tag(sync=True)  # the token of the last act served
    greys = traitlets.Bool(False).tag(sync=True)
    families = traitlets.Bool(True).tag(sync=True)

    def __init__(self, act: Callable[[Act], None], **more: Any) -> None:
        """`act` is called for everything done; what it raises is the caller's care."""
        super().__init__(**more)
        self._act, self._token = act, ""
        self.on_msg(lambda _, content, __: self.hear(content))

    def show(self, **traits: Any) -> None:
        """Set what belongs together in one message; it answers the act at hand."""
        with self.hold_sync():
            for name, value in traits.items():
                setattr(self, name, value)
            self.answer = self._token

    def hear(self, content: Any) -> None:
        """A message of the page: checked, acted on, answered. What makes no sense is
        told and changes nothing."""
        token = content.get("token") if isinstance(content, dict) else None
        self._token = token[:40] if isinstance(token, str) else ""
        act = self._read(content)
        if act is None:
            self.show(sentences=OLDER)
            return
        try:
            self._act(act)
        finally:  # whatever came of it, the page may stop waiting
            self.show()

    def _read(self, content: Any) -> Act | None:
        """The message as an Act; None where it does not fit what is shown."""
        if not isinstance(content, dict) or content.get("edition") != self.edition:
            return None
        kind, way = content.get("act"), content.get("way", "")
        yarn, before, by = (
            content.get(key, usual)
            for key, usual in (("yarn", UNKNOWN), ("before", END), ("by", 0))
        )
        numbers = all(type(number) is int for number in (yarn, before, by))
        if kind in ALONE and (kind != "anew" or way in ARRANGEMENTS):
            return Act(kind, way=way if kind == "anew" else "")
        if kind not in ON_YARN or not numbers:
            return None
        known = 0 <= yarn < len(self.yarns) and END <= before < len(self.yarns)
        return Act(kind, yarn, before, by) if known else None
