"""What a quantity looks like on paper."""

from datetime import UTC, date, datetime

import pytest

from routing.domain.clock import TimeWindow
from routing.reports.words.format import (
    Units,
    decimal_degrees,
    dms,
    duration,
    geo_uri,
    hhmm,
    number,
    plural,
    windows,
)

US, METRIC = Units("us", "USD"), Units("metric", "EUR")


def test_one_gallon_and_one_pound_are_the_exact_factors():
    assert US.volume(3.785411784) == "1.0 gal"
    assert US.mass(0.45359237) == "1 lb"
    assert US.distance(1609.344) == "1.0 mi"
    assert US.length(3.048) == "10.0 ft"
    assert US.temperature(10) == "50 °F"


def test_metric_operation_reads_litres_and_kilograms():
    assert METRIC.volume(1234.56) == "1,234.6 L"
    assert METRIC.mass(4536.4) == "4,536 kg"
    assert METRIC.distance(20_040) == "20.0 km"
    assert METRIC.temperature(-0.2) == "0 °C"


def test_money_carries_its_currency_code():
    assert US.money(1234.5) == "1,234.50 USD"
    assert Units("metric", "JPY").money(1234.5) == "1,234 JPY"
    assert Units().money(3) == "3.00"


def test_time_is_local_and_cut_to_the_minute():
    moment = datetime(2025, 9, 20, 15, 59, 59, tzinfo=UTC)
    assert hhmm(moment, "America/Chicago") == "10:59"


def test_time_after_midnight_says_so():
    moment = datetime(2025, 9, 21, 5, 40, tzinfo=UTC)
    assert hhmm(moment, "America/Chicago", date(2025, 9, 20)) == "00:40 (+1 day)"


@pytest.mark.parametrize(("seconds", "text"), [(0, "0 min"), (3599, "1 h 00 min"), (7500, "2 h 05 min")])
def test_duration_never_reads_sixty_minutes(seconds, text):
    assert duration(seconds) == text


def test_night_window_is_told_by_the_clock():
    assert windows([TimeWindow(21 * 3600, 27 * 3600)]) == "21:00-03:00"
    assert windows([TimeWindow(0, 86_400)]) == "00:00-24:00"
    assert windows([]) == "any time"


def test_seconds_of_arc_carry_into_the_minute():
    assert dms(44.9999999, -93.101) == "45°00'00.0\" N 93°06'03.6\" W"
    assert dms(-0.5, 179.9) == "0°30'00.0\" S 179°54'00.0\" E"


def test_coordinates_and_geo_link_hold_a_tenth_of_a_metre():
    assert decimal_degrees(44.5, -93.1) == "44.500000, -93.100000"
    assert geo_uri(44.5, -93.1) == "geo:44.500000,-93.100000"


def test_nothing_is_never_minus_nothing():
    assert number(-0.001, 1) == "0.0"
    assert number(-1.26, 1) == "-1.3"
    assert plural(1, "yard") == "1 yard"
    assert plural(3, "colony", "colonies") == "3 colonies"
