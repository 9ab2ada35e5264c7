"""A Ctrl-C that waits: raised into the middle of the CAD kernel's import it ends the process in a crash."""

import signal
from contextlib import contextmanager


@contextmanager
def interrupts_held():
    """Hold Ctrl-C back meanwhile; KeyboardInterrupt is raised at the end if it was pressed."""
    pressed = []
    try:
        before = signal.signal(signal.SIGINT, lambda number, frame: pressed.append(number))
    except ValueError:          # not in the main thread, where no Ctrl-C arrives
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
        if pressed:
            raise KeyboardInterrupt
