"""What the tests' own hands must not get wrong: a browser counts as dead only when nothing of it holds its files."""

import platform
import subprocess
import sys
from pathlib import Path

import pytest

from e2e.servers import _lives

# The first thread ends alone; another one goes on until it is told, as one that is in the middle of a write does.
HEADLESS = """
import ctypes, sys, threading
threading.Thread(target=sys.stdin.read).start()
print("begun", flush=True)
ctypes.CDLL(None).syscall(%d, 0)
"""
EXIT = {"x86_64": 60, "aarch64": 93}


@pytest.mark.skipif(platform.machine() not in EXIT, reason="the number of Linux's exit is not known for this machine")
def test_a_process_lives_while_any_of_its_threads_does() -> None:
    with subprocess.Popen(
        [sys.executable, "-c", HEADLESS % EXIT[platform.machine()]], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as process:
        assert process.stdout and process.stdin
        process.stdout.readline()
        first = Path(f"/proc/{process.pid}/stat")
        while first.read_text().rpartition(")")[2].split()[0] != "Z":
            pass
        assert _lives(process.pid)
        process.kill()
        process.wait()
        assert not _lives(process.pid)
