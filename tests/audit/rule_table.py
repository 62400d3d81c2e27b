"""Write the table of the audit's rules into docs/audit.md: ``python -m tests.audit.rule_table``."""

from __future__ import annotations

from pathlib import Path

from routing.audit import RULES, WORD_RULES
from routing.audit.rules.rule import Rule

PAGE = Path(__file__).parents[2] / "docs" / "audit.md"
BEGIN, END = "<!-- begin rules -->\n", "<!-- end rules -->\n"


def row(rule: Rule) -> str:
    """One line of the table: code, the rule in one sentence, what it says on passing."""
    room = rule.find.__module__.rpartition(".")[2]
    first = (rule.find.__doc__ or "").strip().split("\n\n")[0]
    return f"| `{rule.code}` | {' '.join(first.split())} | `{room}` |"


def table() -> str:
    """Every rule in the order it is checked."""
    rows = ["| code | rule | in `routing/audit/rules/` |", "|---|---|---|", *map(row, (*RULES, *WORD_RULES))]
    return "\n".join(rows) + "\n"


def page(text: str) -> str:
    """The page with its table as the code has it."""
    before, _, rest = text.partition(BEGIN)
    return f"{before}{BEGIN}{table()}{END}{rest.partition(END)[2]}"


if __name__ == "__main__":
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
