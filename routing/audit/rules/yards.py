"""Rules on the yards left: every one accounted for, with a reason in words that is true."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from routing.audit.evidence.book import Book
from routing.audit.rules.pour import free_l
from routing.audit.rules.rule import MONEY, VOLUME_L, Breach, PlanRule
from routing.domain.ration import ReasonCode


def _fed(book: Book) -> dict[str, int]:
    """Colonies fed, by yard."""
    fed: dict[str, int] = defaultdict(int)
    for halt, pour in book.pours():
        if halt.yard is not None:
            fed[halt.stop.place_id] += pour.colonies
    return fed


def yard_missing(book: Book) -> Iterator[Breach]:
    """Every yard is fed or listed with a reason."""
    fed, listed = _fed(book), {left.yard_id for left in book.plan.unserved}
    for yard_id in book.operation.yards:
        if not fed.get(yard_id) and yard_id not in listed:
            yield Breach("the yard is neither fed nor listed as unserved", None, yard_id)


def yard_both(book: Book) -> Iterator[Breach]:
    """No yard is fed and listed as in need of nothing; a part left is stated with its amount."""
    fed = _fed(book)
    for left in book.plan.unserved:
        if fed.get(left.yard_id) and not left.volume_l > 0:
            yield Breach("the yard is fed and listed as unserved", None, left.yard_id)


def unserved_colonies(book: Book) -> Iterator[Breach]:
    """Colonies fed and colonies left are no more than there are, and go with an amount."""
    total = _fed(book)
    for left in book.plan.unserved:
        total[left.yard_id] += left.colonies
        if (left.volume_l > 0) != (left.colonies > 0):
            text = f"{left.volume_l:.1f} L are left for {left.colonies} colonies"
            yield Breach(text, None, left.yard_id)
    for left in book.plan.unserved:
        there = sum(group.colonies for group in book.operation.groups_of(left.yard_id))
        if total[left.yard_id] > there:
            text = f"{total[left.yard_id]} colonies are fed or left; {there} stand there"
            yield Breach(text, None, left.yard_id)


def unserved_volume(book: Book) -> Iterator[Breach]:
    """No more syrup is said to be left over than the feeders of the colonies left would take."""
    op = book.operation
    for left in book.plan.unserved:
        yard, free = op.yards.get(left.yard_id), 0.0
        for group in op.groups_of(left.yard_id):
            feeder = op.feeders.get(group.feeder_id)
            if yard is not None and feeder is not None:
                free = max(free, free_l(book, yard, group, feeder))
        if yard is not None and left.volume_l > free * left.colonies + VOLUME_L:
            text = (
                f"{left.volume_l:.1f} L are left; {left.colonies} colonies take {free * left.colonies:.1f} L"
            )
            yield Breach(text, None, left.yard_id)


def unserved_cost(book: Book) -> Iterator[Breach]:
    """Syrup left for another day is priced as the yard's syrup is."""
    for left in book.plan.unserved:
        prices = [book.price(g.syrup_id) for g in book.operation.groups_of(left.yard_id)] or [0.0]
        least, most = (bound * max(0.0, left.volume_l) for bound in (min(prices), max(prices)))
        if not least - MONEY - 1e-6 * least <= left.syrup_cost <= most + MONEY + 1e-6 * most:
            text = (
                f"{left.volume_l:.1f} L left are priced {left.syrup_cost:.2f}, not {least:.2f} to {most:.2f}"
            )
            yield Breach(text, None, left.yard_id)


def unserved_reason(book: Book) -> Iterator[Breach]:
    """Every yard left has a known reason, said in words, with what would have to change."""
    known = {code.value for code in ReasonCode}
    for left in book.plan.unserved:
        if left.reason_code not in known:
            yield Breach(f"no reason is called {left.reason_code!r}", None, left.yard_id)
        if not left.reason.strip() or not left.remedy.strip():
            yield Breach("the yard is left without a reason and a remedy in words", None, left.yard_id)


RULES = (
    PlanRule("yard_missing", "Every yard is fed or listed with a reason.", yard_missing),
    PlanRule("yard_both", "No yard is both fed and listed as unserved.", yard_both),
    PlanRule("unserved_colonies", "Colonies fed and left are no more than there are.", unserved_colonies),
    PlanRule("unserved_volume", "What is left unfed would fit the feeders.", unserved_volume),
    PlanRule("unserved_cost", "Syrup left is priced as the yard's syrup is.", unserved_cost),
    PlanRule("unserved_reason", "Every yard left has a reason and a remedy.", unserved_reason),
)
