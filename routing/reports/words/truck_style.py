"""Give each truck a look that survives colour blindness and a black-and-white printer.

Letter, marker shape and dash pattern differ before colour does; the palette is that of Okabe and Ito
(Color Universal Design, 2008; values from memory), darkest first.
"""

from __future__ import annotations

from dataclasses import dataclass

from routing.domain.operation import Operation

COLORS = (
    ("blue", "#0072B2"),
    ("vermilion", "#D55E00"),
    ("green", "#009E73"),
    ("purple", "#AA4499"),
    ("black", "#222222"),
    ("orange", "#B97A00"),
)
SHAPES = ("circle", "square", "hexagon", "tag", "diamond", "shield")
DASHES: tuple[tuple[int, ...], ...] = ((), (14, 7), (3, 6), (16, 6, 3, 6), (26, 8), (8, 5, 3, 5, 3, 5))
DASH_NAMES = ("solid", "dashed", "dotted", "dash-dot", "long dashes", "dash-dot-dot")


@dataclass(frozen=True)
class TruckStyle:
    """How one truck is drawn. ``dash`` in pixels of line and gap; empty is solid."""

    truck_id: str
    letter: str
    color: str
    color_name: str
    shape: str
    dash: tuple[int, ...]
    dash_name: str


def style_of(operation: Operation, truck_id: str) -> TruckStyle:
    """The style of a truck, by its place in the operation, so that it is the same every day.

    A truck that the operation does not know comes after all that it does.
    """
    known = list(operation.trucks)
    return _style(known.index(truck_id) if truck_id in known else len(known), truck_id)


def letters(index: int) -> str:
    """A to Z, then AA, AB and so on."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def _style(index: int, truck_id: str) -> TruckStyle:
    color_name, color = COLORS[index % len(COLORS)]
    # A seventh truck repeats the colours with other shapes and dashes; the letter is never repeated.
    turn = (index + index // len(COLORS)) % len(SHAPES)
    return TruckStyle(
        truck_id, letters(index), color, color_name, SHAPES[turn], DASHES[turn], DASH_NAMES[turn]
    )
