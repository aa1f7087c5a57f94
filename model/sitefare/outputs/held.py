"""Does another command write into this folder at the moment?

A lock that the system takes back from a process when it ends, however it ends. Where there is
none (Windows, some network folders) nothing is held.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from sitefare.errors import RunError

#: The file that is locked while a command writes into its folder.
HELD = ".held"


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold a folder, made if need be, for the time of a context.

    Raises
    ------
    RunError
        If another process holds it.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if sys.platform == "win32":  # there an open file cannot be removed, and none is locked
        yield
        return
    path = folder / HELD
    file = _locked(path)
    try:
        yield
    finally:
        path.unlink(missing_ok=True)
        file.close()


def _locked(path: Path) -> IO[bytes]:
    """Open and lock a file that is still under its name once it is locked."""
    import fcntl  # noqa: PLC0415

    while True:
        file = path.open("ab")
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            file.close()
            msg = f"another command is writing into {path.parent}: let it end, or give another -o"
            raise RunError(msg) from None
        except OSError:
            return file
        with suppress(FileNotFoundError):
            if os.path.samestat(os.fstat(file.fileno()), path.stat()):
                return file
        # The command that held it removed it in between: there is another by now, or none.
        file.close()
