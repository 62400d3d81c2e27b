"""Rules on doses: every colony gets what it is to get, or is listed as left; nothing is short in silence."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from routing.audit.evidence.book import Book
from routing.audit.evidence.ration import reason_for_none, shares
from routing.audit.rules.rule import VOLUME_L, Breach, PlanRule, differs
from routing.domain.places import Yard

Fed = dict[tuple[str, str], tuple[int, float]]
"""Colonies fed and litres poured, by yard and group."""


def _fed(book: Book) -> Fed:
    fed: Fed = defaultdict(lambda: (0, 0.0))
    for halt, pour in book.pours():
        colonies, litres = fed[halt.stop.place_id, pour.group]
        fed[halt.stop.place_id, pour.group] = colonies + pour.colonies, litres + pour.volume_l
    return fed


def _called(book: Book, yard_id: str) -> bool:
    """Whether a yard was called in during the day: it gets what was asked for, as far as feeders take it."""
    return book.now is not None and yard_id in book.now.yards and book.now.yards[yard_id].urgent


def _judged(book: Book) -> Iterator[Yard]:
    """Yards whose doses follow from the operation: not called in, and fed syrup of known mass."""
    for yard in book.operation.yards.values():
        known = all(book.density(group.syrup_id) > 0 for group in book.operation.groups_of(yard.yard_id))
        if known and not _called(book, yard.yard_id):
            yield yard


def dose(book: Book) -> Iterator[Breach]:
    """Every colony fed gets the dose that its stores, its feeder and its bees call for."""
    fed = _fed(book)
    for yard in _judged(book):
        for name, share in shares(book, yard).items():
            colonies, litres = fed.get((yard.yard_id, name), (0, 0.0))
            if not colonies and not litres:
                continue
            if share.reason:
                yield Breach(
                    f"group {name} is fed, and gets nothing today: {share.reason}", None, yard.yard_id
                )
            elif all(_differs(litres, each_l, colonies) for each_l in share.each_l):
                text = f"group {name} gets {litres:.3f} L for {colonies} colonies"
                yield Breach(f"{text}; due to each is {share.each_l[-1]:.3f} L", None, yard.yard_id)


def _differs(litres: float, each_l: float, colonies: int) -> bool:
    """Whether litres are not so many doses, each of them and their sum rounded to the millilitre."""
    return differs(litres, each_l * colonies, VOLUME_L * (colonies + 1) / 2)


def left_short(book: Book) -> Iterator[Breach]:
    """Whoever is due and not fed in full is listed as left: colony for colony, litre for litre."""
    fed, left = _fed(book), {row.yard_id: row for row in book.plan.unserved}
    for yard in _judged(book):
        row = left.get(yard.yard_id)
        if row is not None and row.reason_code == "skipped":
            continue
        colonies, least_l, most_l = 0, 0.0, 0.0
        for group in book.operation.groups_of(yard.yard_id):
            share = shares(book, yard).get(group.group)
            if share is not None and not share.reason:
                waiting = group.colonies - fed.get((yard.yard_id, group.group), (0, 0.0))[0]
                colonies += waiting
                least_l += share.each_l[0] * waiting
                most_l += share.each_l[-1] * waiting
        stated, stated_l = (row.colonies, row.volume_l) if row else (0, 0.0)
        slack_l = VOLUME_L * (colonies + 1)
        if stated != colonies or not least_l - slack_l <= stated_l <= most_l + slack_l:
            text = (
                f"{colonies} colonies are left with {most_l:.1f} L; listed are {stated} with {stated_l:.1f} L"
            )
            yield Breach(text, None, yard.yard_id)


def reason_of_bees(book: Book) -> Iterator[Breach]:
    """A yard that is to get nothing is listed with the reason, the one that a person can do most about."""
    left = {row.yard_id: row for row in book.plan.unserved}
    for yard in _judged(book):
        own, row = reason_for_none(book, yard), left.get(yard.yard_id)
        stated = row.reason_code if row and not row.volume_l > 0 else ""
        if stated != own and not (stated == "skipped" and _turned_away(book, yard.yard_id)):
            text = f"the yard is listed for {stated or 'no reason'}; it is {own or 'to be fed'}"
            yield Breach(text, None, yard.yard_id)


def _turned_away(book: Book, yard_id: str) -> bool:
    """Whether the day log tells that a yard is shut, or that a crew left it unfed."""
    known = book.now.yards.get(yard_id) if book.now else None
    return known is not None and (known.closed or known.skipped is not None)


RULES = (
    PlanRule("dose", "Every colony fed gets the dose that is due to it.", dose),
    PlanRule("left_short", "Whoever is due and not fed in full is listed as left.", left_short),
    PlanRule("reason_of_bees", "A yard that gets nothing is listed for its own reason.", reason_of_bees),
)
