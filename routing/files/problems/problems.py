"""Collect every problem of the input, each under a listed code."""

from __future__ import annotations

from collections import Counter
from difflib import get_close_matches
from typing import Final

from routing.domain.errors import InputError, InputProblem
from routing.files.problems.codes import CODES

MOST_OF_A_KIND = 1000
"""What is listed of one code; a table with more is bad throughout."""


class Problems:
    """A growing list of problems, in the order found."""

    def __init__(self) -> None:
        self.found: Final[list[InputProblem]] = []
        self._count: Counter[str] = Counter()

    def add(
        self,
        code: str,
        file: str,
        row: int,
        column: str,
        value: object,
        wrong: str,
        remedy: str,
        *,
        severity: str = "error",
    ) -> None:
        """Note one problem. Raises KeyError for a code that is not listed: a slip in this program."""
        CODES[code]
        self._count[code] += 1
        if self._count[code] > MOST_OF_A_KIND:
            return
        if self._count[code] == MOST_OF_A_KIND:
            wrong += f" (more than {MOST_OF_A_KIND - 1:,} of this kind: the others are not listed)"
        self.found.append(InputProblem(code, file, row, column, one_line(value), wrong, remedy, severity))

    def warn(
        self, code: str, file: str, row: int, column: str, value: object, wrong: str, remedy: str
    ) -> None:
        """Note something that work can go on with."""
        self.add(code, file, row, column, value, wrong, remedy, severity="warning")

    @property
    def errors(self) -> tuple[InputProblem, ...]:
        """What stops the work."""
        return tuple(p for p in self.found if p.severity == "error")

    @property
    def warnings(self) -> tuple[InputProblem, ...]:
        """What does not."""
        return tuple(p for p in self.found if p.severity != "error")

    def raise_errors(self) -> None:
        """Raise ``InputError`` with everything found, warnings too, when any of it is an error."""
        if self.errors:
            raise InputError(self.found)


def one_line(value: object, limit: int = 60) -> str:
    """A value as shown in a message: on one line, printable, not endless."""
    text = "".join(c if c.isprintable() else " " for c in str(value))
    text = " ".join(text.split())
    return text if len(text) <= limit else text[: limit - 3] + "..."


def nearest(text: str, known: list[str] | tuple[str, ...]) -> str:
    """``did you mean x?`` when a known word is near, else an empty string."""
    by_folded = {word.casefold(): word for word in reversed(known)}
    close = get_close_matches(text.casefold()[:80], list(by_folded), n=1, cutoff=0.6)
    return f"did you mean {by_folded[close[0]]}?" if close else ""


def listed(words: list[str] | tuple[str, ...], limit: int = 8) -> str:
    """Words joined for a message, the rest counted."""
    shown = ", ".join(one_line(word, 40) for word in words[:limit])
    return shown + (f" and {len(words) - limit} more" if len(words) > limit else "")


def suggest(text: str, known: list[str] | tuple[str, ...], kind: str) -> str:
    """The remedy for a word that is not known."""
    if not known:
        return f"there are no {kind} to choose from"
    hint = nearest(text, known)
    return f"{hint} known {kind}: {listed(known)}".strip()
