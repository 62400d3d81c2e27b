"""Go through each route again, stop by stop, from the operation and the travel table alone.

Of the plan only its decisions are taken: who goes where, what is poured and filled, and when. Every
level, mass, distance and drive is worked out here.
"""

from __future__ import annotations

from routing.audit.evidence.book import Aboard, Book, Halt, Move, Replay, TankLevel, Times, rows_of
from routing.domain.fleet import Truck
from routing.domain.operation import Operation, place_key
from routing.domain.places import Depot, Health, Yard
from routing.domain.plan import Plan, Pour, Route, Stop
from routing.domain.travel import Travel
from routing.log.day import DayNow


def open_book(operation: Operation, travel: Travel, plan: Plan, now: DayNow | None = None) -> Book:
    """Go through every route of a plan again; routes of unknown trucks are left out."""
    book = Book(operation, travel, plan, now)
    for route in plan.routes:
        truck = operation.trucks.get(route.truck_id)
        if truck is not None:
            book.routes.append(_replay(book, route, truck))
    return book


def _replay(book: Book, route: Route, truck: Truck) -> Replay:
    replay = Replay(book, route, truck)
    usual = book.operation.feeding.syrup_id
    tanks = {t.tank_id: TankLevel(t.syrup_id or usual, t.level_l) for t in truck.tanks if t.level_l > 0}
    tanks = {t.tank_id: tanks.get(t.tank_id, TankLevel(None, 0.0)) for t in truck.tanks}
    state = truck.underway
    full = {load.syrup_id: (load.pails, load.volume_l) for load in state.pails} if state else {}
    aboard = Aboard(tanks, full, state.pails_empty if state else 0)
    origin: str | None = None
    for stop in route.stops:
        halt = _halt(replay, stop, origin, aboard)
        replay.halts.append(halt)
        origin, aboard = halt.key, halt.after
    return replay


def _halt(replay: Replay, stop: Stop, origin: str | None, before: Aboard) -> Halt:
    book = replay.book
    if stop.kind == "break" and origin is not None and origin.partition(":")[2] == stop.place_id:
        key = origin
    else:
        key = place_key("yard" if stop.kind == "yard" else "depot", stop.place_id)
    yard = book.operation.yards.get(stop.place_id) if key.startswith("yard:") else None
    depot = book.operation.depots.get(stop.place_id) if key.startswith("depot:") else None
    after, moves = _exchange(stop, before, yard, depot)
    distance_m, drive_s, climb_m = _drive(book.travel, replay.truck.truck_id, origin, key)
    return Halt(
        stop, key, origin, _times(book, stop), distance_m, drive_s, gross_kg(replay, before),
        gross_kg(replay, after), before, after, moves, yard, depot, climb_m,
    )  # fmt: skip


def _times(book: Book, stop: Stop) -> Times | None:
    read = [book.seconds(moment) for moment in (stop.arrive, stop.begin, stop.leave)]
    known = [s for s in read if s is not None]
    return Times(*known) if len(known) == len(read) else None


def _drive(travel: Travel, truck_id: str, origin: str | None, key: str) -> tuple[int | None, int | None, int]:
    """Metres, seconds and metres climbed of the drive between two places."""
    if origin is None or origin == key:
        return 0, 0, 0
    try:
        leg = travel.leg(truck_id, origin, key)
    except KeyError:
        return None, None, 0
    return leg.distance_m, leg.drive_s, leg.climb_m


def _exchange(
    stop: Stop, before: Aboard, yard: Yard | None, depot: Depot | None
) -> tuple[Aboard, tuple[Move, ...]]:
    """What is aboard after a stop's pours and fills, and each move through a tank."""
    tanks, full, empties = dict(before.tanks), dict(before.full), before.pails_empty
    moves: list[Move] = []
    # A truck of a day in progress may start its rest at a base: it has its empties taken off there too.
    if depot is not None and depot.base and stop.kind in ("start", "refill", "wash"):
        empties = 0
    for row in rows_of(stop):
        sign = -1 if isinstance(row, Pour) else 1
        if row.tank_id is None:
            count, litres = full.get(row.syrup_id, (0, 0.0))
            full[row.syrup_id] = (count + sign * row.pails, litres + sign * row.volume_l)
            if isinstance(row, Pour) and yard is not None and yard.health is not Health.QUARANTINE:
                empties += row.pails
        elif row.tank_id in tanks:
            old = tanks[row.tank_id]
            new = _moved(old, row.syrup_id, sign * row.volume_l)
            tanks[row.tank_id] = new
            moves.append(Move(row, row.tank_id, old, new))
    return Aboard(tanks, full, empties), tuple(moves)


def _moved(tank: TankLevel, syrup_id: str, volume_l: float) -> TankLevel:
    level = TankLevel(syrup_id if tank.empty else tank.syrup_id, tank.volume_l + volume_l)
    return TankLevel(None, level.volume_l) if level.empty else level


def gross_kg(replay: Replay, aboard: Aboard) -> float:
    """Mass of the truck with all that is aboard, kg."""
    book = replay.book
    kg = replay.truck.tare_kg
    kg += sum(t.volume_l * book.density(t.syrup_id) for t in aboard.tanks.values())
    kg += sum(litres * book.density(syrup_id) for syrup_id, (_, litres) in aboard.full.items())
    return kg + (aboard.pails_full + aboard.pails_empty) * book.operation.work.pail_kg
