"""Work done aside, in a Python of its own: the page stays quick meanwhile, and what
takes long can be stopped at any moment."""

from __future__ import annotations

import asyncio
import os
import pickle
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from weakref import finalize

from kit.blanket import Blanket
from kit.plan import Plan, plan_blanket
from kit.widgets.fabric.view import near_look, small_look

PROGRAM = "from kit.widgets.worker import serve; serve()"
TELL_S = 1.0  # between two words of progress


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked for, as bytes, and what to do with what comes of it."""

    asked: bytes
    done: Callable[[Any], None]
    long: bool
    begun: float


class Worker:
    """One piece of work at a time; of several wishes meanwhile the last is served.

    `tell(seconds)` is called while it goes on. The other Python stays for the next
    wish. Where no event loop runs (outside a notebook) the work is done at once.
    """

    def __init__(self, tell: Callable[[float], None]) -> None:
        self._tell = tell
        self._python: subprocess.Popen[bytes] | None = None
        self._wish: Wish | None = None  # what is wanted
        self._sent: Wish | None = None  # what the other Python is at

    @property
    def busy(self) -> bool:
        """Whether something is wanted that has not come yet."""
        return self._wish is not None

    def ready(self) -> None:
        """Start the other Python ahead of the first wish, if there is a loop."""
        with suppress(RuntimeError):
            asyncio.get_running_loop()
            self._started()

    def ask(
        self,
        call: Callable[..., Any],
        *args: Any,
        done: Callable[[Any], None],
        long: bool = True,
    ) -> None:
        """Work out `call(*args)` and hand what comes of it, or the error, to `done`.

        Work that is not `long` is let run out when it is no longer wanted.
        """
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            done(_result(call, args))
            return
        self.drop()
        asked = pickle.dumps((call, args))
        self._wish = wish = Wish(asked, done, long, time.monotonic())
        if self._sent is None:
            self._send(loop)
        self._progress(loop, wish)

    def drop(self) -> None:
        """Nothing is wanted any more. Long work is stopped, short work runs out."""
        self._wish = None
        if self._sent and self._sent.long:
            self.stop()

    def stop(self) -> None:
        """End the other Python, whatever it is at."""
        self._wish = self._sent = None
        if self._python:
            _end(self._python)
            self._python = None

    def _started(self) -> subprocess.Popen[bytes]:
        if self._python is None or self._python.poll() is not None:
            self._python = _new_python()
            finalize(self, _end, self._python)
        return self._python

    def _send(self, loop: asyncio.AbstractEventLoop) -> None:
        python, self._sent = self._started(), self._wish
        wish = self._sent
        assert wish is not None

        def wait() -> None:
            answer = _answered(python, wish.asked)
            with suppress(RuntimeError):  # the loop is closed: nobody waits any more
                loop.call_soon_threadsafe(self._came, loop, wish, answer)

        threading.Thread(target=wait, daemon=True).start()

    def _came(self, loop: asyncio.AbstractEventLoop, wish: Wish, answer: Any) -> None:
        if wish is not self._sent:  # its Python was stopped
            return
        self._sent = None
        if wish is self._wish:
            self._wish = None
            wish.done(answer)
        elif self._wish:
            self._send(loop)

    def _progress(self, loop: asyncio.AbstractEventLoop, wish: Wish) -> None:
        if wish is self._wish:
            self._tell(time.monotonic() - wish.begun)
            loop.call_later(TELL_S, self._progress, loop, wish)


def work_out(blanket: Blanket, quick: bool) -> tuple[Plan, bytes]:
    """The plan of a blanket, and the fabric small as PNG."""
    plan = plan_blanket(blanket, quick=quick)
    _ = plan.design.suggestions  # worked out here, they come along
    return plan, small_look(plan, near_look(plan))


# --- the other Python -----------------------------------------------------------------


def _new_python() -> subprocess.Popen[bytes]:
    """A Python that finds this very kit and waits for something to do."""
    above = str(Path(__file__).resolve().parents[2])
    paths = [above, *filter(None, [os.environ.get("PYTHONPATH")])]
    return subprocess.Popen(
        [sys.executable, "-c", PROGRAM],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(paths)},
    )


def _answered(python: subprocess.Popen[bytes], asked: bytes) -> Any:
    try:
        assert python.stdin is not None
        assert python.stdout is not None
        python.stdin.write(asked)
        python.stdin.flush()
        return pickle.load(python.stdout)
    except (OSError, EOFError, ValueError, pickle.UnpicklingError):
        return RuntimeError("the work aside ended without an answer")


def _end(python: subprocess.Popen[bytes]) -> None:
    python.kill()
    python.wait()
    for pipe in (python.stdin, python.stdout):
        with suppress(OSError, ValueError):
            if pipe:
                pipe.close()


def serve() -> None:
    """In the Python aside: read what to do, do it, write what came of it; until the
    page's own Python has gone."""
    out = sys.stdout.buffer
    while True:
        try:
            call, args = pickle.load(sys.stdin.buffer)
        except EOFError:
            return
        out.write(pickle.dumps(_result(call, args)))
        out.flush()


def _result(call: Callable[..., Any], args: tuple[Any, ...]) -> Any:
    try:
        return call(*args)
    except Exception as error:  # told beside the control that asked
        return error
