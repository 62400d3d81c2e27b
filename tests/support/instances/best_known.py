"""Best values known for published instances, with where they were published.

Where ``optimal`` is said the value was proved by its authors; others may yet be beaten.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Known:
    """A published value, in the units of the paper."""

    value: float
    rounding: str
    optimal: bool
    source: str


CHRISTOFIDES = "Christofides & Eilon 1969; optimum as on CVRPLIB"
UCHOA = "Uchoa et al. 2017; CVRPLIB"
SOLOMON = "Solomon 1987; optimum by Kohl et al. 1999 and Irnich & Villeneuve 2006, one decimal, cut"
SOLOMON_MEMORY = "Solomon 1987; optimum, one decimal, cut (value from memory)"
TRIPS_MEMORY = "Mingozzi, Roberti & Toth 2013 (value from memory)"
CORDEAU = "Cordeau, Gendreau & Laporte 1997; optimum by Baldacci & Mingozzi 2009"
TAILLARD = "Taillard 1999; optimum by Baldacci & Mingozzi 2009"
YANG = "Cattaruzza et al. 2016; optimum by Yang 2023"
SITES = "Cordeau & Laporte 2001; best known by Vidal et al. 2013"

KNOWN: dict[str, Known] = {
    "E-n22-k4": Known(375, "round", True, CHRISTOFIDES),
    "E-n30-k3": Known(534, "round", True, CHRISTOFIDES),
    "E-n51-k5": Known(521, "round", True, CHRISTOFIDES),
    "X-n101-k25": Known(27591, "round", True, UCHOA),
    "X-n110-k13": Known(14971, "round", True, UCHOA),
    "X-n120-k6": Known(13332, "round", True, UCHOA),
    "X-n153-k22": Known(21220, "round", True, UCHOA),
    "C101": Known(827.3, "trunc1", True, SOLOMON_MEMORY),
    "R101": Known(1637.7, "trunc1", True, SOLOMON_MEMORY),
    "RC101": Known(1619.8, "trunc1", True, SOLOMON_MEMORY),
    "C201": Known(589.1, "trunc1", True, SOLOMON_MEMORY),
    "R201": Known(1143.2, "trunc1", True, SOLOMON_MEMORY),
    "RC201": Known(1261.8, "trunc1", True, SOLOMON_MEMORY),
    "RC208": Known(776.1, "trunc1", True, SOLOMON),
    "p01": Known(576.87, "exact", True, CORDEAU),
    "c50_13hd": Known(1517.84, "exact", True, TAILLARD),
    "CMT1, 1 vehicle": Known(524.61, "exact", True, TRIPS_MEMORY),
    "CMT1, 2 vehicles": Known(529.85, "exact", True, TRIPS_MEMORY),
    "C201R0.25": Known(1500.6, "trunc1", True, YANG),
    "C205R0.5": Known(1490.0, "trunc1", True, YANG),
    "R201R0.25": Known(1435.6, "trunc1", True, YANG),
    "R205R0.5": Known(1332.3, "trunc1", True, YANG),
    "RC201R0.25": Known(1839.1, "trunc1", True, YANG),
    "RC205R0.5": Known(1819.0, "trunc1", True, YANG),
    "PR01": Known(1655.420, "exact", False, SITES),
    "PR02": Known(2904.130, "exact", False, SITES),
    "PR03": Known(3304.130, "exact", False, SITES),
    "PR07": Known(2166.886, "exact", False, SITES),
    "PR08": Known(3873.392, "exact", False, SITES),
    "PR11A": Known(6655.548, "exact", False, "Vidal et al. 2013"),
    "R1_10_4": Known(25210.2, "trunc1", False, "set of Bulhoes et al. 2018; best known with the files"),
}
