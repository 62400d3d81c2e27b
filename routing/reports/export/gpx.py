"""Write a plan as GPX 1.1 for a navigation device: waypoints, and a route and a track per truck."""

from __future__ import annotations

from gpxpy.gpx import GPX, GPXRoute, GPXRoutePoint, GPXTrack, GPXTrackPoint, GPXTrackSegment, GPXWaypoint

from routing.domain.operation import Operation
from routing.domain.plan import Plan, Route, Stop
from routing.reports.export.geojson import DECIMALS, route_points
from routing.reports.words.changes import difference_text
from routing.reports.words.format import Units, hhmm
from routing.reports.words.marks import KIND_WORDS, stop_marks
from routing.reports.words.names import place_name, sentence, yard_name
from routing.reports.words.text import one_line

CREATOR = "feedround"


def gpx(operation: Operation, plan: Plan) -> str:
    """The GPX text. Names carry the number of the stop; the plan's times stand in the descriptions."""
    document = GPX()
    document.creator = CREATOR
    document.name = one_line(f"{operation.name} {plan.date.isoformat()}")
    costs = sentence(difference_text(plan)) + " " if plan.difference else ""
    replaces = f"Replaces plan {plan.replaces}. {costs}" if plan.replaces else ""
    document.description = one_line(f"plan {plan.plan_id}, times in {plan.timezone}. {replaces}{plan.travel}")
    for route in plan.routes:
        marks = stop_marks(route)
        stops = [stop for stop in route.stops if stop.kind != "break"]
        for stop in stops:
            document.waypoints.append(_waypoint(operation, plan, route, stop, marks[stop.seq]))
        document.routes.append(_route(operation, plan, route, stops, marks))
        document.tracks.append(_track(route))
    for left in plan.unserved:
        yard = operation.yards.get(left.yard_id)
        if yard is not None:
            lat, lon = _safe(yard.position.lat, yard.position.lon)
            words = "not fed" if left.unfed else "needs nothing"
            name = one_line(f"{words}: {yard_name(operation, left.yard_id)}")
            point = GPXWaypoint(
                lat, lon, name=name, description=one_line(f"{left.reason}. {sentence(left.remedy)}")
            )
            point.type = "unserved"
            document.waypoints.append(point)
    return str(document.to_xml(version="1.1"))


def _waypoint(operation: Operation, plan: Plan, route: Route, stop: Stop, mark: str) -> GPXWaypoint:
    lat, lon = _safe(stop.lat, stop.lon)
    name, text = _words(operation, plan, route, stop, mark)
    point = GPXWaypoint(lat, lon, name=f"{one_line(route.truck_id)} {name}", description=text)
    point.type = stop.kind
    return point


def _route(
    operation: Operation, plan: Plan, route: Route, stops: list[Stop], marks: dict[int, str]
) -> GPXRoute:
    line = GPXRoute(name=one_line(f"Truck {route.truck_id}"), description=one_line(f"plan {plan.plan_id}"))
    for stop in stops:
        lat, lon = _safe(stop.lat, stop.lon)
        name, text = _words(operation, plan, route, stop, marks[stop.seq])
        line.points.append(GPXRoutePoint(lat, lon, name=name, description=text))
    return line


def _track(route: Route) -> GPXTrack:
    """The line driven, for devices that only draw."""
    track = GPXTrack(name=one_line(f"Truck {route.truck_id}, line driven"))
    segment = GPXTrackSegment()
    for lon, lat in route_points(route):
        segment.points.append(GPXTrackPoint(*_safe(lat, lon)))
    track.segments.append(segment)
    return track


def _words(operation: Operation, plan: Plan, route: Route, stop: Stop, mark: str) -> tuple[str, str]:
    units = Units(operation.units, operation.currency)
    poured = sum(pour.volume_l for pour in stop.pour)
    filled = sum(fill.volume_l for fill in stop.fill)
    parts = [
        _kind(operation, route, stop),
        f"arrive {hhmm(stop.arrive, plan.timezone, plan.date)}",
        f"leave {hhmm(stop.leave, plan.timezone, plan.date)}",
        f"pour {units.volume(poured)}" if poured else "",
        f"take {units.volume(filled)}" if filled else "",
    ]
    return one_line(f"{mark} {place_name(operation, stop)}"), ", ".join(part for part in parts if part)


def _kind(operation: Operation, route: Route, stop: Stop) -> str:
    truck = operation.trucks.get(route.truck_id)
    if stop.kind == "start" and truck is not None and truck.underway is not None:
        return "Go on from"
    return KIND_WORDS.get(stop.kind, stop.kind)


def _safe(lat: float, lon: float) -> tuple[float, float]:
    """Degrees to six decimals; the schema knows longitude 180 only as -180."""
    lat, lon = round(lat, DECIMALS), round(lon, DECIMALS)
    return lat, -180.0 if lon >= 180.0 else lon
