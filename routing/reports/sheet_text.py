"""Make any text that a user typed fit for a printed box: cleaned, cut to size, kept whole in an annex."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from routing.reports.sheet_model import Fact

NAME_COST = 240
TEXT_COST = 300
BLOCK_COST = 1000
LEAST_COST = 140
SHORTEST = 60
LINE_COST = 70
"""Room in letters of ordinary width: tried out so that the fullest box still fits a Letter page."""


def clean(text: str) -> str:
    """The text with what no printer can show made visible: control characters and broken surrogates.

    Line breaks stay; tabs become spaces; marks that switch the direction of the text are dropped, since
    they would turn round what stands beside them.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ").split("\n")
    return "\n".join("".join(_shown(char) for char in line).strip() for line in lines).strip()


def one_line(text: str) -> str:
    """The cleaned text in a single line, for tables and running heads."""
    return " ".join(clean(text).split())


def _shown(char: str) -> str:
    category = unicodedata.category(char)
    if char in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f":
        return ""
    noncharacter = ord(char) & 0xFFFE == 0xFFFE
    return "\ufffd" if category in ("Cc", "Cs") or noncharacter else char


def cost(text: str) -> int:
    """Room a text takes, in letters: wide and upper-case letters count double, a line break one line."""
    wide = sum(2 if char.isupper() or unicodedata.east_asian_width(char) in "WF" else 1 for char in text)
    return wide + LINE_COST * text.count("\n")


def cut(text: str, limit: int) -> str:
    """The beginning of a text that costs at most ``limit``, at a word where there is one."""
    spent = 0
    for i, char in enumerate(text):
        spent += cost(char)
        if spent > limit:
            head = text[:i]
            space = max(head.rfind(" "), head.rfind("\n"))
            return (head[:space] if space > i // 2 else head).rstrip()
    return text


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
