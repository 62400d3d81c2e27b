"""Note what a route has room for at each of its places."""

from __future__ import annotations

from routing.planning.evaluate.rules.tables import Tables
from routing.planning.machine_code.records import Ints, Records
from routing.planning.machine_code.text import inlined, kernel

WORST_RANK = 99


@kernel
def note_slack(t: Tables, stops: Ints, points: Records, free_ml: Ints, k: int, m: int) -> None:
    """Note the slack of the first ``m`` stops of truck ``k`` in ``points[i]`` and ``free_ml[s][i]``."""
    truck = t.trucks[k]
    for s in range(len(t.density_g_ml)):
        full = t.tanks[k][s].capacity_ml
        free, place = full if t.supplies[truck.start][s].there else t.tanks[k][s].level_ml, 0
        for i in range(m + 1):
            stop = stops[i] if i < m else -1 - truck.end
            if stop >= 0:
                free -= t.asked[stop][s].bulk_ml
            elif i == m or t.supplies[-1 - stop][s].there:
                for j in range(place, i + 1):
                    free_ml[s][j] = free
                free, place = full, i + 1
    _note_trips(t, stops, points, k, m)
    _note_backwards(t, stops, points, m)


@inlined
def _note_trips(t: Tables, stops: Ints, points: Records, k: int, m: int) -> None:
    truck = t.trucks[k]
    start, payload = t.depots[truck.start], float(truck.gross_g - truck.tare_g)
    pails, pail_place = (truck.pail_slots if start.pails else truck.pails_aboard), 0
    grams, place = payload, 0
    rank, way = (0 if start.wash else truck.rank), 0
    for i in range(m + 1):
        points[i].rank_before, points[i].hauled_m = rank, way
        stop = stops[i] if i < m else -1 - truck.end
        if stop >= 0:
            visit = t.visits[stop]
            pails -= visit.pails
            grams -= visit.mass_g
            rank = max(rank, visit.rank)
            way += t.legs[truck.matrix][points[i].place][points[i + 1].place].metres
            continue
        for j in range(place, i + 1):
            points[j].free_g = grams
        grams, place, way = payload, i + 1, 0
        if i == m or t.depots[-1 - stop].pails:
            for j in range(pail_place, i + 1):
                points[j].free_pails = pails
            pails, pail_place = truck.pail_slots, i + 1
        if t.depots[-1 - stop].wash:
            rank = 0


@inlined
def _note_backwards(t: Tables, stops: Ints, points: Records, m: int) -> None:
    load, rank = 0.0, WORST_RANK
    points[m].load_g, points[m].rank_after = load, rank
    for i in range(m - 1, -1, -1):
        stop = stops[i]
        if stop >= 0:
            load += t.visits[stop].mass_g
            rank = min(rank, t.visits[stop].rank)
        else:
            load = 0.0
            if t.depots[-1 - stop].wash:
                rank = WORST_RANK
        points[i].load_g, points[i].rank_after = load, rank
