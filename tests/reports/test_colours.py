"""The colours of the map, measured: told apart by every kind of eye, and on a grey printer."""

from __future__ import annotations

import numpy as np
import pytest

from routing.reports.words.truck_style import LOOKS
from tests.support.colour_difference import (
    EYES,
    contrast,
    lab,
    least_difference,
    least_grey_step,
    lightness,
    linear,
)

SCHEMES = sorted(LOOKS)


def trucks(scheme: str) -> tuple[str, ...]:
    colours = LOOKS[scheme]["trucks"]
    assert isinstance(colours, tuple)
    return colours


def one(scheme: str, name: str) -> str:
    colour = LOOKS[scheme][name]
    assert isinstance(colour, str)
    return colour


def test_white_and_black_have_the_contrast_and_lightness_of_the_standards() -> None:
    # WCAG 2.2: black on white is 21; CIE 15: white has L* 100, a* = b* = 0.
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21.0, abs=1e-3)
    assert lightness("#FFFFFF") == pytest.approx(100.0, abs=1e-3)
    assert np.allclose(lab(linear("#FFFFFF")), [100, 0, 0], atol=0.02)


def test_red_has_the_lab_values_that_are_published_for_srgb() -> None:
    # sRGB (255, 0, 0) is L* 53.24, a* 80.09, b* 67.20 under D65 (common tables, from memory).
    assert np.allclose(lab(linear("#FF0000")), [53.24, 80.09, 67.20], atol=0.05)


@pytest.mark.parametrize("eye", sorted(EYES))
def test_grey_stays_grey_to_every_eye(eye: str) -> None:
    # Rows of each matrix sum to one: what has no colour keeps having none.
    assert np.allclose(EYES[eye].sum(axis=1), 1.0, atol=2e-6)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("eye", sorted(EYES))
def test_any_two_trucks_differ_to_every_eye(scheme: str, eye: str) -> None:
    # 2.3 is just noticeable; more than ten times that is told apart in a thin line (a choice).
    assert least_difference(trucks(scheme), eye) > 25


@pytest.mark.parametrize("scheme", SCHEMES)
def test_any_two_trucks_differ_on_a_grey_printer(scheme: str) -> None:
    assert least_grey_step(trucks(scheme)) > 8


@pytest.mark.parametrize("scheme", SCHEMES)
def test_marks_stand_out_from_the_ground_and_text_can_be_read(scheme: str) -> None:
    ground = one(scheme, "ground")
    assert min(contrast(colour, ground) for colour in trucks(scheme)) >= 3  # WCAG 2.2, 1.4.11
    assert contrast(one(scheme, "ink"), ground) >= 7  # WCAG 2.2, 1.4.6
    assert contrast(one(scheme, "quiet"), ground) >= 4.5  # WCAG 2.2, 1.4.3
    assert contrast(one(scheme, "ink"), one(scheme, "lit")) >= 4.5
