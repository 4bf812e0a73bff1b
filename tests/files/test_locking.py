"""One writer at a time."""

import subprocess
import sys
import threading
import time
import types

import pytest

from kit.errors import KitError
from kit.files import locking
from kit.files.locking import one_at_a_time

HOLD = (
    "import sys; from pathlib import Path\n"
    "from kit.files.locking import one_at_a_time\n"
    "with one_at_a_time(Path(sys.argv[1])):\n"
    "    print('in', flush=True); sys.stdin.read()"
)


def test_blocks_follow_each_other(tmp_path):
    """What two threads do inside never mixes."""
    heard = []

    def work(mark):
        for _ in range(10):
            with one_at_a_time(tmp_path):
                heard.append(mark)
                time.sleep(0.001)
                heard.append(mark)

    threads = [threading.Thread(target=work, args=(mark,)) for mark in "ab"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(heard) == 40
    assert all(heard[k] == heard[k + 1] for k in range(0, 40, 2))
    assert list(tmp_path.iterdir()) == []


def test_another_process_is_waited_for(tmp_path, monkeypatch):
    """While it saves nobody else does; a wait too long is said; its end frees all."""
    call = [sys.executable, "-c", HOLD, str(tmp_path)]
    pipe = subprocess.PIPE
    with subprocess.Popen(call, stdin=pipe, stdout=pipe) as holder:
        holder.stdout.readline()
        monkeypatch.setattr(locking, "WAIT_S", 0.1)
        with pytest.raises(KitError) as caught, one_at_a_time(tmp_path):
            pytest.fail("two were in")
        holder.kill()
    assert str(caught.value) == (
        f"Another notebook has been saving in {tmp_path} for 0.1 seconds. "
        "Save again in a moment."
    )
    with one_at_a_time(tmp_path):
        pass


def test_no_folder(tmp_path):
    """A folder that is not there cannot be locked."""
    with pytest.raises(FileNotFoundError), one_at_a_time(tmp_path / "none"):
        pass


@pytest.mark.skipif(locking.fcntl is None, reason="POSIX locks")
def test_a_file_system_without_locks(tmp_path, monkeypatch):
    """Where there are no locks to be had, saving goes on without."""

    def none(*_):
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(locking.fcntl, "flock", none)
    with one_at_a_time(tmp_path):
        pass


def test_as_on_windows(tmp_path, monkeypatch):
    """There a file in the system's own temporary folder stands for the folder."""
    held = set()

    def lock(handle, mode, n_bytes):
        assert (mode, n_bytes) == ("no wait", 1)
        if held:
            raise PermissionError(13, "Permission denied")
        held.add(handle)

    msvcrt = types.SimpleNamespace(locking=lock, LK_NBLCK="no wait")
    monkeypatch.setattr(locking, "fcntl", None)
    monkeypatch.setattr(locking, "WAIT_S", 0.05)
    monkeypatch.setitem(sys.modules, "msvcrt", msvcrt)
    (tmp_path / "temp").mkdir()
    (tmp_path / "blanket").mkdir()
    monkeypatch.setattr(locking.tempfile, "tempdir", str(tmp_path / "temp"))
    folder = tmp_path / "blanket"
    with one_at_a_time(folder), pytest.raises(KitError), one_at_a_time(folder):
        pytest.fail("two were in")
    assert len(list((tmp_path / "temp").iterdir())) == 1
    assert list((tmp_path / "blanket").iterdir()) == []
    with pytest.raises(FileNotFoundError), one_at_a_time(tmp_path / "none"):
        pass
