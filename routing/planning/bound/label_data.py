"""State a truck model and its duals as arrays that the labels are grown on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from routing.planning.bound.model import FAR, Call, Cargo, Hours, TruckModel, Way
from routing.planning.machine_code.records import Floats, Ints, Records, Words, record

SCARCE = 2.0
"""Of a stock that holds less than so many full trucks a single round might draw more than there is."""

WORD = 64

VISIT = record("", "home_s home_money gate_g carry carried")
"""``home_s``, ``home_money``: the way to the end. ``gate_g``: the mass the truck may carry on coming.
``carry``: money for the shortest way of the visit's cargo; ``carried``: money for a gram over that way."""

ARC = record("", "seconds money before_m")
"""From visit to visit by one way, the visit it leads to included. ``before_m``: metres to the depot of a
call, or to the visit, that are driven with what a call does not give."""

FIRST_ARC = record("", "seconds money before_m onward_m")
"""To a visit from the start. ``onward_m``: metres from the depot of the call to the visit, from wherever."""

WAY_PART = record("", "given start_most")
"""``given``: 1 where a call gives the part. ``start_most``: the most of it that may come from the start."""

WAY_STOCK = record("", "elsewhere away")
"""1 where syrup does not draw on the stock: ``elsewhere`` what a call gives, ``away`` what the start
gives."""

PART = record("", "grams most")
"""The mass of one; the most that the truck holds."""

STOCK = record("scarce", "level")
"""``scarce``: 1 where it is checked round by round. ``level``: the share that is aboard in the morning."""


class LabelData(NamedTuple):
    """What the labels of a truck model rest on (``model``).

    Index ``w`` way, ``v`` visit, ``p`` part of the cargo, ``s`` limited stock. Way 0 is without a call, the
    last one leaves the start without loading and exists there only.
    """

    hours: Hours
    tanks_ml: float
    """What all tanks hold together."""
    per_g_m: float
    """Money for a gram over a metre."""
    visits: Records
    """[v] of VISIT"""
    arcs: Records
    """[w, v, v], from and to, of ARC"""
    first_arcs: Records
    """[w, v] of FIRST_ARC, with the last way"""
    way_parts: Records
    """[w, p] of WAY_PART, with the last way"""
    way_stocks: Records
    """[w, s] of WAY_STOCK, with the last way"""
    parts: Records
    """[p] of PART"""
    stocks: Records
    """[s] of STOCK"""
    takes: Floats
    """[v, p]: what each visit takes"""
    share: Floats
    """[v, s]: the share of each stock that a visit draws"""
    spare: Floats
    """[s, p]: the share that one of each part may draw"""
    ng_words: Words
    """[v, word]: each visit's ng-set and itself, as bits"""


VISIT_DUALS = np.dtype(
    [("cuts", np.uint64), ("levels", np.int64), ("visit", float), ("resources", float)],
    align=True,
)
"""``cuts`` the visit is in, as bits; ``levels`` of a truckload that it takes; the dual of the ``visit``; the
duals of the ``resources`` that it uses."""


class LabelDuals(NamedTuple):
    """What visits, calls, stocks and cuts are worth, and the completion bounds under the same duals."""

    visits: Records
    """[v] of VISIT_DUALS"""
    gained: Floats
    """[w]: the duals of the resources that a way gains"""
    stocks: Floats
    """[s]"""
    cuts: Floats
    """[cut]: charged for every second visit of a cut"""
    step_s: float
    """Seconds in a step of ``completion``."""
    completion: Floats
    """[step, v, met, level]: the least of all before a label, as ``paths.complete`` says"""
    ng_sets: Ints
    """[v, i]: the visits whose bits make up ``met``, padded with -1"""


def label_data(model: TruckModel, ng_sets: Sequence[Sequence[int]]) -> LabelData:
    """State a truck model; each label remembers at a visit those of its ng-set that it has met."""
    cargo, n = model.cargo, len(model.visits)
    ways: list[Way | Call] = [model.ways[0], *cargo.calls]
    laden = next((way for way in model.ways[1:2] if not way.calls), None)
    stocks = np.zeros(model.shared, STOCK)
    stocks["scarce"], stocks["level"] = cargo.shares.full * SCARCE > 1.0, cargo.shares.level
    parts = np.zeros(len(cargo.grams), PART)
    parts["grams"], parts["most"] = cargo.grams, cargo.most
    spare = np.zeros((model.shared, len(parts)))
    spare[np.arange(model.shared), cargo.shares.syrup] = (1.0 + cargo.spare) / cargo.shares.whole
    spare[:, -2] = cargo.shares.pail
    return LabelData(
        hours=model.hours,
        tanks_ml=float(cargo.tanks_ml),
        per_g_m=float(cargo.per_g_m),
        visits=_visits(model),
        arcs=_arcs(cargo, ways, n),
        first_arcs=_first_arcs(cargo, ways, laden, n),
        way_parts=_way_parts(cargo, len(ways)),
        way_stocks=_way_stocks(cargo, model.shared),
        parts=parts,
        stocks=stocks,
        takes=np.ascontiguousarray(cargo.takes),
        share=np.ascontiguousarray(cargo.shares.ml),
        spare=spare,
        ng_words=_words([[i, *some] for i, some in enumerate(ng_sets)], -(-n // WORD)),
    )


def _visits(model: TruckModel) -> Records:
    cargo = model.cargo
    found = np.zeros(len(model.visits), VISIT)
    found["home_s"], found["home_money"] = model.home_s, model.home_money
    found["gate_g"] = np.minimum(cargo.gate_g, cargo.room_g)
    found["carry"], found["carried"] = cargo.carry, cargo.per_g_m * cargo.carried_m
    return found


def _arcs(cargo: Cargo, ways: Sequence[Way | Call], n: int) -> Records:
    found = np.zeros((len(ways), n, n), ARC)
    for w, way in enumerate(ways):
        # A label goes from a visit to the one before it.
        found["seconds"][w], found["money"][w] = way.seconds[:-1].T, way.money[:-1].T
        before = np.tile(way.before_m[:-1, None], n) if isinstance(way, Call) else cargo.metres[:-1]
        found["before_m"][w] = before.T
    return found


def _first_arcs(cargo: Cargo, ways: Sequence[Way | Call], laden: Way | None, n: int) -> Records:
    found = np.zeros((len(ways) + 1, n), FIRST_ARC)
    found["seconds"], found["money"], found["before_m"] = FAR, FAR, cargo.metres[-1]
    for w, way in enumerate([*ways, laden]):
        if way is not None:
            found["seconds"][w], found["money"][w] = way.seconds[-1], way.money[-1]
        if isinstance(way, Call):
            found["before_m"][w], found["onward_m"][w] = way.before_m[-1], way.onward_m
    return found


def _way_parts(cargo: Cargo, ways: int) -> Records:
    found = np.zeros((ways + 1, len(cargo.grams)), WAY_PART)
    found["start_most"][:-1], found["start_most"][-1] = cargo.at_start, cargo.laden
    for w, call in enumerate(cargo.calls, start=1):
        found["given"][w] = call.gives
    return found


def _way_stocks(cargo: Cargo, stocks: int) -> Records:
    found = np.zeros((len(cargo.calls) + 2, stocks), WAY_STOCK)
    found["away"][:-1] = cargo.away
    for w, call in enumerate(cargo.calls, start=1):
        found["elsewhere"][w] = call.elsewhere
    return found


def _words(sets: Sequence[Sequence[int]], words: int) -> Words:
    """Sets of visits as bits."""
    found = np.zeros((len(sets), words), dtype=np.uint64)
    for at, some in enumerate(sets):
        for v in some:
            found[at, v // WORD] |= np.uint64(1 << (v % WORD))
    return found
