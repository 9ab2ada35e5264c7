"""A Ctrl-C, or the system's request to end (SIGTERM), that waits or is left to others: raised into the middle of the
CAD kernel's import it ends the process in a crash, and in a process that works for another it is the other's to answer.
"""

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Thread, current_thread, main_thread
from types import FrameType
from typing import TYPE_CHECKING

from partgen.errors import WorkersLost
from partgen.scratch import scratch

if TYPE_CHECKING:
    from concurrent.futures import Executor

STOPS = signal.SIGINT, signal.SIGTERM
PATIENCE = 5            # s until a process has ended that was told to

UNGUARDED = ('a script that calls partgen must do so under `if __name__ == "__main__":`, since every process that '
             "helps reads the script again")


@contextmanager
def interrupts_to(answer: Callable[[int, FrameType | None], object]) -> Iterator[None]:
    """Have STOPS answered by a function of the signal's number and the frame meanwhile."""
    if current_thread() is not main_thread():       # where no signal arrives
        yield
        return
    before = {stop: signal.signal(stop, answer) for stop in STOPS}
    try:
        yield
    finally:
        for stop, earlier in before.items():
            signal.signal(stop, earlier)


@contextmanager
def interrupts_held() -> Iterator[None]:
    """Hold STOPS back meanwhile; the first that came is answered at the end, as it would have been before."""
    came: list[int] = []
    try:
        with interrupts_to(lambda number, frame: came.append(number)):
            yield
    finally:
        if came:
            signal.raise_signal(came[0])


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
    with scratch() as folder:
        pool = ProcessPoolExecutor(count, get_context("spawn"), _serve, (str(folder),))
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
            ended = set(active_children()) - others
            for child in ended:
                child.terminate()
            for child in ended:         # they write into the folder that goes now
                child.join(PATIENCE)


def end_after(wait: Callable[[], object]) -> None:
    """End this process, whatever it is at, when `wait` returns."""
    def end() -> None:
        wait()
        os._exit(1)
    Thread(target=end, daemon=True).start()


def _serve(folder: str) -> None:
    """Leave Ctrl-C to the process that this one works for, end with it, and keep temporary files in its `folder`."""
    import tempfile
    from multiprocessing import parent_process
    from multiprocessing.connection import wait
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    tempfile.tempdir = folder
    parent = parent_process()
    if parent:
        end_after(lambda: wait([parent.sentinel]))
