"""docs/audit.md lists every rule of the audit as the code states it."""

from __future__ import annotations

from routing.audit import RULES, WORD_RULES
from tests.audit.rule_table import PAGE, page


def test_the_page_lists_every_rule() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert text == page(text), "run: python -m tests.audit.rule_table"


def test_every_rule_says_itself_in_one_sentence_under_a_code_of_its_own() -> None:
    rules = (*RULES, *WORD_RULES)
    codes = [rule.code for rule in rules]
    assert len(codes) == len(set(codes))
    for rule in rules:
        assert rule.find.__doc__, rule.code
        assert rule.states.count(".") == 1, rule.code
