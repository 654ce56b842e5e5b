"""A release's folder: written beside the old one and moved into its place whole, or not at all."""

import ctypes
import errno
import glob
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from baywright.release import manifest
from baywright.release.fault import ReleaseFault


@contextmanager
def release_folder(target: Path) -> Iterator[Path]:
    """Yield a fresh folder to write a release into; on leaving it takes the place of `target`.

    If anything is raised meanwhile, the process dies or the power fails, the previous release stays as it was. What a
    killed run left behind is cleared away by the next one.

    Args:
        target: the release's folder. It may be missing, empty, or an earlier release without files of anyone else.

    Raises:
        ReleaseFault: in a sentence, if the folder holds other files, another run is writing to it, or the disk or its
            permissions do not allow it.
    """
    target = target.resolve()
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with _lock(target):
            _recover(target)
            _refuse_foreign(target)
            # A name of its own: a process that a killed run left behind finds no folder to go on writing into.
            new = target.with_name(f".{target.name}.new-{os.getpid()}")
            try:
                new.mkdir()
                yield new
                _settle(new)
                _swap(new, target)
                _sync(target.parent)
            finally:
                shutil.rmtree(new, ignore_errors=True)
    except BrokenPipeError:  # whoever read the progress went away: that is no fault of the disk
        raise
    except OSError as wrong:
        raise ReleaseFault(str(target), _sentence(wrong)) from wrong


def _recover(target: Path) -> None:
    """Put back what an interrupted run had set aside, and clear away what it had not finished."""
    old = target.with_name(f".{target.name}.old")
    if old.exists() and not target.exists():
        old.rename(target)
    for left in (old, *target.parent.glob(f"{glob.escape(f'.{target.name}.new')}*")):
        if left.exists():
            shutil.rmtree(left)


def _settle(folder: Path) -> None:
    """Have every file and folder below a folder, and itself, on the disk: a file system may write names before bytes.

    About a millisecond a file, some hundredths of what it takes to make them.
    """
    for path in folder.rglob("*"):
        _sync(path)
    _sync(folder)


def _sync(path: Path) -> None:
    if sys.platform == "win32" and path.is_dir():
        return  # Windows writes a folder's names through by itself
    handle = os.open(path, os.O_RDWR if sys.platform == "win32" else os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _swap(new: Path, target: Path) -> None:
    """Put a finished release in the place of the last one, which is left under the name of the new one or removed."""
    if not target.exists():
        new.rename(target)
        return
    if _exchange(new, target):
        return
    old = target.with_name(f".{target.name}.old")
    target.rename(old)
    try:
        new.rename(target)
    except OSError:
        old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _exchange(one: Path, other: Path) -> bool:
    """Let two folders change names in one step, so that there is no moment without a release; False if that can't be.

    Linux alone has it (renameat2 with RENAME_EXCHANGE), and not on every file system.
    """
    here, exchange = -100, 2  # AT_FDCWD, RENAME_EXCHANGE: linux/fcntl.h, linux/fs.h
    call = getattr(ctypes.CDLL(None), "renameat2", None) if sys.platform == "linux" else None
    return call is not None and call(here, os.fsencode(one), here, os.fsencode(other), exchange) == 0


def _refuse_foreign(target: Path) -> None:
    """Stop rather than delete files that no release wrote."""
    if not target.exists():
        return
    if not target.is_dir():
        raise ReleaseFault(str(target), "is a file: name a folder for the release")
    there = manifest.files_of(target)
    if not there and not (target / manifest.NAME).exists():
        return
    try:
        listed = manifest.listed_files(target)
    except ValueError:
        raise ReleaseFault(
            str(target), "holds files but no release: name another folder, or empty this one first"
        ) from None
    foreign = sorted(set(there) - set(listed))
    if foreign:
        more = f" and {len(foreign) - 3} more" if len(foreign) > 3 else ""
        raise ReleaseFault(
            str(target), f"holds files that no release wrote ({', '.join(foreign[:3])}{more}): move them away first"
        )


@contextmanager
def _lock(target: Path) -> Iterator[None]:
    """Hold a lock file beside the target; the system lets go of it if the process dies."""
    path = target.with_name(f".{target.name}.lock")
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            _take(handle)
        except OSError:
            os.close(handle)
            raise ReleaseFault(str(target), "another run is writing to this folder: wait until it is done") from None
        # A run that ended just now may have removed the file under our hands: then lock the one that is there.
        try:
            if os.path.samestat(os.fstat(handle), path.stat()):
                break
        except FileNotFoundError:
            pass
        os.close(handle)
    try:
        yield
    finally:
        if sys.platform != "win32":
            path.unlink(missing_ok=True)
        os.close(handle)
        if sys.platform == "win32":
            # Another run may hold it open by now; then it removes the file itself.
            with suppress(PermissionError):
                path.unlink(missing_ok=True)


def _take(handle: int) -> None:
    if sys.platform == "win32":
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _sentence(wrong: OSError) -> str:
    """Return what is wrong with a disk in the user's words."""
    if wrong.errno == errno.ENOSPC:
        return "the disk is full: free some space; the previous release is untouched"
    if wrong.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return f"may not be written to ({wrong.strerror}): choose a folder of your own"
    return f"could not be written ({wrong.strerror or wrong}); the previous release is untouched"
