"""Make any text that a user typed fit for a printed box: cleaned, cut to size, kept whole in an annex."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from routing.reports.sheet_model import Fact

NAME_COST = 240
TEXT_COST = 300
BLOCK_COST = 1000
SHORTEST = 60
LINE_COST = 70


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

    def fit_facts(self, mark: str, facts: Iterable[Fact]) -> tuple[Fact, ...]:
        """Facts of one block, cut so that together they keep to what a box can hold."""
        fitted, left = [], BLOCK_COST
        for fact in facts:
            limit = min(TEXT_COST, max(left, SHORTEST))
            text = self.fit(f"stop {mark}, {fact.label}", fact.text, limit)
            left -= cost(text)
            fitted.append(Fact(fact.label, text, fact.strong))
        return tuple(fitted)
