"""Work that can wait until the hands rest."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any


class Later:
    """One call, made when nobody has asked for another for a while.

    For work too long for a slider: the page stays quick, and the last wish is served.
    Where no event loop runs (outside a notebook) the call is made at once.
    """

    def __init__(self, wait_s: float = 0.6) -> None:
        self._wait_s = wait_s
        self._asked: asyncio.TimerHandle | None = None

    def ask(self, call: Callable[[], Any]) -> None:
        self.forget()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            call()
        else:
            self._asked = loop.call_later(self._wait_s, call)

    def forget(self) -> None:
        if self._asked:
            self._asked.cancel()
            self._asked = None
