"""Small published instances typed in or made by their formula, so that they need no file."""

from __future__ import annotations

from dataclasses import replace
from math import cos, hypot, pi, sin

import numpy as np
from numpy.typing import NDArray

from tests.support.instances.instance import Client, Depot, Instance, Vehicle, euclidean, pieces, whole

TRUCK_DISPATCHING = """
9 14 21 23 22 25 32 36 38 42 50 52
5 12 22 21 24 31 35 37 41 49 51
7 17 16 23 26 30 36 36 44 46
10 21 30 27 37 43 31 37 39
19 28 25 35 41 29 31 29
9 10 16 22 20 28 30
7 11 13 17 25 27
10 16 10 18 20
6 6 14 16
12 12 20
8 10
10
"""
DEMAND = (1200, 1700, 1500, 1400, 1700, 1400, 1200, 1900, 1800, 1600, 1700, 1100)

GR17_ROWS = """
633
257 390
91 661 228
412 227 169 383
150 488 112 120 267
80 572 196 77 351 63
134 530 154 105 309 34 29
259 555 372 175 338 264 232 249
505 289 262 476 196 360 444 402 495
353 282 110 324 61 208 292 250 352 154
324 638 437 240 421 329 297 314 95 578 435
70 567 191 27 346 83 47 68 189 439 287 254
211 466 74 182 243 105 150 108 326 336 184 391 145
268 420 53 239 199 123 207 165 383 240 140 448 202 57
246 745 472 237 528 364 332 349 202 685 542 157 289 426 483
121 518 142 84 297 35 29 36 236 390 238 301 55 96 153 336
"""

TSILIGIRIDES_1 = """
10.5 14.4 0; 11.2 14.1 0; 18.0 15.9 10; 18.3 13.3 10; 16.5 9.3 10; 15.4 11.0 10; 14.9 13.2 5; 16.3 13.3 5;
16.4 17.8 5; 15.0 17.9 5; 16.1 19.6 10; 15.7 20.6 10; 13.2 20.1 10; 14.3 15.3 5; 14.0 5.1 10; 11.4 6.7 15;
8.3 5.0 15; 7.9 9.8 10; 11.4 12.0 5; 11.2 17.6 5; 10.1 18.7 5; 11.7 20.3 10; 10.2 22.1 10; 9.7 23.8 10;
10.1 26.4 15; 7.4 24.0 15; 8.2 19.9 15; 8.7 17.7 10; 8.9 13.6 10; 5.6 11.1 10; 4.9 18.9 10; 7.3 18.8 10
"""


def _rows(text: str) -> list[list[int]]:
    return [[int(word) for word in line.split()] for line in text.split("\n") if line.strip()]


def _plain(
    name: str, distance: NDArray[np.int64], demand: tuple[int, ...], vehicles: tuple[Vehicle, ...]
) -> Instance:
    """One depot, at row 0; clients in the rows after it."""
    clients = tuple(Client(i, (q,), label=i) for i, q in enumerate(demand, start=1))
    return Instance(name, 1, distance, (Depot(0),), clients, vehicles, (None,) * len(vehicles))


def dantzig_ramser() -> Instance:
    """Twelve clients and four lorries: the first published case, its mileage table as printed.

    Dantzig & Ramser, "The truck dispatching problem", Management Science 6(1):80, 1959.
    """
    distance = np.zeros((13, 13), dtype=np.int64)
    for i, row in enumerate(_rows(TRUCK_DISPATCHING)):
        distance[i, i + 1 :] = row
    return _plain("Dantzig & Ramser", distance + distance.T, DEMAND, (Vehicle((6000,)),) * 4)


def e_n13_k4() -> Instance:
    """E-n13-k4 of CVRPLIB: the same figures, but its file says LOWER_ROW, and so it is solved."""
    figures = iter(figure for row in _rows(TRUCK_DISPATCHING) for figure in row)
    distance = np.zeros((13, 13), dtype=np.int64)
    for i in range(1, 13):
        distance[i, :i] = [next(figures) for _ in range(i)]
    return _plain("E-n13-k4", distance + distance.T, DEMAND, (Vehicle((6000,)),) * 4)


def gr17() -> Instance:
    """A tour of 17 towns (Groetschel; TSPLIB, Reinelt 1991): one vehicle that holds everything."""
    distance = np.zeros((17, 17), dtype=np.int64)
    for i, row in enumerate(_rows(GR17_ROWS), start=1):
        distance[i, :i] = row
    return _plain("gr17", distance + distance.T, (1,) * 16, (Vehicle((16,)),))


def split_ring(per_ring: int, rings: int, sizes: tuple[int, ...]) -> Instance:
    """Clients on rings whose orders may be split (Chen, Golden & Wasil, Networks 49(4):318, 2007).

    Orders of 60 and 90 in turn, vehicles of 100; each order is cut into pieces of the given sizes. Rounded to
    the nearest: a cost divided by 100 is in the units of the paper.
    """
    points = [(0.0, 0.0)]
    for ring in range(1, rings + 1):
        points += [
            (
                float(round(1000 * ring * cos(2 * pi * i / per_ring))),
                float(round(1000 * ring * sin(2 * pi * i / per_ring))),
            )
            for i in range(per_ring)
        ]
    orders = [Client(i, (60 if i % 2 else 90,), label=i) for i in range(1, len(points))]
    clients = tuple(piece for order in orders for piece in pieces(order, sizes))
    fleet = -(-sum(c.demand[0] for c in clients) // 100)
    vehicles = (Vehicle((100,)),) * fleet
    distance = euclidean(points, "round")
    return Instance(
        f"rings {per_ring}x{rings}", 100, distance, (Depot(0),), clients, vehicles, (None,) * fleet
    )


def orienteering(budget: float) -> Instance:
    """Score as much as a length allows (Tsiligirides, J. Operational Research Society 35(9):797, 1984).

    A point of score left out costs as much as the whole budget, so that score comes before length:
    the cost is ``score left x budget + length``.
    """
    rows = [[float(word) for word in row.split()] for row in TSILIGIRIDES_1.replace("\n", " ").split(";")]
    distance = np.ceil(
        np.round([[1000 * hypot(a[0] - b[0], a[1] - b[1]) for b in rows] for a in rows], 6)
    ).astype(np.int64)
    most = int(whole(budget, "exact"))
    clients = tuple(
        Client(i, (1,), prize=int(score) * most, label=i) for i, (_, _, score) in enumerate(rows) if score
    )
    vehicle = Vehicle((len(clients),), start=0, end=1, max_duration=most)
    return Instance(
        f"Tsiligirides 1, {budget:g}",
        1000,
        distance,
        (Depot(0), Depot(1, label=1)),
        clients,
        (vehicle,),
        (None,),
    )


def score(instance: Instance, served: set[int], budget: float) -> int:
    """The score of the clients served in ``orienteering(budget)``."""
    most = int(whole(budget, "exact"))
    return sum((instance.clients[i].prize or 0) // most for i in served)


def several_trips(instance: Instance, vehicles: int, horizon: float) -> Instance:
    """The clients of an instance for a few vehicles that come back to load (Taillard, Laporte & Gendreau,
    J. Operational Research Society 47(8):1065, 1996), each within a horizon of driving.
    """
    most = int(horizon * instance.scale)
    one = replace(instance.vehicles[0], max_duration=most, reload=(0,), window=(0, most))
    return instance.with_fleet((one,) * vehicles)
