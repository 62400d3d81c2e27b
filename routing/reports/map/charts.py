"""Draw a truck's day as inline SVG: litres in each tank, and gross weight against the legal limit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from html import escape
from zoneinfo import ZoneInfo

from routing.domain.fleet import Truck
from routing.domain.plan import Route
from routing.reports.words.format import Units, hhmm, number

WIDTH, LEFT, RIGHT = 560, 58, 94
PANEL_TOP, PANEL_HEIGHT, PANEL_GAP = 22, 118, 34
TANK_DASHES = ("", "7 4", "2 4", "9 3 2 3")
Track = list[tuple[float, float]]


@dataclass(frozen=True)
class Axis:
    """Maps values to pixels: ``low`` lies at ``start_px``, ``high`` at ``end_px``."""

    low: float
    high: float
    start_px: float
    end_px: float

    def px(self, value: float) -> float:
        """Where a value lies."""
        share = (value - self.low) / (self.high - self.low)
        return round(self.start_px + share * (self.end_px - self.start_px), 1)


def nice_step(span: float, most: int) -> float:
    """The smallest of 1, 2, 5 times a power of ten that cuts a span into at most ``most`` parts."""
    power = 10.0 ** math.floor(math.log10(max(span, 1e-9) / most))
    return next(power * k for k in (1, 2, 5, 10) if span <= power * k * most * (1 + 1e-9))


def level_tracks(route: Route, truck: Truck) -> dict[str, Track]:
    """(seconds after the start, litres) of each tank: level while driving, sloping at a stop."""
    levels = {tank.tank_id: tank.level_l for tank in truck.tanks}
    tracks: dict[str, Track] = {tank_id: [(0.0, level)] for tank_id, level in levels.items()}
    for stop in route.stops:
        for tank_id, state in stop.after.tanks.items():
            track = tracks.setdefault(tank_id, [(0.0, state.volume_l)])
            track.append(((stop.begin - route.start).total_seconds(), track[-1][1]))
            track.append(((stop.leave - route.start).total_seconds(), state.volume_l))
    return tracks


def gross_track(route: Route) -> Track:
    """(seconds after the start, kg) of the whole truck; the first weight is that after loading."""
    track: Track = []
    for stop in route.stops:
        before = track[-1][1] if track else stop.after.gross_kg
        track.append(((stop.begin - route.start).total_seconds(), before))
        track.append(((stop.leave - route.start).total_seconds(), stop.after.gross_kg))
    return track


def day_chart(route: Route, truck: Truck, units: Units, timezone: str, ident: str) -> str:
    """The chart of one truck's day. ``ident`` makes the ids of its title and text unique on a page."""
    span_s = max((route.end - route.start).total_seconds(), 60.0)
    time = Axis(0.0, span_s, LEFT, WIDTH - RIGHT)
    tracks = {
        tank_id: [(s, units.volume_value(v)) for s, v in track]
        for tank_id, track in level_tracks(route, truck).items()
    }
    gross = [(s, units.mass_value(kg)) for s, kg in gross_track(route)]
    second_top = PANEL_TOP + PANEL_HEIGHT + PANEL_GAP
    height = second_top + PANEL_HEIGHT + 34
    body = [
        *_tanks_panel(tracks, truck, units, time, PANEL_TOP),
        *_gross_panel(gross, truck, units, time, second_top),
        *_hours(route, timezone, time, second_top + PANEL_HEIGHT),
    ]
    title, said = f"Truck {truck.truck_id}: tanks and weight through the day", _said(gross, truck, units)
    return (
        f'<svg class="chart" viewBox="0 0 {WIDTH} {height}" role="img" '
        f'aria-labelledby="{ident}-t {ident}-d"><title id="{ident}-t">{escape(title)}</title>'
        f'<desc id="{ident}-d">{escape(said)}</desc>{"".join(body)}</svg>'
    )


def _said(gross: Track, truck: Truck, units: Units) -> str:
    heaviest = max((value for _, value in gross), default=0.0)
    limit = units.mass(truck.gvwr_kg)
    return f"Heaviest {number(heaviest)} {units.mass_unit}, legal limit {limit}. Levels stand with each stop."


def _tanks_panel(
    tracks: dict[str, Track], truck: Truck, units: Units, time: Axis, top: float
) -> Iterator[str]:
    capacity = [units.volume_value(tank.capacity_l) for tank in truck.tanks]
    most = max([value for track in tracks.values() for _, value in track] + capacity + [1.0])
    axis = Axis(0.0, most * 1.05, top + PANEL_HEIGHT, top)
    yield from _frame(f"In the tanks, {units.volume_unit}", axis, time, top)
    for i, (tank_id, track) in enumerate(tracks.items()):
        dash = TANK_DASHES[i % len(TANK_DASHES)]
        yield _line(track, time, axis, "tank", dash)
        x, y = time.end_px + 6, top + 8 + 17 * i
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        yield f'<path class="tank" d="M{x:g} {y - 4:g}h26"{dashed}/>'
        yield _text(x + 31, y, _short(tank_id), "end-label")


def _gross_panel(gross: Track, truck: Truck, units: Units, time: Axis, top: float) -> Iterator[str]:
    limit = units.mass_value(truck.gvwr_kg)
    tare = units.mass_value(truck.tare_kg)
    low = min([tare] + [value for _, value in gross])
    high = max([limit] + [value for _, value in gross])
    margin = max((high - low) * 0.12, 1.0)
    axis = Axis(max(0.0, low - margin), high + margin, top + PANEL_HEIGHT, top)
    yield from _frame(f"Gross weight, {units.mass_unit} (scale does not begin at 0)", axis, time, top)
    yield _line([(time.low, limit), (time.high, limit)], time, axis, "limit", "10 5")
    yield _text(time.end_px + 6, axis.px(limit) - 3, "legal limit", "end-label strong")
    yield _text(time.end_px + 6, axis.px(limit) + 11, number(limit), "end-label strong")
    yield _line(gross, time, axis, "gross", "")


def _frame(title: str, axis: Axis, time: Axis, top: float) -> Iterator[str]:
    yield _text(LEFT, top - 7, title, "panel-title")
    step = nice_step(axis.high - axis.low, 4)
    value = math.ceil(axis.low / step) * step
    while value <= axis.high:
        y = axis.px(value)
        yield f'<path class="grid" d="M{time.start_px} {y}H{time.end_px}"/>'
        yield _text(LEFT - 6, y + 4, number(value), "tick")
        value += step
    yield f'<path class="axis" d="M{time.start_px} {top}V{top + PANEL_HEIGHT}H{time.end_px}"/>'


def _hours(route: Route, timezone: str, time: Axis, bottom: float) -> Iterator[str]:
    step_s = next(h * 3600 for h in (1, 2, 3, 4, 6, 12, 24, 48) if time.high <= 9 * h * 3600 or h == 48)
    for moment in _whole_hours(route.start.astimezone(ZoneInfo(timezone)), route.end, step_s):
        x = time.px((moment - route.start).total_seconds())
        yield f'<path class="grid" d="M{x} {PANEL_TOP}V{bottom}"/>'
        yield _text(x, bottom + 16, hhmm(moment, timezone), "hour")


def _whole_hours(first: datetime, last: datetime, step_s: int) -> Iterator[datetime]:
    moment = first.replace(minute=0, second=0, microsecond=0)
    # Stepping by elapsed time keeps the hours apart on the night that the clocks change.
    start = moment if moment == first else moment + timedelta(hours=1)
    while start <= last:
        yield start
        start += timedelta(seconds=step_s)


def _line(track: Sequence[tuple[float, float]], time: Axis, axis: Axis, look: str, dash: str) -> str:
    points = " ".join(f"{time.px(s)},{axis.px(value)}" for s, value in track)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<polyline class="{look}" points="{points}"{dashed}/>'


def _text(x: float, y: float, text: str, look: str) -> str:
    return f'<text class="{look}" x="{x:g}" y="{y:g}">{escape(text)}</text>'


def _short(text: str) -> str:
    return text if len(text) <= 9 else text[:8] + "…"
