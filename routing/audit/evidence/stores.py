"""Work out again how long the stores of a yard last, and who is starving."""

from __future__ import annotations

from math import exp, inf, log

from routing.audit.evidence.book import Book
from routing.audit.evidence.on_hand import on_hand, use_kg
from routing.domain.places import ColonyGroup, Frame

MOST_DAYS = 999.0


def group_days(book: Book, group: ColonyGroup) -> float:
    """Days until comb and feeder of a group are empty, from the planned day, should any flow end."""
    use, has = use_kg(book, group), on_hand(book, group)
    return min(MOST_DAYS, (has.stores_kg + has.coming_kg) / use) if use > 0 else MOST_DAYS


def yard_days(book: Book, yard_id: str) -> float | None:
    """Days of stores of the worst group of a yard; None where no colony stands."""
    groups = [g for g in book.operation.groups_of(yard_id) if g.colonies > 0]
    return min((group_days(book, g) for g in groups), default=None)


def is_starving(book: Book, yard_id: str) -> bool:
    """Whether a yard must be served."""
    days = yard_days(book, yard_id)
    return days is not None and days < book.operation.feeding.starving_days - 1e-9


def holds_kg(book: Book, group: ColonyGroup) -> float:
    """Honey that the frames of a hive hold; no end to it where their number is not given."""
    if group.hive_frames is None:
        return inf
    return group.hive_frames * book.operation.feeding.frame_kg(group.stores.frame or Frame.DEEP)


def goal_kg(book: Book, group: ColonyGroup) -> float:
    """Stores that should stand in a colony: by its row, its hive or the goal, up to what its frames hold."""
    feeding = book.operation.feeding
    frames = inf if group.hive_frames is None else group.hive_frames
    goal = feeding.reserve_days * use_kg(book, group)
    if feeding.goal == "winter":
        by_hive = (
            inf if frames > 12 else feeding.target_single_kg if frames > 6 else feeding.target_nucleus_kg
        )
        goal = min(by_hive, feeding.target_stores_kg)
        goal = goal if group.target_stores_kg is None else group.target_stores_kg
    return min(holds_kg(book, group), max(goal, feeding.starving_days * use_kg(book, group)))


def flow_meets_goal(book: Book, group: ColonyGroup) -> bool:
    """Whether the flow noted brings a group that does not starve to its goal by the next visit."""
    feeding, flow = book.operation.feeding, group.flow_kg_per_day
    use = use_kg(book, group)
    if flow <= 0 or flow < use or group_days(book, group) < feeding.starving_days:
        return False
    wanted = goal_kg(book, group)
    has = on_hand(book, group)
    ahead = feeding.next_visit_days
    if feeding.goal == "winter" and feeding.feed_by is not None:
        ahead = max(0, (feeding.feed_by - book.plan.date).days)
    later = has.stores_kg + has.feeder_kg + (flow - use) * ahead
    return feeding.goal == "build" or later >= wanted


def worth_of_feeding(book: Book, yard_id: str, days: float) -> float:
    """What leaving one colony of a yard costs: the value typed, and its loss by the chance that it starves.

    That chance is one half where its stores end on the day of the next visit; nine of ten colonies last
    within the factor ``days_error`` of what was judged.
    """
    operation = book.operation
    cost, feeding = operation.cost, operation.feeding
    starves = 1.0 if days <= 0 < feeding.next_visit_days else 0.0
    if feeding.next_visit_days > 0 and days > 0:
        lasts = log(days / feeding.next_visit_days) * log(19.0) / log(feeding.days_error)
        starves = 1.0 / (1.0 + exp(min(lasts, 500.0)))
    weight = {"must": cost.priority_high, "high": cost.priority_high, "low": cost.priority_low}
    priority = operation.yards[yard_id].priority.value
    return (cost.drop_value_per_colony + starves * cost.loss_per_colony) * weight.get(priority, 1.0)
