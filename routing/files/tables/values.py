"""Turn the text of one cell into a value, or say exactly why it is none."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from routing.domain.clock import TimeWindow
from routing.domain.units import DAY_S
from routing.files.columns.column import Column
from routing.files.columns.unit_family import Unit
from routing.files.problems.problems import nearest
from routing.files.tables.spelling import PLAIN_SPELLING, Bad, Spelling

YES = ("yes", "true", "1", "y")
NO = ("no", "false", "0", "n")
MOST_DAYS = 800
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_TIME = re.compile(r"(\d{1,2}):(\d{2})(?::00)?", re.ASCII)
_DATE = re.compile(r"(\d{4}-\d{2}-\d{2})(?:[T ]00:00(?::00)?)?", re.ASCII)


def shown(value: float) -> str:
    """A number as a person writes it, to four digits that count."""
    near = float(f"{value:.4g}")
    return f"{near:,.0f}" if abs(near) >= 1000 else f"{near:g}"


def parse(column: Column, unit: Unit, text: str, spelling: Spelling = PLAIN_SPELLING) -> Any:
    """The domain value of a cell that is not empty, spelled as its table spells. Raises ``Bad``."""
    return _PARSERS[column.kind](column, unit, spelling.plain(column.kind, text))


def _text(column: Column, unit: Unit, text: str) -> str:
    return text


def _id(column: Column, unit: Unit, text: str) -> str:
    if not text.isprintable() or ";" in text or len(text) > 80:
        raise Bad(
            "bad_id",
            "an id is one line of at most 80 characters without a semicolon",
            "choose a shorter, plain id",
        )
    return text


def _ids(column: Column, unit: Unit, text: str) -> tuple[str, ...]:
    parts = (part.strip() for part in text.split(";"))
    return tuple(dict.fromkeys(_id(column, unit, part) for part in parts if part))


def _yes_no(column: Column, unit: Unit, text: str) -> bool:
    word = text.casefold()
    if word in YES or word in NO:
        return word in YES
    raise Bad("not_yes_or_no", "this is neither yes nor no", "write yes or no")


def _choice(column: Column, unit: Unit, text: str) -> Any:
    word = text.casefold()
    if word in column.choices:
        return column.make(word)
    allowed = ", ".join(column.choices)
    hint = nearest(word, column.choices)
    raise Bad("not_allowed", f"{column.headers[0]} is one of {allowed}", hint or f"write one of {allowed}")


def _risk(column: Column, unit: Unit, text: str) -> Any:
    word = text.casefold()
    if column.field == "spills" and word in YES + NO:
        return column.make("high" if word in YES else "low")
    return _choice(column, unit, text)


def plain_number(text: str) -> float:
    """A finite number written in digits. Raises ``Bad``."""
    if _NUMBER.fullmatch(text) and math.isfinite(value := float(text)):
        return value
    if re.fullmatch(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?", text, re.ASCII):
        raise Bad("not_a_number", "a number is written without thousands separators", "leave out the commas")
    if re.fullmatch(r"[+-]?\d+,\d+", text, re.ASCII):
        raise Bad(
            "not_a_number", "a number is written with a decimal point", "write a point for the decimal comma"
        )
    if text.endswith("%"):
        raise Bad("not_a_number", "a number is written without a percent sign", "write the number alone")
    raise Bad("not_a_number", "this is not a number", "write digits alone; the unit stands in the header")


def _number(column: Column, unit: Unit, text: str) -> float:
    return in_si(column, unit, plain_number(text))


def _whole(column: Column, unit: Unit, text: str) -> int:
    value = plain_number(text)
    if value != round(value):
        raise Bad("not_whole", f"{column.headers[0]} is counted in whole numbers", "write a whole number")
    return round(in_si(column, unit, value))


def in_si(column: Column, unit: Unit, value: float) -> float:
    """The SI value of a number in a unit, when it is believable. Raises ``Bad``."""
    low, high = column.low, column.high
    if low is None or high is None:
        return value
    _check_ratio(column, value)
    if value < 0 <= low:
        raise Bad("negative", f"{column.meaning}: never negative", "write it without the minus sign")
    si = unit.to_si(value) if value or not unit.inverse else math.inf
    if not low <= si <= high:
        raise _absurd(column, unit, si < low)
    return round(si) if column.whole_si else si


def _check_ratio(column: Column, value: float) -> None:
    if column.ratio == "fraction" and 1 < value <= 100 * (column.high or 1):
        raise Bad(
            "percent_for_fraction",
            f"{column.headers[0]} is a share of 1, not a percentage",
            f"write {shown(value / 100)}",
        )
    if column.ratio == "percent" and 0 < value <= 1:
        raise Bad(
            "fraction_for_percent",
            f"{column.headers[0]} is a percentage, not a share of 1",
            f"write {shown(value * 100)}",
        )


def _absurd(column: Column, unit: Unit, too_low: bool) -> Bad:
    what = re.split(r"[:(,]", column.meaning)[0].strip()
    if too_low and column.low_code == "feeder_too_small":
        remedy = f"check capacity and unit; {_least(column, unit)} is the least"
        return Bad(column.low_code, "a feeder too small for anything", remedy)
    return Bad("absurd", f"absurd: {what} is {_range(column, unit)}", "check the number and its unit")


def _least(column: Column, unit: Unit) -> str:
    return f"{shown(unit.from_si(column.low or 0.0))} {unit.text}"


def _range(column: Column, unit: Unit) -> str:
    """The believed range in the unit typed."""
    return f"{believed(column, unit)} {unit.text}".strip()


def believed(column: Column, unit: Unit) -> str:
    """``5 to 350``: the range outside which a number is refused, without its unit."""
    low, high = sorted((unit.from_si(column.low or 0.0), unit.from_si(column.high or 0.0)))
    return f"{shown(low)} to {shown(high)}"


def parse_date(text: str) -> date:
    """An ISO 8601 date. Raises ``Bad``."""
    found = _DATE.fullmatch(text)
    try:
        if found:
            return date.fromisoformat(found[1])
    except ValueError:
        raise Bad("bad_date", "there is no such day", "check year, month and day") from None
    raise Bad("bad_date", "a date is year-month-day, ISO 8601", "write it like 2026-09-12")


def _date(column: Column, unit: Unit, text: str) -> date:
    found = parse_date(text)
    if not 2000 <= found.year <= 2100:
        raise Bad("absurd_date", "this year is not believed", "check the year")
    return found


def _dates(column: Column, unit: Unit, text: str) -> tuple[date, ...]:
    days: set[date] = set()
    for part in (part.strip() for part in text.split(";")):
        if not part:
            continue
        first, slash, last = (piece.strip() for piece in part.partition("/"))
        start = _date(column, unit, first)
        end = _date(column, unit, last) if slash else start
        if end < start:
            raise Bad("dates_reversed", "the interval ends before it begins", "write the earlier date first")
        if (end - start).days > MOST_DAYS:
            raise Bad("absurd_date", f"an interval is at most {MOST_DAYS} days", "check the years")
        days.update(start + timedelta(days=n) for n in range((end - start).days + 1))
    return tuple(sorted(days))


def parse_time(text: str) -> int:
    """Seconds after midnight of ``HH:MM``; 24:00 is the end of the day. Raises ``Bad``."""
    found = _TIME.fullmatch(text)
    if found:
        hours, minutes = int(found[1]), int(found[2])
        if minutes < 60 and hours * 60 + minutes <= 24 * 60:
            return hours * 3600 + minutes * 60
    raise Bad("bad_time", "a time is HH:MM, local", "write it like 06:30 or 18:00")


def _time(column: Column, unit: Unit, text: str) -> int:
    return parse_time(text)


def window(start_s: int, end_s: int) -> TimeWindow:
    """The window from one time of day to another, over midnight when the end is not later. Raises ``Bad``."""
    start_s %= DAY_S
    end_s = end_s if end_s > start_s else end_s + DAY_S
    if not start_s < end_s < start_s + DAY_S and (start_s, end_s) != (0, DAY_S):
        raise Bad("bad_window", "the window begins and ends at the same time", "all day is 00:00-24:00")
    return TimeWindow(start_s, end_s)


def _windows(column: Column, unit: Unit, text: str) -> tuple[TimeWindow, ...]:
    found: dict[TimeWindow, None] = {}
    for part in (part.strip() for part in text.split(";")):
        if not part:
            continue
        pieces = re.split(r"\s*[-\u2013\u2014]\s*", part)
        try:
            start_s, end_s = (parse_time(piece) for piece in pieces)
        except (ValueError, Bad):
            raise Bad(
                "bad_window",
                "a window is HH:MM-HH:MM, several joined with ;",
                "write it like 06:30-11:00;16:00-20:00",
            ) from None
        found[window(start_s, end_s)] = None
    return tuple(found)


_PARSERS: dict[str, Callable[[Column, Unit, str], Any]] = {
    "text": _text,
    "id": _id,
    "ids": _ids,
    "yes_no": _yes_no,
    "choice": _choice,
    "risk": _risk,
    "number": _number,
    "whole": _whole,
    "date": _date,
    "dates": _dates,
    "time": _time,
    "windows": _windows,
}
