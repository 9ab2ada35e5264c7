"""A Ctrl-C that waits or is left to others: raised into the middle of the CAD kernel's import it ends the process in
a crash, and in a process that works for another it is the other's to answer.
"""

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import current_thread, main_thread
from types import FrameType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from multiprocessing.pool import Pool


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
def workers(count: int) -> Iterator["Pool"]:
    """Give a pool of `count` fresh processes that leave Ctrl-C to this one; they end with the block."""
    from multiprocessing import get_context  # `check` has no use for it
    mask = getattr(signal, "pthread_sigmask", lambda how, which: ())
    before = mask(getattr(signal, "SIG_BLOCK", None), {signal.SIGINT})      # handed on to the processes
    try:
        pool = get_context("spawn").Pool(count, signal.signal, (signal.SIGINT, signal.SIG_IGN))
    finally:
        mask(getattr(signal, "SIG_SETMASK", None), before)
    with pool:
        yield pool
