"""A seeded made-up county for tests: a crooked grid of roads with everything that makes driving hard."""

from __future__ import annotations

import random
from pathlib import Path

from tests.support.osm_xml import Grid, write_osm

KINDS = ("secondary", "tertiary", "unclassified", "residential", "track", "service")


def write_county(path: Path, size: int = 12, seed: int = 5) -> Path:
    """``size`` x ``size`` crossings: one-way and private roads, gates, lights, limits, forbidden turns."""
    dice = random.Random(seed)
    points: dict[str, Grid] = {
        chr(0x4E00 + i * size + j): (i + dice.uniform(-0.3, 0.3), j + dice.uniform(-0.3, 0.3))
        for i in range(size)
        for j in range(size)
    }
    name = {(i, j): chr(0x4E00 + i * size + j) for i in range(size) for j in range(size)}
    pairs = [(name[i, j], name[i + 1, j]) for i in range(size - 1) for j in range(size)]
    pairs += [(name[i, j], name[i, j + 1]) for i in range(size) for j in range(size - 1)]
    ways = [(a + b, _tags(dice)) for a, b in pairs if dice.random() < 0.85]
    nodes: dict[str, dict[str, str]] = {}
    for point in points:
        roll = dice.random()
        if roll < 0.10:
            nodes[point] = {"highway": "traffic_signals"} if roll < 0.04 else {"barrier": "gate"}
    turns = []
    for _ in range(size * size // 2):
        first = dice.randrange(len(ways))
        via = dice.choice(ways[first][0])
        after = [k for k, (ends, _) in enumerate(ways) if via in ends and k != first]
        if after:
            kind = dice.choice(["no_left_turn", "no_right_turn", "no_straight_on", "only_straight_on"])
            turns.append((first, via, dice.choice(after), kind))
    return write_osm(path, points, ways, tags=nodes, no_turns=turns)


def _tags(dice: random.Random) -> dict[str, str]:
    tags = {"highway": dice.choice(KINDS)}
    roll = dice.random()
    if roll < 0.12:
        tags["oneway"] = dice.choice(["yes", "-1"])
    elif roll < 0.22:
        tags["access"] = dice.choice(["private", "destination"])
    elif roll < 0.30:
        tags["maxspeed"] = dice.choice(["20", "30 mph"])
    elif roll < 0.34:
        tags["maxweight"] = dice.choice(["3.5", "7.5"])
    return tags
