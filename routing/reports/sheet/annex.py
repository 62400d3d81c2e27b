"""Cut the texts of a printed box to size and keep them whole in an annex."""

from __future__ import annotations

from collections.abc import Iterable

from routing.reports.words.route_day import Fact
from routing.reports.words.text import LINE_COST, clean, cost, cut

NAME_COST = 240
TEXT_COST = 300
BLOCK_COST = 1000
LEAST_COST = 140
SHORTEST = 60
"""Room in letters of ordinary width: tried out so that the fullest box still fits a Letter page."""


class Annex:
    """Texts too long for their box: the box gets the beginning, the annex the whole."""

    def __init__(self) -> None:
        self.facts: list[Fact] = []

    def fit(self, label: str, text: str, limit: int) -> str:
        """The text itself where it fits, else its beginning with a pointer to the annex."""
        text = clean(text)
        if cost(text) <= limit:
            return text
        return f"{cut(text, limit)} … (in full: note {self.keep(label, text)}, near the end)"

    def keep(self, label: str, text: str) -> int:
        """Put a text into the annex; returns its number there."""
        self.facts.append(Fact(f"Note {len(self.facts) + 1}: {label}", text))
        return len(self.facts)

    def fit_facts(self, mark: str, facts: Iterable[Fact], used: int = 0) -> tuple[Fact, ...]:
        """Facts of one box, cut so that together they keep to what a box can hold.

        ``used``: room that other parts of the box take. What must not be missed is given room first;
        what finds none is whole in the annex, under one pointer.
        """
        given = list(facts)
        left = max(BLOCK_COST - used, LEAST_COST)
        fitted: dict[int, Fact] = {}
        for i in sorted(range(len(given)), key=lambda i: not given[i].strong):
            if left >= SHORTEST:
                fact = given[i]
                limit = min(2 * TEXT_COST if fact.strong else TEXT_COST, left)
                text = self.fit(f"stop {mark}, {fact.label}", fact.text, limit)
                fitted[i] = Fact(fact.label, text, fact.strong)
                left -= max(cost(text), LINE_COST)
        more = [f"{fact.label}: {clean(fact.text)}" for i, fact in enumerate(given) if i not in fitted]
        shown = [fitted[i] for i in sorted(fitted)]
        if more:
            note = self.keep(f"stop {mark}, more", "\n".join(more))
            strong = any(given[i].strong for i in range(len(given)) if i not in fitted)
            shown.append(Fact("More", f"read note {note} near the end", strong))
        return tuple(shown)
