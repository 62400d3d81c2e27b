"""Rules on what is aboard: tanks, pails, mass, and the stock it was taken from."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from routing.audit.evidence.book import Book, Replay
from routing.audit.rules.rule import MASS_KG, VOLUME_L, Breach, PlanRule, RouteRule, differs
from routing.domain.places import Health, Yard
from routing.domain.plan import Fill


def tank_capacity(replay: Replay) -> Iterator[Breach]:
    """No tank is filled beyond what it holds."""
    holds = {t.tank_id: t.capacity_l for t in replay.truck.tanks}
    for halt in replay.halts:
        for move in halt.moves:
            if isinstance(move.row, Fill) and move.after.volume_l > holds[move.tank_id] + VOLUME_L:
                yield Breach(
                    f"tank {move.tank_id} holds {holds[move.tank_id]:.1f} L, not {move.after.volume_l:.1f} L",
                    halt,
                )


def tank_short(replay: Replay) -> Iterator[Breach]:
    """Nothing is poured that is not in the tank."""
    for halt in replay.halts:
        for move in halt.moves:
            if move.after.volume_l < -VOLUME_L:
                short = -move.after.volume_l
                yield Breach(f"tank {move.tank_id} is {short:.3f} L short of what is poured", halt)


def syrup_mixed(replay: Replay) -> Iterator[Breach]:
    """A tank holds one syrup at a time, and what is poured is what is in it."""
    for halt in replay.halts:
        for move in halt.moves:
            held, row = move.before, move.row
            if not held.empty and row.syrup_id != held.syrup_id:
                what = "filled into" if isinstance(row, Fill) else "poured from"
                yield Breach(
                    f"{row.syrup_id} is {what} tank {move.tank_id}, which has {held.volume_l:.1f} L"
                    f" of {held.syrup_id} in it",
                    halt,
                )


def tank_dedicated(replay: Replay) -> Iterator[Breach]:
    """A tank kept for one syrup gets no other."""
    kept = {t.tank_id: t.syrup_id for t in replay.truck.tanks}
    for halt in replay.halts:
        for move in halt.moves:
            only = kept[move.tank_id]
            if isinstance(move.row, Fill) and only is not None and move.row.syrup_id != only:
                yield Breach(f"tank {move.tank_id} is kept for {only}, not {move.row.syrup_id}", halt)


def level_stated(replay: Replay) -> Iterator[Breach]:
    """The levels stated after each stop are those that pours and fills leave."""
    off: dict[str, float] = defaultdict(float)
    for halt in replay.halts:
        stated = halt.stop.after.tanks
        for tank_id in stated.keys() - halt.after.tanks.keys():
            yield Breach(f"a level is stated for a tank {tank_id!r} that the truck has not", halt)
        for tank_id, own in halt.after.tanks.items():
            if tank_id not in stated:
                yield Breach(f"no level is stated for tank {tank_id}", halt)
                continue
            wrong = stated[tank_id].volume_l - own.volume_l
            if differs(wrong, off[tank_id], VOLUME_L):
                yield Breach(
                    f"tank {tank_id} is stated at {stated[tank_id].volume_l:.3f} L;"
                    f" it holds {own.volume_l:.3f} L",
                    halt,
                )
                off[tank_id] = wrong
            elif not own.empty and stated[tank_id].syrup_id != own.syrup_id:
                yield Breach(
                    f"tank {tank_id} is stated to hold {stated[tank_id].syrup_id}, not {own.syrup_id}", halt
                )


def pail_slots(replay: Replay) -> Iterator[Breach]:
    """Full and empty pails together fit the rack."""
    for halt in replay.halts:
        pails = halt.after.pails_full + halt.after.pails_empty
        if pails > replay.truck.pail_slots:
            yield Breach(f"{pails} pails are aboard; the rack has {replay.truck.pail_slots} slots", halt)


def pails_at_base(replay: Replay) -> Iterator[Breach]:
    """Full pails are loaded only at a base, each with syrup in it."""
    for halt in replay.halts:
        for fill in halt.stop.fill:
            if fill.tank_id is None and (halt.depot is None or not halt.depot.base):
                yield Breach(f"pails are loaded at {halt.stop.place_id}, which is no base", halt)
            if fill.tank_id is not None and fill.pails:
                yield Breach("what is pumped into a tank is not in pails", halt)
            if fill.tank_id is None and (fill.pails < 1 or fill.volume_l <= 0):
                yield Breach("pails are loaded full, and counted", halt)


def pails_short(replay: Replay) -> Iterator[Breach]:
    """No full pail is given, and no syrup in it, that is not aboard; pails loaded by a plan leave nothing.

    Pails found aboard in mid-day may hold more than the colonies they go to ask for.
    """
    found = {load.syrup_id for load in replay.truck.underway.pails} if replay.truck.underway else set()
    for halt in replay.halts:
        for syrup_id, (count, litres) in halt.after.full.items():
            if (
                count < 0
                or litres < -VOLUME_L
                or (count == 0 and litres > VOLUME_L and syrup_id not in found)
            ):
                yield Breach(f"full pails of {syrup_id}: {count} left with {litres:.3f} L in them", halt)


def pails_stated(replay: Replay) -> Iterator[Breach]:
    """The pails stated after each stop are those that loading and swapping leave."""
    off = (0, 0)
    for halt in replay.halts:
        stated, own = halt.stop.after, halt.after
        wrong = (stated.pails_full - own.pails_full, stated.pails_empty - own.pails_empty)
        if wrong != off and not _from_quarantine(halt.yard, wrong[1] - off[1]):
            yield Breach(
                f"{stated.pails_full} full and {stated.pails_empty} empty pails are stated;"
                f" {own.pails_full} and {own.pails_empty} are aboard",
                halt,
            )
        off = wrong


def pails_quarantined(replay: Replay) -> Iterator[Breach]:
    """No empty pail comes back from a quarantined yard."""
    off = 0
    for halt in replay.halts:
        wrong = halt.stop.after.pails_empty - halt.after.pails_empty
        if _from_quarantine(halt.yard, wrong - off):
            yield Breach(f"{wrong - off} empty pails come back from a quarantined yard", halt)
        off = wrong


def _from_quarantine(yard: Yard | None, more: int) -> bool:
    return yard is not None and yard.health is Health.QUARANTINE and more > 0


def gross_stated(replay: Replay) -> Iterator[Breach]:
    """The mass stated after each stop is that of the truck and all that is aboard."""
    off = 0.0
    for halt in replay.halts:
        wrong = halt.stop.after.gross_kg - halt.gross_out_kg
        if differs(wrong, off, MASS_KG):
            stated = halt.stop.after.gross_kg
            yield Breach(f"{stated:.2f} kg are stated; the truck weighs {halt.gross_out_kg:.2f} kg", halt)
            off = wrong


def gross_legal(replay: Replay) -> Iterator[Breach]:
    """No truck drives heavier than it lawfully may."""
    for halt in replay.halts:
        over = halt.gross_out_kg - replay.truck.gvwr_kg
        if over > 1e-3:
            yield Breach(f"leaves {over:.1f} kg over the {replay.truck.gvwr_kg:.1f} kg it may weigh", halt)


def fill_place(replay: Replay) -> Iterator[Breach]:
    """Syrup is taken aboard only at the start or a refill, where the depot has that syrup."""
    for halt in replay.halts:
        for fill in halt.stop.fill:
            if halt.stop.kind not in ("start", "refill"):
                yield Breach(f"nothing is loaded at a {halt.stop.kind}", halt)
            elif halt.depot is not None and halt.depot.stock_of(fill.syrup_id) is None:
                yield Breach(f"depot {halt.stop.place_id} has no {fill.syrup_id}", halt)


def stock_early(replay: Replay) -> Iterator[Breach]:
    """Syrup is not loaded before it is there."""
    for halt, t in replay.timed():
        for fill in halt.stop.fill:
            stock = halt.depot.stock_of(fill.syrup_id) if halt.depot else None
            if stock is not None and t.begin_s < replay.book.clock.elapsed_s(stock.from_s):
                yield Breach(f"{fill.syrup_id} is loaded before it is there", halt)


def stock_overdrawn(book: Book) -> Iterator[Breach]:
    """All trucks together take no more from a depot than it has."""
    taken: dict[tuple[str, str], float] = defaultdict(float)
    for route in book.routes:
        for halt in route.halts:
            for fill in halt.stop.fill:
                taken[halt.stop.place_id, fill.syrup_id] += fill.volume_l
    for (depot_id, syrup_id), volume_l in sorted(taken.items()):
        depot = book.operation.depots.get(depot_id)
        stock = depot.stock_of(syrup_id) if depot else None
        if stock and stock.on_hand_l is not None and volume_l > stock.on_hand_l + VOLUME_L:
            yield Breach(
                f"{volume_l:.1f} L of {syrup_id} are taken; {stock.on_hand_l:.1f} L are there", None, depot_id
            )


RULES = (
    RouteRule("tank_capacity", "No tank is filled beyond its capacity.", tank_capacity),
    RouteRule("tank_short", "No tank gives more than it holds.", tank_short),
    RouteRule("syrup_mixed", "No tank mixes syrups.", syrup_mixed),
    RouteRule("tank_dedicated", "Tanks kept for one syrup hold no other.", tank_dedicated),
    RouteRule("level_stated", "The levels stated are those that pours and fills leave.", level_stated),
    RouteRule("pail_slots", "Full and empty pails fit the rack.", pail_slots),
    RouteRule("pails_at_base", "Pails are loaded full, at a base.", pails_at_base),
    RouteRule("pails_short", "No pail is given that is not aboard.", pails_short),
    RouteRule("pails_stated", "The pails stated are those aboard.", pails_stated),
    RouteRule("pails_quarantined", "No pail comes back from a quarantined yard.", pails_quarantined),
    RouteRule("gross_stated", "The mass stated after every stop is right.", gross_stated),
    RouteRule("gross_legal", "No truck drives over its legal gross mass.", gross_legal),
    RouteRule("fill_place", "Syrup is loaded only where it is in stock.", fill_place),
    RouteRule("stock_early", "Syrup is not loaded before it is there.", stock_early),
    PlanRule("stock_overdrawn", "No depot gives more of a syrup than it has.", stock_overdrawn),
)
