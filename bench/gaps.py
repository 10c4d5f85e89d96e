"""Gaps between moving parts: 15 outlines, 720 crank angles, 60 pairs; as JSON with ratios to peers in one run.

Peers: the bare shapely floor (distance of every pair of polygons at every angle, all built beforehand) and, on a
tenth of the angles, plain numpy (all corners against all edges). Sizes are invented.

    python bench/gaps.py
"""

from __future__ import annotations

import json
import time
from itertools import combinations

import numpy as np
import shapely

from asmade.motion.gaps import (
    Element,
    Pair,
    Scene,
    Sizes,
    carried,
    even_angles,
    find_gaps,
    fixed,
    given,
    gudgeon,
    least_gap,
    pin,
    sliding,
    turning,
)
from asmade.reckon.shapes import Disc, Polygon, arc, rectangle

SIZES = {
    "axle_1": 146.0, "axle_2": 0.0, "axle_3": -133.0, "crank": 23.8, "rod": 178.0, "boss": 11.0, "bar": 8.0, "pin": 5.0,
    "big_end": 12.0, "little_end": 9.0, "tread": 48.0, "crosshead": 28.0, "bars": 13.0, "wheel_face": 62.0,
    "coupling": 5.0, "cap": 1.6, "connecting": 7.0, "crosshead_back": 76.5, "crosshead_width": 12.0,
    "side_play": 0.8, "float": 0.2, "hanger": 8.0, "bracket": 30.0, "step": 40.0,
}  # fmt: skip


def bar(x_low, x_high, depth):
    ring = np.array([(x_low, -depth / 2), (x_high, -depth / 2), (x_high, depth / 2), (x_low, depth / 2)])
    return Polygon(ring, name="bar")


def link(wide):
    """A curved link of two arcs, some 80 corners, not convex."""
    outer = arc(-108.0, 0.0, 108.0 + wide / 2, -0.24, 0.24)
    inner = arc(-108.0, 0.0, 108.0 - wide / 2, 0.24, -0.24)
    return Polygon(np.concatenate([outer, inner]), name="link")


def model(sizes, crank):
    s = sizes
    axles = [s["axle_1"], s["axle_2"], s["axle_3"]]
    pins = [pin(crank, x, 0.0, s["crank"]) for x in axles]
    little = gudgeon(pins[1], s["rod"])
    face = s["wheel_face"]
    rod_low, rod_high = face + 0.1, face + 0.1 + s["coupling"]
    con_low = rod_high + 0.3
    moves = {f"axle {n}": {f"side play {n}": 1.0} for n in (1, 2, 3)}
    found = []
    for number, x in enumerate(axles, start=1):
        turned = turning(crank, x, 0.0)
        found.append(
            Element(
                f"wheel {number}",
                f"wheel {number}",
                (Disc(0, 0, s["tread"]),),
                turned,
                50.0,
                face,
                moves[f"axle {number}"],
            )
        )
        if number != 2:
            cap = (Disc(s["crank"], 0, s["pin"]),)
            found.append(
                Element(
                    f"cap {number}",
                    f"wheel {number}",
                    cap,
                    turned,
                    rod_low,
                    rod_high + s["cap"],
                    moves[f"axle {number}"],
                )
            )
    for number, (fore, aft) in enumerate(((0, 1), (1, 2)), start=1):
        length = axles[fore] - axles[aft]
        pieces = (bar(-length, 0, s["bar"]), Disc(0, 0, s["boss"]), Disc(-length, 0, s["boss"]))
        plays = {"rod float": 1.0, f"side play {number}": 1.0}
        found.append(
            Element(
                f"coupling rod {number}",
                f"coupling rod {number}",
                pieces,
                carried(pins[fore], pins[aft]),
                rod_low,
                rod_high,
                plays,
            )
        )
    pieces = (bar(-s["rod"], 0, s["bar"] + 2), Disc(0, 0, s["little_end"]), Disc(-s["rod"], 0, s["big_end"]))
    found.append(
        Element(
            "connecting rod",
            "connecting rod",
            pieces,
            carried(little, pins[1]),
            con_low,
            con_low + s["connecting"],
            moves["axle 2"],
        )
    )
    head = rectangle(-s["crosshead"] / 2, -s["bars"], s["crosshead"] / 2, s["bars"], "crosshead")
    found.append(
        Element(
            "crosshead",
            "crosshead",
            (head,),
            sliding(little),
            s["crosshead_back"],
            s["crosshead_back"] + s["crosshead_width"],
        )
    )
    still = fixed(crank)
    bar_low, bar_high = s["crosshead_back"] - 1, s["crosshead_back"] + s["crosshead_width"] + 1
    boxes = {
        "upper bar": (rectangle(140, s["bars"], 220, s["bars"] + 6, "upper bar"), bar_low, bar_high),
        "lower bar": (rectangle(140, -s["bars"] - 6, 220, -s["bars"], "lower bar"), bar_low, bar_high),
        "cylinder cover": (rectangle(218, -25, 226, 25, "cover"), 60.0, 100.0),
        "motion bracket": (rectangle(120, -s["bracket"], 124, s["bracket"], "bracket"), 50.0, 73.0),
        "valance": (rectangle(-200, s["step"], 240, s["step"] + 12, "valance"), 74.0, 90.0),
    }
    found += [Element(name, name, (piece,), still, low, high) for name, (piece, low, high) in boxes.items()]
    swing = given(115.0, 32.0, 0.35 * np.cos(crank - 0.4), crank.size)  # an expansion link about its trunnion
    found.append(Element("expansion link", "expansion link", (link(s["hanger"]),), swing, 74.0, 79.0))
    sideways = {f"side play {n}": s["side_play"] for n in (1, 2, 3)} | {"rod float": s["float"]}
    return Scene(tuple(found), crank, sideways)


def pairs():
    scene = model(SIZES, even_angles(8))
    made = [
        Pair(a.name, b.name, 0.5)
        for a, b in combinations(scene.elements, 2)
        if a.body != b.body and (a.poses.moves or b.poses.moves)
    ]
    return made[:60] if len(made) >= 60 else made


def timed(work, repeats=5):
    work()
    took = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return float(np.median(took))


def floor(scene, chosen):
    """Every pair of whole polygons at every angle with shapely alone, outlines built beforehand."""
    solid = {}
    for element in scene.elements:
        merged = shapely.union_all(
            [shapely.polygons(p.ring() if isinstance(p, Disc) else p.ring) for p in element.pieces]
        )
        ring = shapely.get_coordinates(shapely.get_exterior_ring(merged))
        moved = element.poses.place[:, None] + element.poses.along[:, None] * (ring[:, 0] + 1j * ring[:, 1])
        solid[element.name] = shapely.polygons(np.stack([moved.real, moved.imag], axis=-1))
    return lambda: [shapely.distance(solid[pair.one], solid[pair.other]).min() for pair in chosen]


def plain_numpy(scene, chosen, every):
    """All corners against all edges, both ways, at every ``every``-th angle."""

    def rings(element):
        points = np.concatenate([p.ring() if isinstance(p, Disc) else p.ring for p in element.pieces])
        place, along = element.poses.place[::every], element.poses.along[::every]
        return place[:, None] + along[:, None] * (points[:, 0] + 1j * points[:, 1])

    def one_way(points, ring):
        start, edge = ring, np.roll(ring, -1, axis=1) - ring
        t = ((np.conj(edge)[:, None, :] * (points[:, :, None] - start[:, None, :])).real) / np.maximum(
            np.abs(edge) ** 2, 1e-12
        )[:, None, :]
        foot = start[:, None, :] + np.clip(t, 0, 1) * edge[:, None, :]
        return np.abs(points[:, :, None] - foot).min()

    moved = {element.name: rings(element) for element in scene.elements}
    return lambda: [min(one_way(moved[p.one], moved[p.other]), one_way(moved[p.other], moved[p.one])) for p in chosen]


def main():
    crank = even_angles(720)
    chosen = pairs()
    scene = model(SIZES, crank)
    sigma = {name: 0.02 for name in SIZES if "play" not in name and name != "float"}
    reach = dict.fromkeys(sigma, 0.05)
    sweeps = timed(lambda: [least_gap(scene, scene.element(p.one), scene.element(p.other)) for p in chosen])
    whole = timed(lambda: find_gaps(model, Sizes(SIZES, sigma, reach), chosen), 3)
    build = timed(lambda: model(SIZES, crank))
    bare = timed(floor(scene, chosen), 3)
    every = 24
    numpy_part = timed(plain_numpy(scene, chosen, every), 1) * every
    print(
        json.dumps(
            {
                "outlines": len(scene.elements), "angles": crank.size, "pairs": len(chosen), "sizes": len(SIZES),
                "build_scene_s": round(build, 4), "least_gaps_s": round(sweeps, 4), "findings_s": round(whole, 4),
                "shapely_floor_s": round(bare, 4), "plain_numpy_s_scaled": round(numpy_part, 2),
                "least_gaps_to_floor": round(sweeps / bare, 3),
                "plain_numpy_to_least_gaps": round(numpy_part / sweeps, 1),
            },
            indent=2,
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
