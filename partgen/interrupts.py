"""A Ctrl-C that waits or is left to others: raised into the middle of the CAD kernel's import it ends the process in
a crash, and in a process that works for another it is the other's to answer.
"""

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Thread, current_thread, main_thread
from types import FrameType
from typing import TYPE_CHECKING

from partgen.errors import WorkersLost

if TYPE_CHECKING:
    from concurrent.futures import Executor

UNGUARDED = ('a script that calls partgen must do so under `if __name__ == "__main__":`, since every process that '
             "helps reads the script again")


@contextmanager
def interrupts_to(answer: Callable[[int, FrameType | None], object]) -> Iterator[None]:
    """Have Ctrl-C answered by a function of the signal's number and the frame meanwhile."""
    if current_thread() is not main_thread():       # where no Ctrl-C arrives
        yield
        return
    before = signal.signal(signal.SIGINT, answer)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def interrupts_held() -> Iterator[None]:
    """Hold Ctrl-C back meanwhile; KeyboardInterrupt is raised at the end if it was pressed."""
    pressed: list[int] = []
    try:
        with interrupts_to(lambda number, frame: pressed.append(number)):
            yield
    finally:
        if pressed:
            raise KeyboardInterrupt


@contextmanager
def workers(count: int) -> Iterator["Executor"]:
    """Give an executor of `count` fresh processes that leave Ctrl-C to this one; they end with the block, or with this
    process, by whatever it ends.

    Raises WorkersLost when one of them ends by itself, and where one of them asks for workers of its own: then it
    runs the very script that began it, which has no main guard.
    """
    from concurrent.futures import ProcessPoolExecutor  # `check` has no use for it
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import active_children, current_process, get_context
    if getattr(current_process(), "_inheriting", False):
        raise WorkersLost(UNGUARDED)
    mask = getattr(signal, "pthread_sigmask", lambda how, which: ())
    others = set(active_children())
    pool = ProcessPoolExecutor(count, get_context("spawn"), _serve)
    before = mask(getattr(signal, "SIG_BLOCK", None), {signal.SIGINT})      # handed on to the processes
    try:
        for _ in range(count):          # each task that finds no process idle begins one
            pool.submit(os.getpid)
    finally:
        mask(getattr(signal, "SIG_SETMASK", None), before)
    try:
        yield pool
    except BrokenProcessPool as error:
        raise WorkersLost(f"a process that helped has ended by itself, most likely for want of memory; {UNGUARDED}"
                          ) from error
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
        for child in set(active_children()) - others:
            child.terminate()


def _serve() -> None:
    """Leave Ctrl-C to the process that this one works for, and end with it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_outlived, daemon=True).start()


def _outlived() -> None:
    from multiprocessing import parent_process
    from multiprocessing.connection import wait
    parent = parent_process()
    if parent:
        wait([parent.sentinel])
        os._exit(1)
