"""Cut a yard's need into visits that a truck can bring at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from routing.domain.ration import Dose

Piece = tuple[tuple[Dose, int], ...]


def split_doses(doses: Sequence[Dose], share: Callable[[Piece], float]) -> list[Piece]:
    """Pieces of whole colonies; ``share`` is how much of the best truck's load (or time) a piece takes.

    All in one piece when its share is at most 1, else full loads first and the rest last, so that the
    rest can travel with other yards. A dose of which not even one colony fits stands alone, whole.
    """
    whole: Piece = tuple((dose, dose.colonies) for dose in doses)
    if not whole or share(whole) <= 1.0:
        return [whole] if whole else []
    pieces: list[Piece] = []
    current: list[tuple[Dose, int]] = []
    for dose in doses:
        left = dose.colonies
        while left:
            fits = _most(dose, left, current, share)
            if fits:
                current.append((dose, fits))
                left -= fits
            elif current:
                pieces.append(tuple(current))
                current = []
            else:
                pieces.append(((dose, left),))
                left = 0
    return pieces + ([tuple(current)] if current else [])


def _most(dose: Dose, left: int, current: list[tuple[Dose, int]], share: Callable[[Piece], float]) -> int:
    """The most colonies of a dose that still fit beside what is in the piece."""
    low, high = 0, left
    while low < high:
        middle = (low + high + 1) // 2
        if share((*current, (dose, middle))) <= 1.0:
            low = middle
        else:
            high = middle - 1
    return low
