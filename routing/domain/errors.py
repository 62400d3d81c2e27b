"""Say what is wrong, where, and what to do about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class FeedroundError(Exception):
    """Every error that a user can mend; its text is the message to show."""


class ValueRefused(FeedroundError, ValueError):
    """A domain object was given a value it cannot hold."""


class NoPlanError(FeedroundError):
    """No plan is possible at all, for the reason given."""


@dataclass(frozen=True)
class InputProblem:
    """One thing wrong with the input, placed so that it can be found and mended.

    ``row`` is the line a spreadsheet shows (the header is row 1), 0 where no row applies.
    ``severity`` is ``error`` (nothing is planned) or ``warning`` (reported, and work goes on).
    """

    code: str
    file: str
    row: int
    column: str
    value: str
    wrong: str
    remedy: str
    severity: str = "error"

    @property
    def place(self) -> str:
        """``yards.csv:3:lat``; the file alone where no row nor column is meant."""
        if not self.row and not self.column:
            return self.file
        return f"{self.file}:{self.row or '-'}:{self.column or '-'}"

    @property
    def found(self) -> str:
        """What was found there; nothing where that is only the file again, or the lack of it."""
        if self.place == self.file and self.value in ("", self.file):
            return ""
        return self.value or "(empty)"

    def __str__(self) -> str:
        return ": ".join(part for part in (self.place, self.found, self.wrong, self.remedy) if part)


class InputError(FeedroundError):
    """All the problems found in the input, at once."""

    def __init__(self, problems: Sequence[InputProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def require(condition: bool, message: str) -> None:
    """Raise ``ValueRefused`` with ``message`` unless the condition holds."""
    if not condition:
        raise ValueRefused(message)
