"""One writer at a time in a folder, whichever notebook or program it is in.

A lock of the operating system, so that it goes with whoever held it. It keeps out this
kit only; what other programs do is noticed by digests.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from kit.errors import Fault, KitError

WAIT_S = 10.0
_PAUSE_S = 0.005

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]


@contextmanager
def one_at_a_time(folder: Path) -> Iterator[None]:
    """Wait until no other writer is in the folder, and keep others out of the block.

    Raises KitError after ten seconds. Where a file system knows no locks (some network
    drives), the block runs without one.
    """
    handle = _opened(folder)
    try:
        limit = time.monotonic() + WAIT_S
        while not _taken(handle):
            if time.monotonic() > limit:
                raise KitError(_busy(folder))
            time.sleep(_PAUSE_S)
        yield
    finally:
        with suppress(OSError):
            os.close(handle)  # and with it the lock


def _opened(folder: Path) -> int:
    """What is locked: the folder itself, on Windows a file of its own elsewhere."""
    if fcntl:
        return os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    if not folder.is_dir():
        raise FileNotFoundError(2, "No such folder", str(folder))
    place = os.path.normcase(os.path.realpath(folder)).encode()
    name = f"shadepath-{hashlib.sha256(place).hexdigest()[:32]}.lock"
    return os.open(Path(tempfile.gettempdir(), name), os.O_RDWR | os.O_CREAT)


def _taken(handle: int) -> bool:
    """Try to lock; True also where there are no locks to be had."""
    try:
        if fcntl:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        else:
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    except (BlockingIOError, PermissionError):  # Windows says the second
        return False
    except OSError:
        return True
    return True


def _busy(folder: Path) -> Fault:
    says = f"Another notebook has been saving in {folder} for {WAIT_S:g} seconds"
    return Fault("busy", says=says, advice="Save again in a moment.")
