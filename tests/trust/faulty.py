"""A system whose n-th call fails, or at whose n-th call the program is killed."""

import contextlib
import errno
import io
import os

CALLS = ("open", "write", "fsync", "close", "replace", "unlink", "chmod", "chown")
CALLS += ("mkdir", "stat", "lstat", "scandir", "access")

FAILURES = {"disk full": errno.ENOSPC, "broken disk": errno.EIO}
KILLS = ("killed before", "killed after", "killed half-way")
KINDS = (*FAILURES, *KILLS, "short write")


class Killed(BaseException):
    """The program has ended: no clean-up runs after this."""


class FaultySystem:
    """Patches `os` and `io.open` while the block runs; all calls are counted.

    kind   one of KINDS; a short write writes one byte and says so
    at     which call is hit; 0 for none
    """

    def __init__(self, patch, kind="", at=0):
        self.kind, self.at, self.n_calls = kind, at, 0
        self.hit = ""
        self._patch, self._dead = patch, False
        self._real = {name: getattr(os, name) for name in CALLS}
        self._open_files = set()

    @contextlib.contextmanager
    def running(self):
        """The block may be killed; nothing it left open stays so, as in a real one."""
        with self._patch.context() as patch:
            for name in CALLS:
                patch.setattr(os, name, self._replaced(name))
            patch.setattr(io, "open", self._opening(io.open))
            with contextlib.suppress(Killed):
                yield self
        for number in self._open_files:
            with contextlib.suppress(OSError):
                os.close(number)

    def _replaced(self, name):
        real = self._real[name]

        def call(*args, **keys):
            return self._call(name, lambda: real(*args, **keys), args)

        return call

    def _opening(self, real):
        def call(*args, **keys):
            return self._call("io.open", lambda: real(*args, **keys), args)

        return call

    def _call(self, name, act, args):
        if self._dead:
            raise Killed
        self.n_calls += 1
        if self.n_calls == self.at:
            self.hit = name
            self._strike(name, act, args)
            if name == "write" and self.kind == "short write":
                return self._real["write"](args[0], bytes(args[1])[:1])
        if name == "fsync":
            return None  # counted; the disk itself is not what is tested
        done = act()
        if name == "open":
            self._open_files.add(done)
        elif name == "close":
            self._open_files.discard(args[0])
        return done

    def _let_go(self, name, done, args):
        """What a call left open goes with the program."""
        if name in ("io.open", "scandir"):
            done.close()
        elif name == "open":
            self._open_files.add(done)
        elif name == "close":
            self._open_files.discard(args[0])

    def _strike(self, name, act, args):
        if self.kind in FAILURES:
            number = FAILURES[self.kind]
            if name == "close":  # it is closed all the same, as Linux does
                self._let_go(name, act(), args)
            raise OSError(number, os.strerror(number))
        if self.kind in KILLS:
            self._dead = True
            if self.kind == "killed after":
                self._let_go(name, act(), args)
            elif self.kind == "killed half-way" and name == "write":
                data = bytes(args[1])
                self._real["write"](args[0], data[: len(data) // 2])
            raise Killed
