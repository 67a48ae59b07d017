"""Who is writing into a folder: locks that the system takes from whoever ends, however it ends.

They are files, so that they hold between machines that see the same folder. Where a disk has no
locks nobody is kept out, and nothing that may be another's is swept away.
"""

from __future__ import annotations

import errno
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from drafting.errors import Problem, SheetError

#: Held in a folder while names in it are changed; it stays there, empty.
LOCK = ".neckarc.lock"
#: Held in a folder by the batch that writes into it.
BATCH = ".neckarc-batch.lock"
LOCKS = (LOCK, BATCH)
#: What is being made carries this before its name, and beside it lies its lock.
MAKING = ".making-"
_END = ".lock"
#: Seconds to wait for another to end, and between two looks whether it has.
PATIENCE, _LOOK = 60.0, 0.01
_NO_LOCKS = {errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOLCK, errno.EINVAL}


@contextmanager
def alone_in(
    folder: Path,
    lock: str = LOCK,
    *,
    patience: float = PATIENCE,
    other: str = "another Neckarc has been writing into this folder for too long",
) -> Iterator[bool]:
    """Hold a folder's lock; ``False`` where there are no locks.

    Raises :class:`SheetError` when another holds it for longer than ``patience`` (s), which
    ``other`` says.
    """
    held = FileLock(folder / lock)
    try:
        sure = _taken(held, patience)
    except Timeout:
        raise SheetError(
            Problem(
                other,
                place=str(folder),
                advice="Wait for it, or choose another folder with --into.",
            )
        ) from None
    try:
        yield sure
    finally:
        held.release()


@contextmanager
def living_name(parent: Path) -> Iterator[Path]:
    """A name in ``parent`` for something to be made, which nobody sweeps away while this lasts."""
    making = parent / f"{MAKING}{secrets.token_hex(6)}"
    lock = _lock_of(making)
    held = FileLock(lock)
    _taken(held, PATIENCE)
    try:
        yield making
    finally:
        with suppress(OSError):  # some systems keep a file that is open: it goes when it is let go
            lock.unlink()
        held.release()


@contextmanager
def dead(making: Path) -> Iterator[bool]:
    """Whether whoever made this is gone; if so nobody else looks into it while this lasts."""
    lock = _lock_of(making)
    held = FileLock(lock)
    try:
        sure = _taken(held, 0.0)
    except (Timeout, OSError):
        yield False
        return
    try:
        yield sure
        if sure and not making.exists():
            with suppress(OSError):
                lock.unlink()
    finally:
        held.release()


def makings(names: list[str], parent: Path) -> set[Path]:
    """What is being made, or was left half made, in a folder with these names."""
    return {parent / name.removesuffix(_END) for name in names if name.startswith(MAKING)}


def drop_locks(folder: Path) -> None:
    """Take the locks out of a folder that is to go."""
    for lock in LOCKS:
        with suppress(OSError):
            (folder / lock).unlink()


def _lock_of(making: Path) -> Path:
    return making.with_name(making.name + _END)


def _taken(held: FileLock, patience: float) -> bool:
    """Whether a lock could be had; ``False`` where there are none. Raises ``Timeout``."""
    try:
        held.acquire(timeout=patience, poll_interval=_LOOK)
    except NotImplementedError:
        return False
    except OSError as error:
        if isinstance(error, Timeout) or error.errno not in _NO_LOCKS:
            raise
        return False
    return True
