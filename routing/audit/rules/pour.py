"""Rules on what is given: to whom, in which feeder, how much, and when nothing may be given."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from routing.audit.evidence.book import Book, Halt, Replay
from routing.audit.evidence.on_hand import on_hand
from routing.audit.evidence.stores import flow_meets_goal
from routing.audit.rules.rule import VOLUME_L, Breach, PlanRule, RouteRule
from routing.domain.places import ColonyGroup, Health, Yard
from routing.domain.plan import Pour
from routing.domain.supplies import Feeder, FeederPosition


def _group(book: Book, halt: Halt, pour: Pour) -> ColonyGroup | None:
    groups = book.operation.groups_of(halt.stop.place_id) if halt.yard else ()
    return next((group for group in groups if group.group == pour.group), None)


def _fed(replay: Replay) -> Iterator[tuple[Halt, Yard, ColonyGroup, Feeder, Pour]]:
    """Pours whose yard, group and feeder are known."""
    for halt in replay.halts:
        for pour in halt.stop.pour:
            group, feeder = (
                _group(replay.book, halt, pour),
                replay.book.operation.feeders.get(pour.feeder_id),
            )
            if halt.yard is not None and group is not None and feeder is not None:
                yield halt, halt.yard, group, feeder, pour


def pour_place(replay: Replay) -> Iterator[Breach]:
    """Syrup is given at yards only, and a yard is not driven to for nothing."""
    for halt in replay.halts:
        if halt.stop.pour and halt.stop.kind != "yard":
            yield Breach(f"nothing is poured at a {halt.stop.kind}", halt)
        if halt.stop.kind == "yard" and not halt.stop.pour:
            yield Breach("the yard is visited and nothing is given", halt)


def pour_group(replay: Replay) -> Iterator[Breach]:
    """Every pour is for a group that stands in the yard, in its feeder, with its syrup."""
    for halt in replay.halts:
        for pour in halt.stop.pour:
            group = _group(replay.book, halt, pour)
            if group is None:
                yield Breach(f"no group {pour.group!r} stands here", halt)
                continue
            if pour.feeder_id != group.feeder_id:
                yield Breach(f"group {pour.group} is fed by {group.feeder_id}, not {pour.feeder_id}", halt)
            if pour.syrup_id != group.syrup_id:
                yield Breach(f"group {pour.group} is given {group.syrup_id}, not {pour.syrup_id}", halt)


def pour_vessel(replay: Replay) -> Iterator[Breach]:
    """Swapped feeders come as one pail a colony; all others are pumped from a tank."""
    for halt, _, _, feeder, pour in _fed(replay):
        if feeder.swapped and (pour.tank_id is not None or pour.pails != pour.colonies):
            yield Breach(f"{pour.colonies} colonies with swapped feeders get a pail each", halt)
        if not feeder.swapped and (pour.tank_id is None or pour.pails):
            yield Breach(f"feeder {pour.feeder_id} is filled from a tank, not swapped", halt)


def pour_amount(replay: Replay) -> Iterator[Breach]:
    """Every pour gives something to some colonies, each the same as any other colony of its group."""
    each_l: dict[tuple[str, str], float] = {}
    for halt in replay.halts:
        for pour in halt.stop.pour:
            if not (pour.volume_l > 0 and pour.colonies > 0):
                yield Breach(f"{pour.volume_l} L are poured for {pour.colonies} colonies", halt)
                continue
            mine_l = pour.volume_l / pour.colonies
            dose_l = each_l.setdefault((halt.stop.place_id, pour.group), mine_l)
            if abs(mine_l - dose_l) > VOLUME_L:
                text = f"group {pour.group} gets {mine_l:.3f} L a colony here, {dose_l:.3f} L there"
                yield Breach(text, halt)


def colonies_over(book: Book) -> Iterator[Breach]:
    """No more colonies of a group are fed than there are: nobody is fed twice."""
    fed: dict[tuple[str, str], int] = defaultdict(int)
    for halt, pour in book.pours():
        fed[halt.stop.place_id, pour.group] += pour.colonies
    for group in book.operation.groups:
        count = fed.get((group.yard_id, group.group), 0)
        if count > group.colonies:
            text = f"{count} colonies of group {group.group} are fed; there are {group.colonies}"
            yield Breach(text, None, group.yard_id)


def free_l(book: Book, yard: Yard, group: ColonyGroup, feeder: Feeder) -> float:
    """Litres a feeder still takes: its capacity, less tilt where the yard slopes, less good syrup in it.

    What is left in a pail that is swapped is poured into the new one, which is filled that much less.
    """
    tub = feeder.position is FeederPosition.COMMUNAL
    held_l = on_hand(book, group).feeder_l * (max(1, group.colonies) if tub else 1)
    tilt = 0.0 if yard.level else feeder.tilt_derate
    return max(0.0, feeder.capacity_l * (1.0 - tilt) - held_l)


def feeder_over(replay: Replay) -> Iterator[Breach]:
    """No colony is given more than its feeder still takes (a communal tub: no more than the tub)."""
    for halt, yard, group, feeder, pour in _fed(replay):
        tub = feeder.position is FeederPosition.COMMUNAL
        free = free_l(replay.book, yard, group, feeder) / (max(1, group.colonies) if tub else 1)
        if pour.volume_l > free * pour.colonies + VOLUME_L:
            yield Breach(
                f"group {pour.group} gets {pour.volume_l:.3f} L for {pour.colonies} colonies;"
                f" their feeders take {free * pour.colonies:.3f} L",
                halt,
            )


def supers_on(replay: Replay) -> Iterator[Breach]:
    """Nothing is fed with supers on: it would end in the honey."""
    for halt in replay.halts:
        if halt.stop.pour and halt.yard is not None and halt.yard.supers_on:
            yield Breach("the yard is fed with supers on", halt)


def flow_on(replay: Replay) -> Iterator[Breach]:
    """Nothing is fed where a flow brings what is wanted by the next visit; the starving are fed anyway."""
    for halt, _, group, _, pour in _fed(replay):
        if flow_meets_goal(replay.book, group):
            yield Breach(f"group {pour.group} is fed in a flow that brings what is wanted", halt)


def group_unfit(replay: Replay) -> Iterator[Breach]:
    """A group is fed on a recent inspection that found bees in it."""
    book = replay.book
    for halt, _, group, _, pour in _fed(replay):
        age = (book.plan.date - group.date).days
        if age > book.operation.feeding.stale_days:
            yield Breach(f"group {pour.group} was last inspected {age} days ago", halt)
        if group.strength_frames <= 0:
            yield Breach(f"no bees were counted in group {pour.group}", halt)


def too_cold(replay: Replay) -> Iterator[Breach]:
    """Nothing liquid is fed below the feeding temperature."""
    feeding = replay.book.operation.feeding
    for halt in replay.halts:
        if not halt.stop.pour or halt.yard is None:
            continue
        own = halt.yard.temperature_c
        degrees = feeding.temperature_c if own is None else own
        if degrees < feeding.min_feed_c:
            yield Breach(f"it is {degrees:.1f} C; nothing is fed below {feeding.min_feed_c:.1f} C", halt)


def feeder_refused(replay: Replay) -> Iterator[Breach]:
    """Open tubs only by choice, among clean yards, without robbing; nothing that drips under robbing."""
    feeding = replay.book.operation.feeding
    robbed = feeding.robbing == "high"
    for halt, yard, _, feeder, _ in _fed(replay):
        if feeder.position is FeederPosition.COMMUNAL and (
            not feeding.communal or robbed or yard.health is not Health.CLEAN
        ):
            yield Breach("an open tub is filled where none may be", halt)
        if feeder.spills.value == "high" and robbed and feeding.spill_prone == "never":
            yield Breach(f"feeder {feeder.feeder_id} drips and is filled under high robbing", halt)


RULES = (
    RouteRule("pour_place", "Syrup is given at yards, and every yard visited is given some.", pour_place),
    RouteRule("pour_group", "Every group is fed its own syrup in its own feeder.", pour_group),
    RouteRule("pour_vessel", "Swapped feeders come as pails; all others are pumped.", pour_vessel),
    RouteRule("pour_amount", "Every pour gives each of its colonies a whole dose, all alike.", pour_amount),
    PlanRule("colonies_over", "No colony is fed twice.", colonies_over),
    RouteRule("feeder_over", "No feeder is given more than it takes.", feeder_over),
    RouteRule("supers_on", "No yard is fed with supers on.", supers_on),
    RouteRule("flow_on", "No group is fed in a flow that brings what is wanted.", flow_on),
    RouteRule("group_unfit", "Every group fed has bees and a recent inspection.", group_unfit),
    RouteRule("too_cold", "No yard is fed below the feeding temperature.", too_cold),
    RouteRule(
        "feeder_refused", "Open tubs and dripping feeders are filled only where allowed.", feeder_refused
    ),
)
