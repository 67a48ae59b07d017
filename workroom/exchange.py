"""What Python has no words for: two folders exchanged in one step, and a folder flushed."""

from __future__ import annotations

import ctypes
import errno
import os
import sys
from functools import cache
from pathlib import Path
from typing import Any

#: Names are looked up from the working folder (Linux, fcntl.h), and changed for each other
#: (Linux, renameat2(2)).
_HERE, _EXCHANGE = -100, 2
_CANNOT = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM}


def exchange(one: Path, other: Path) -> bool:
    """Give two folders each other's names in one step; ``False`` where the system cannot.

    Raises ``OSError`` when it can but may not.
    """
    call = _renameat2()
    if call is None:
        return False
    if call(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0:
        return True
    number = ctypes.get_errno()
    if number in _CANNOT:
        return False
    raise OSError(number, os.strerror(number), str(other))


def flush_folder(folder: Path) -> None:
    """Have the names in a folder on the disk, where the system can."""
    if sys.platform == "win32":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    except OSError as error:
        if error.errno not in _CANNOT:
            raise
    finally:
        os.close(opened)


@cache
def _renameat2() -> Any:
    if not sys.platform.startswith("linux"):
        return None
    return getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
