"""Small stages for the tests, and a slow road to the cheapest path that shares nothing with the quick one."""

from __future__ import annotations

from itertools import combinations, pairwise

import networkx as nx
import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box

from fieldfare.plan.ground import Floats
from fieldfare.show.record import Place
from fieldfare.show.venue import Rectangle, Venue

FINE_M = 1e-5


def venue(
    *,
    size_m: tuple[float, float] = (6.0, 4.0),
    height_m: float = 0.5,
    risers: tuple[tuple[float, float, float, float], ...] = (),
    riser_m: float = 0.3,
    keep_clear: tuple[tuple[float, float, float, float], ...] = (),
    kind: str = "walkway",
    ways: tuple[tuple[Place, ...], ...] = (),
    recordist: Place = (-6.0, 1.0),
) -> Venue:
    """Make a venue; rectangles are middle x, middle y, size x, size y."""
    return Venue.model_validate(
        {
            "name": "Test stage",
            "room": {"length_m": 20, "width_m": 10, "height_m": 5},
            "stage": {"width_m": size_m[0], "depth_m": size_m[1], "height_m": height_m},
            "recordist": {"at": (*recordist, -height_m)},
            "riser": [
                {"name": f"Riser {n}", "at": (x, y), "size_m": (w, d), "height_m": riser_m}
                for n, (x, y, w, d) in enumerate(risers, 1)
            ],
            "keep_clear": [
                {"name": f"Clear {n}", "kind": kind, "at": (x, y), "size_m": (w, d)}
                for n, (x, y, w, d) in enumerate(keep_clear, 1)
            ],
            "way": [{"name": f"Way {n}", "points": points} for n, points in enumerate(ways, 1)],
        }
    )


def rectangle(one: Rectangle, grown_m: float = 0.0) -> Polygon:
    """A riser or keep-clear ground as a polygon, grown or shrunk."""
    (x, y), (wide, deep) = one.at, one.size_m
    return box(x - wide / 2 - grown_m, y - deep / 2 - grown_m, x + wide / 2 + grown_m, y + deep / 2 + grown_m)


def cheapest_by_force(venue: Venue, start: Place, end: Place, open_floor: float, every_m: float) -> float:
    """Cost of the cheapest path through points close together on every lane; never less than the true one.

    Every pair of points is joined by a straight piece unless it passes through keep-clear ground.
    """
    half_m, depth_m = venue.stage.width_m / 2, venue.stage.depth_m
    stage = box(-half_m, 0, half_m, depth_m)
    risers = [rectangle(one) for one in venue.riser]
    clear = shapely.unary_union([rectangle(one, -FINE_M) for one in venue.keep_clear])
    lanes = [LineString(one.exterior) for one in (stage, *risers)] + [LineString(way.points) for way in venue.way]
    corners = [(x, y) for one in venue.keep_clear for x, y in rectangle(one).exterior.coords[:4]]
    places = [start, end, *corners]
    lane = shapely.unary_union(lanes)
    inside = [place for place in places if _reached(venue, place)]
    pieces = [piece for line in shapely.get_parts(lane) for piece in pairwise(line.coords)]  # cut where lanes cross
    on_lanes = [point for piece in pieces for point in LineString(piece).segmentize(every_m).coords]
    points = list(dict.fromkeys((float(x), float(y)) for x, y in (*inside, *on_lanes)))
    pairs = np.array(list(combinations(range(len(points)), 2)))
    straight = shapely.linestrings(np.array(points)[pairs])
    open_to = ~shapely.relate_pattern(straight, clear, "T********")
    pairs, straight = pairs[open_to], straight[open_to]
    metre = np.where(shapely.covered_by(straight, shapely.buffer(lane, FINE_M)), 1.0, open_floor)
    raised = [(stage.buffer(FINE_M, join_style="mitre"), venue.stage.height_m)]
    raised += [
        (one.buffer(-FINE_M, join_style="mitre"), r.height_m) for one, r in zip(risers, venue.riser, strict=True)
    ]
    cost = metre * shapely.length(straight) + _climbs(np.array(points)[pairs], raised)
    graph: nx.Graph[int] = nx.Graph()
    graph.add_weighted_edges_from((int(a), int(b), float(c)) for (a, b), c in zip(pairs, cost, strict=True))
    return float(nx.dijkstra_path_length(graph, points.index(start), points.index(end)))


def _reached(venue: Venue, place: Place) -> bool:
    half_m = venue.stage.width_m / 2
    reached = [venue.recordist.at[:2], (-half_m, 0.0), (half_m, venue.stage.depth_m)]
    reached += [point for way in venue.way for point in way.points]
    low, high = np.min(reached, axis=0), np.max(reached, axis=0)
    return bool((low <= place).all() and (place <= high).all())


def _climbs(ends: Floats, raised: list[tuple[Polygon, float]]) -> Floats:
    """How far each piece climbs and falls, by walking along it in small steps."""
    along = np.concatenate([[0.0], np.linspace(1e-4, 1 - 1e-4, 60), [1.0]])
    walked = ends[:, :1] + along[None, :, None] * (ends[:, 1:] - ends[:, :1])
    height = np.sum([h * shapely.contains_xy(area, walked[..., 0], walked[..., 1]) for area, h in raised], axis=0)
    climbs: Floats = np.abs(np.diff(height, axis=1)).sum(axis=1)
    return climbs
