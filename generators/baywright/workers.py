"""Helper processes that never outlive the run that started them."""

import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context, parent_process
from threading import Thread
from typing import Any


@contextmanager
def workers(
    count: int, begin: Callable[..., None] | None = None, given: tuple[Any, ...] = ()
) -> Iterator[ProcessPoolExecutor]:
    """Yield a standard executor of `count` fresh processes; on leaving with an error, what waits is dropped.

    Args:
        count: how many processes.
        begin: called once in each process before its first task, with `given`.
        given: what `begin` is called with.
    """
    pool = ProcessPoolExecutor(count, get_context("spawn"), initializer=_tied, initargs=(begin, given))
    try:
        yield pool
    except BaseException:
        pool.shutdown(cancel_futures=True)
        raise
    pool.shutdown()


def _tied(begin: Callable[..., None] | None, given: tuple[Any, ...]) -> None:
    """Tie this process to its parent, then call `begin`.

    A parent that is killed can't end its helpers, and they would wait for tasks for ever: so they watch it. Ctrl-C goes
    to a whole terminal's processes: the parent alone answers it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()
    if begin is not None:
        begin(*given)


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
