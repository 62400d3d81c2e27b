"""Work out again what colonies have in store on the planned day, and who is starving."""

from __future__ import annotations

from routing.audit.evidence.book import Book
from routing.domain.places import ColonyGroup

MOST_DAYS = 999.0


def group_stores_kg(book: Book, group: ColonyGroup) -> float:
    """Stores of one colony on the planned day: as judged, less what was used since."""
    feeding, stores = book.operation.feeding, group.stores
    if stores.stores_kg is not None:
        judged = stores.stores_kg
    elif stores.honey_frames is not None and stores.frame is not None:
        judged = stores.honey_frames * feeding.frame_kg(stores.frame)
    else:
        judged = (stores.gross_kg or 0.0) - (stores.tare_kg or 0.0)
    return max(0.0, judged - _use_kg(book, group) * days_since(book, group))


def days_since(book: Book, group: ColonyGroup) -> int:
    """Days from the inspection of a group to the planned day."""
    return max(0, (book.plan.date - group.date).days)


def _use_kg(book: Book, group: ColonyGroup) -> float:
    return max(0.0, book.operation.feeding.daily_use_kg - group.flow_kg_per_day)


def group_days(book: Book, group: ColonyGroup) -> float:
    """Days until the stores of a group are used up, counted from the planned day."""
    use = _use_kg(book, group)
    return min(MOST_DAYS, group_stores_kg(book, group) / use) if use > 0 else MOST_DAYS


def yard_days(book: Book, yard_id: str) -> float | None:
    """Days of stores of the worst group of a yard; None where no colony stands."""
    groups = [g for g in book.operation.groups_of(yard_id) if g.colonies > 0]
    return min((group_days(book, g) for g in groups), default=None)


def is_starving(book: Book, yard_id: str) -> bool:
    """Whether a yard must be served."""
    days = yard_days(book, yard_id)
    return days is not None and days < book.operation.feeding.starving_days - 1e-9
