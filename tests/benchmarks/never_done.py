"""A contestant whose search never ends."""

from benchmarks.contestants import apart

apart.STOP_S = 0.5


def _work() -> None:
    while True:
        pass


apart.search(apart.taken(), _work)
