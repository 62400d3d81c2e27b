"""Give each truck a letter, a shape and a colour that can be told apart without seeing colours.

The colours were searched for by measured difference: least CIE 1976 difference (CIELAB) between any two, as
seen by normal, protan, deutan and tritan eyes (Machado, Oliveira and Fernandes, "A physiologically-based
model for simulation of color vision deficiency", IEEE TVCG 15(6), 2009), and least difference of lightness in
grayscale; each has a contrast of 3 or more to the ground of the map (WCAG 2.2, 1.4.11).
`tests/reports/test_colours.py` measures them.
"""

from __future__ import annotations

from dataclasses import dataclass

from routing.domain.operation import Operation

LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"
"""Without I, O and Q: read as 1 and 0, and Q stands for quarantine."""

LOOKS: dict[str, dict[str, str | tuple[str, ...]]] = {
    "light": {
        "ground": "#F7F6F2",
        "ink": "#16181A",
        "lit": "#FBE48F",
        "quiet": "#55595E",
        "other": "#8E9092",
        "otherLine": "#C2C2BF",
        "major": "#CFCBBF",
        "minor": "#E2DFD6",
        "trucks": ("#2E0490", "#E51A0B", "#0E44F0", "#E64CD5", "#811E1D", "#30003B"),
    },
    "dark": {
        "ground": "#12161A",
        "ink": "#ECEAE4",
        "lit": "#5C4D12",
        "quiet": "#B4B8BD",
        "other": "#6A727A",
        "otherLine": "#465058",
        "major": "#3B434B",
        "minor": "#2B3138",
        "trucks": ("#C278FA", "#C50950", "#06F25C", "#FF8EE2", "#6A8800", "#C3FFB7"),
    },
}
"""Colours of the map by scheme; ``trucks`` in the order in which trucks take them."""

SHAPES = {
    "circle": "M-6.5 0a6.5 6.5 0 1 0 13 0a6.5 6.5 0 1 0-13 0Z",
    "square": "M-6-6H6V6H-6Z",
    "triangle": "M0-7L7.4 5.8H-7.4Z",
    "diamond": "M0-7.6L7.6 0L0 7.6L-7.6 0Z",
    "wedge": "M0 7L7.4-5.8H-7.4Z",
    "cross": "M-2.6-7H2.6V-2.6H7V2.6H2.6V7H-2.6V2.6H-7V-2.6H-2.6Z",
}
"""Path of each shape within -8 to 8, for lists; the map draws its own."""


@dataclass(frozen=True)
class TruckStyle:
    """How one truck is drawn. ``color`` is its place in ``LOOKS[...]["trucks"]``."""

    truck_id: str
    letter: str
    color: int
    shape: str

    @property
    def path(self) -> str:
        """The shape as an SVG path."""
        return SHAPES[self.shape]


def style_of(operation: Operation, truck_id: str) -> TruckStyle:
    """The style of a truck, by its place in the operation, so that it is the same every day.

    A truck that the operation does not know comes after all that it does.
    """
    known = list(operation.trucks)
    index = known.index(truck_id) if truck_id in known else len(known)
    # The seventh truck repeats the first colour with another shape: 36 pairs before any comes again.
    shapes = list(SHAPES)
    shape = shapes[(index + index // len(shapes)) % len(shapes)]
    return TruckStyle(truck_id, letters(index), index % len(LOOKS["light"]["trucks"]), shape)


def letters(index: int) -> str:
    """A to Z without I, O and Q, then AA, AB and so on."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, len(LETTERS))
        text = LETTERS[rest] + text
    return text
