"""Make any text that a user typed fit to print: cleaned, on one line, cut to size."""

from __future__ import annotations

import unicodedata

LINE_COST = 70
"""Room that a line break takes, in letters of ordinary width."""


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
