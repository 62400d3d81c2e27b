"""Rules on work at a stop: time to pour and to load, washing down, the order of health, what fits where."""

from __future__ import annotations

from collections.abc import Iterator

from routing.audit.evidence.book import Halt, Replay
from routing.audit.evidence.on_hand import on_hand
from routing.audit.rules.rule import SERVICE_S, Breach, RouteRule
from routing.domain.places import Foulbrood, Health
from routing.domain.plan import Pour
from routing.domain.supplies import FeederPosition


def pour_too_fast(replay: Replay) -> Iterator[Breach]:
    """A yard takes its set-up time, and the hives or the pump, whichever is slower."""
    pump = replay.truck.pump_l_per_s
    for halt, t in replay.timed():
        if halt.stop.kind != "yard" or halt.yard is None:
            continue
        pours = halt.stop.pour
        hives_s = sum(_handling_s(replay, halt, pour) for pour in pours)
        pump_s = sum(p.volume_l for p in pours if p.tank_id is not None) / pump if pump else 0.0
        least_s = halt.yard.setup_s + max(hives_s / _pairs_of_hands(replay), pump_s)
        if t.leave_s - t.begin_s < least_s - SERVICE_S:
            yield Breach(f"the visit takes {least_s:.0f} s; {t.leave_s - t.begin_s} s are planned", halt)


def _pairs_of_hands(replay: Replay) -> float:
    """Workers that the crew is worth at the hives: a second and a third add less than the first."""
    work = replay.book.operation.work
    return 1.0 + sum((work.second_pair, work.third_pair)[: max(0, replay.truck.crew - 1)])


def _handling_s(replay: Replay, halt: Halt, pour: Pour) -> float:
    """Person-seconds at the hives for one pour; a communal tub is one handling for its whole group.

    Syrup that has spoilt in a feeder is tipped out and the feeder cleaned first.
    """
    op = replay.book.operation
    feeder = op.feeders.get(pour.feeder_id)
    if feeder is None:
        return 0.0
    group = next((g for g in op.groups_of(halt.stop.place_id) if g.group == pour.group), None)
    spoilt = group is not None and on_hand(replay.book, group).spoilt_l > 0
    each_s = feeder.service_s + (op.work.clean_feeder_s if spoilt else 0.0)
    if feeder.position is FeederPosition.COMMUNAL and group is not None and group.colonies:
        return each_s * pour.colonies / group.colonies
    return each_s * pour.colonies


def load_too_fast(replay: Replay) -> Iterator[Breach]:
    """Loading takes the depot's set-up time, the time to fill, and the handling of pails."""
    for halt, t in replay.timed():
        loads = halt.stop.kind == "refill" or (halt.stop.kind == "start" and halt.stop.fill)
        if not loads or halt.depot is None:
            continue
        least_s = float(halt.depot.setup_s)
        for fill in halt.stop.fill:
            stock = halt.depot.stock_of(fill.syrup_id)
            least_s += fill.volume_l / stock.fill_l_per_s if stock else 0.0
            least_s += fill.pails * replay.book.operation.work.pail_load_s
        if t.leave_s - t.begin_s < least_s - SERVICE_S:
            yield Breach(f"loading takes {least_s:.0f} s; {t.leave_s - t.begin_s} s are planned", halt)


def wash_down(replay: Replay) -> Iterator[Breach]:
    """A wash-down stands at a depot that has one and lasts as long as it takes."""
    least_s = replay.book.operation.work.wash_s
    for halt in replay.halts:
        if halt.stop.kind != "wash":
            continue
        if halt.depot is not None and not halt.depot.wash_down:
            yield Breach(f"depot {halt.stop.place_id} has no wash-down", halt)
        if halt.times and halt.times.leave_s - halt.times.begin_s < least_s:
            yield Breach(f"a wash-down takes {least_s} s", halt)


def hygiene(replay: Replay) -> Iterator[Breach]:
    """After a yard of doubtful health no cleaner one is visited before the truck is washed down."""
    watched = replay.book.operation.work.watch_after_clean
    state = replay.truck.underway
    worst, after = (state.rank, "an earlier yard of today") if state else (0, "")
    for halt in replay.halts:
        if halt.stop.kind == "wash" and halt.depot is not None and halt.depot.wash_down:
            worst = 0
        if halt.stop.kind != "yard" or halt.yard is None:
            continue
        health = halt.yard.health
        rank = 0 if health is Health.WATCH and not watched else health.rank
        if rank < worst:
            yield Breach(f"a {health.value} yard comes after {after} with no wash-down between", halt)
        if rank > worst:
            worst, after = rank, f"{health.value} yard {halt.stop.place_id}"


def quarantine_permit(replay: Replay) -> Iterator[Breach]:
    """A quarantined yard is entered where the keeper confirmed it, one with foulbrood by typed permit."""
    for halt in replay.halts:
        if halt.yard is not None and halt.yard.foulbrood is not Foulbrood.NO and not halt.yard.permit.strip():
            yield Breach("a yard with foulbrood is entered without a permit on record", halt)
    if replay.book.operation.work.quarantine_permit:
        return
    for halt in replay.halts:
        if halt.yard is not None and halt.yard.health is Health.QUARANTINE:
            yield Breach("a quarantined yard is entered without the confirmed permit", halt)


def access_truck(replay: Replay) -> Iterator[Breach]:
    """A yard is visited only by trucks that it allows."""
    for halt in _yards(replay):
        if halt.yard and halt.yard.trucks and replay.truck.truck_id not in halt.yard.trucks:
            yield Breach(f"only {', '.join(halt.yard.trucks)} may go to this yard", halt)


def access_length(replay: Replay) -> Iterator[Breach]:
    """A yard is visited only by trucks short enough for its track."""
    length_m = replay.truck.length_m
    for halt in _yards(replay):
        most_m = halt.yard.max_length_m if halt.yard else None
        if length_m is not None and most_m is not None and length_m > most_m:
            yield Breach(f"the truck is {length_m:.1f} m long; the track takes {most_m:.1f} m", halt)


def access_mass(replay: Replay) -> Iterator[Breach]:
    """A truck comes to a yard no heavier than bridge and track bear."""
    for halt in _yards(replay):
        most_kg = halt.yard.max_gross_kg if halt.yard else None
        if most_kg is not None and halt.gross_in_kg > most_kg + 1e-3:
            yield Breach(f"arrives with {halt.gross_in_kg:.1f} kg; {most_kg:.1f} kg are allowed", halt)


def _yards(replay: Replay) -> Iterator[Halt]:
    return (halt for halt in replay.halts if halt.yard is not None)


RULES = (
    RouteRule("pour_too_fast", "Every visit is long enough for its hives and the pump.", pour_too_fast),
    RouteRule("load_too_fast", "Every loading is long enough for what is taken.", load_too_fast),
    RouteRule("wash_down", "Wash-downs are long enough and where there is one.", wash_down),
    RouteRule("hygiene", "No cleaner yard comes after one of doubtful health without a wash-down.", hygiene),
    RouteRule("quarantine_permit", "Quarantined yards are entered by permit only.", quarantine_permit),
    RouteRule("access_truck", "Yards are visited by the trucks they allow.", access_truck),
    RouteRule("access_length", "Trucks are short enough for every track.", access_length),
    RouteRule("access_mass", "Trucks arrive light enough for every bridge and track.", access_mass),
)
