"""Decide what a truck takes aboard at each depot of a given route, and weigh it on every leg."""

from __future__ import annotations

from routing.planning.evaluate.rules.scratch import (
    ACCESS,
    GATE_WEIGHT,
    HYGIENE,
    IDLE_REFILL,
    LAWFUL,
    SLOTS,
    SUPPLY,
    TANK,
    WEIGHT,
    Scratch,
)
from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.records import Ints
from routing.planning.machine_code.text import inlined, kernel

CLEANEST_OF_NONE = 99


@inlined
def lay_out(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> int:
    """Loads of the first ``m`` stops, with the spare share unless it breaks a weight limit; the fault."""
    _needs(t, x, k, stops, m)
    for s in range(len(t.density_g_ml)):
        if x.kinds[s].need_pail_ml > t.tanks[k][s].pail_ml or x.kinds[s].need_pails > t.tanks[k][s].pails:
            return SUPPLY
    margin = t.day[0].margin
    fault = _carry(t, x, k, stops, m, margin)
    if margin and fault in (WEIGHT, GATE_WEIGHT):
        fault = _carry(t, x, k, stops, m, 0.0)
    return fault


@inlined
def _needs(t: Tables, x: Scratch, k: int, stops: Ints, m: int) -> None:
    """What each call must supply until the next supply; what remains must be aboard from the first."""
    kinds = len(t.density_g_ml)
    lowest = CLEANEST_OF_NONE
    for s in range(kinds):
        x.kinds[s].need_ml = x.kinds[s].need_pail_ml = x.kinds[s].need_pails = 0
    for i in range(m, -1, -1):
        x.points[i].lowest = lowest
        stop = stops[i - 1] if i else -1 - t.trucks[k].start
        if stop >= 0:
            lowest = min(lowest, t.visits[stop].rank)
            carried = t.visits[stop].pails
            for s in range(kinds):
                x.kinds[s].need_ml += t.asked[stop][s].bulk_ml
                if carried:
                    x.kinds[s].need_pail_ml += t.asked[stop][s].pail_ml
                    x.kinds[s].need_pails += t.asked[stop][s].pails
            continue
        depot = -1 - stop
        for s in range(kinds):
            x.calls[i][s].wanted_ml = x.calls[i][s].pail_ml = x.calls[i][s].pails = 0
            if not t.supplies[depot][s].there:
                continue
            x.calls[i][s].wanted_ml, x.kinds[s].need_ml = x.kinds[s].need_ml, 0
            if t.depots[depot].pails:
                x.calls[i][s].pail_ml, x.kinds[s].need_pail_ml = x.kinds[s].need_pail_ml, 0
                x.calls[i][s].pails, x.kinds[s].need_pails = x.kinds[s].need_pails, 0


@inlined
def _carry(t: Tables, x: Scratch, k: int, stops: Ints, m: int, margin: float) -> int:
    """Go from point to point until the first fault."""
    truck, day, kinds = t.trucks[k], t.day[0], len(t.density_g_ml)
    full, empty, rank = truck.pails_aboard, truck.empties_aboard, truck.rank
    gross = truck.tare_g + (full + empty) * day.pail_g
    for s in range(len(t.density_g_ml)):
        x.kinds[s].level_ml = t.tanks[k][s].level_ml
        gross += (t.tanks[k][s].level_ml + t.tanks[k][s].pail_ml) * t.density_g_ml[s]
    for j in range(truck.tanks):
        x.tanks[j].level_ml = t.held[k][j].level_ml
    for i in range(m + 1):
        stop = stops[i - 1] if i else -1 - truck.start
        if stop >= 0:
            visit = t.visits[stop]
            if not t.crews[k][stop].allowed:
                return ACCESS
            if gross > visit.max_gross_g + 0.5:
                return GATE_WEIGHT
            if visit.rank < rank:
                return HYGIENE
            rank = visit.rank
            if visit.pumped:
                for s in range(kinds):
                    x.kinds[s].level_ml -= t.asked[stop][s].bulk_ml
                    if x.kinds[s].level_ml < 0:
                        return SUPPLY
                if truck.tanks and not _pour(t, x, k, stop):
                    return SUPPLY
            gross -= visit.relief_g
            if visit.pails:
                full -= visit.pails
                empty += visit.empties
                if full + empty > truck.pail_slots:
                    return SLOTS
        else:
            depot = t.depots[-1 - stop]
            if depot.pails:
                gross -= empty * day.pail_g
                empty = 0
            gross += _take(t, x, k, i)
            for s in range(kinds):
                if x.kinds[s].level_ml > t.tanks[k][s].capacity_ml:
                    return TANK
                full += x.calls[i][s].pails
                gross += x.calls[i][s].pails * day.pail_g + x.calls[i][s].pail_ml * t.density_g_ml[s]
            if full + empty > truck.pail_slots:
                return SLOTS
            if margin:
                gross += _take_spare(t, x, k, i, margin, truck.gross_g - gross)
            if gross > truck.gross_g + 0.5:
                return WEIGHT
            if truck.tanks:
                _fill(t, x, k, i)
            x.points[i].washes = depot.wash and rank > x.points[i].lowest
            if x.points[i].washes:
                rank = 0
            elif i and x.points[i].nothing:
                return IDLE_REFILL
        x.points[i].gross_g, x.points[i].full, x.points[i].empty = gross, full, empty
    return LAWFUL


@inlined
def _take(t: Tables, x: Scratch, k: int, i: int) -> float:
    """Pump aboard at point i what is wanted and not there, and what may stay in tanks; its mass."""
    grams = 0.0
    x.points[i].nothing = 1
    for s in range(len(t.density_g_ml)):
        wanted, tank = x.calls[i][s].wanted_ml, t.tanks[k][s]
        if wanted and tank.rest_ml:
            wanted = max(wanted, min(wanted + tank.rest_ml, tank.capacity_ml))
        taken = max(0, wanted - x.kinds[s].level_ml)
        x.calls[i][s].taken_ml = taken
        x.kinds[s].level_ml += taken
        grams += taken * t.density_g_ml[s]
        if taken or x.calls[i][s].pails:
            x.points[i].nothing = 0
    return grams


@inlined
def _take_spare(t: Tables, x: Scratch, k: int, i: int, margin: float, free_g: float) -> float:
    """Pump a share more aboard, as far as tanks and legal weight allow; its mass."""
    grams = 0.0
    for s in range(len(t.density_g_ml)):
        spare = 0
        if x.calls[i][s].taken_ml:
            room = t.tanks[k][s].capacity_ml - x.kinds[s].level_ml
            spare = max(0, min(int(x.calls[i][s].wanted_ml * margin), room))
        x.kinds[s].spare_ml = spare
        grams += spare * t.density_g_ml[s]
    if grams == 0.0:
        return 0.0
    share = min(1.0, max(0.0, free_g) / grams)
    grams = 0.0
    for s in range(len(t.density_g_ml)):
        spare = int(x.kinds[s].spare_ml * share)
        x.calls[i][s].taken_ml += spare
        x.kinds[s].level_ml += spare
        grams += spare * t.density_g_ml[s]
    return grams


@inlined
def _fill(t: Tables, x: Scratch, k: int, i: int) -> None:
    """Put what is pumped aboard at point i into the tanks, the fullest first."""
    for s in range(len(t.density_g_ml)):
        left = x.calls[i][s].taken_ml
        while left > 0:
            best = -1
            for j in range(t.trucks[k].tanks):
                held = t.held[k][j]
                free = held.commodity == s and x.tanks[j].level_ml < held.capacity_ml
                if free and (best < 0 or x.tanks[j].level_ml > x.tanks[best].level_ml):
                    best = j
            if best < 0:
                return
            taken = min(left, t.held[k][best].capacity_ml - x.tanks[best].level_ml)
            x.tanks[best].level_ml += taken
            left -= taken


@kernel
def _pour(t: Tables, x: Scratch, k: int, v: int) -> bool:
    """Serve whole colonies from each tank, the emptiest first; whether all of them are served.

    What is too little for another colony stays in the tank. At most one tank is part full so (it surges).
    """
    for g in range(t.visits[v].pours):
        pour = t.pours[v][g]
        left = pour.colonies
        while left > 0:
            best, most = -1, 0
            for j in range(t.trucks[k].tanks):
                if t.held[k][j].commodity != pour.commodity:
                    continue
                served = int((x.tanks[j].level_ml + 0.5) / pour.dose_ml)
                if served > 0 and (best < 0 or x.tanks[j].level_ml < x.tanks[best].level_ml):
                    best, most = j, served
            if best < 0:
                return False
            served = min(left, most)
            x.tanks[best].level_ml -= min(x.tanks[best].level_ml, int(served * pour.dose_ml + 0.5))
            left -= served
    return True
