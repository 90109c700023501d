"""Random accidents while a deck is laid: what landed elsewhere, what was spoilt, what was sawn.

All invented. Each is what may happen to a carpenter: a first course wedged off too far, a first
piece cut a little long or short, boards a hair over or under their size, a board dropped.
"""

from __future__ import annotations

import random
from typing import Any

Json = dict[str, Any]


def accident(seed: int, made: Json) -> Json:
    """Return what is laid of a plan after an accident or several (``baywalk.as-laid`` 1)."""
    rng = random.Random(seed)
    deck = rng.choice(made["decks"])
    rows = _rows(deck)
    laid = _laid(rows, rng)
    told = {name: {"id": name} for name in laid}
    courses = []
    done = sorted({p["course"] for row in rows for p in row if p["id"] in laid})
    sign = 1 if deck["laid_from"] == "near" else -1
    if rng.random() < 0.4 and len(deck["courses"]) > 1:
        courses = _edges(deck, done, sign, rng)
    for row in rows:
        mine = [p for p in row if p["id"] in laid]
        if mine and rng.random() < 0.5:
            _landed(row, mine, told, rng)
    return {
        "format": "baywalk.as-laid",
        "version": 1,
        "survey": made["survey"],
        "decks": [
            {
                "id": deck["id"],
                "pieces": list(told.values()),
                "courses": courses,
                **_boards(deck, laid, rng),
            }
        ],
    }


def span(piece: Json) -> tuple[float, float]:
    """Return between which xs a piece lies [mm]."""
    xs = [x for x, _ in piece["polygon"]]
    return min(xs), max(xs)


def _rows(deck: Json) -> list[list[Json]]:
    """Return the pieces of each stretch of each course, in the order of laying."""
    out = []
    for course in deck["courses"]:
        for low, high in course["segments"]:
            row = [
                p
                for p in deck["pieces"]
                if p["course"] == course["index"] and low - 1 < sum(span(p)) / 2 < high + 1
            ]
            out.append(sorted(row, key=span))
    return out


def _laid(rows: list[list[Json]], rng: random.Random) -> list[str]:
    order = [piece["id"] for row in rows for piece in row]
    return order[: rng.randint(1, len(order))]


def _edges(deck: Json, done: list[int], sign: int, rng: random.Random) -> list[Json]:
    """Return leading edges that landed elsewhere: the first course off, boards off size."""
    last = len(deck["courses"]) - 1
    lead = "y1" if sign > 0 else "y0"
    off = float(rng.choice([0, 0, 2, 4, 7, -2])) if rng.random() < 0.8 else 11.0
    out = []
    for index in done:
        if index == last:
            break
        drift = rng.choice([0.0, 0.0, 0.5, 1.0, -1.0])
        off += drift
        if off and (rng.random() < 0.7 or index == done[-1]):
            edge = deck["courses"][index][lead] + sign * off
            out.append({"course": index + 1, "edge": round(edge, 1)})
    return out


def _landed(row: list[Json], mine: list[Json], told: dict[str, Json], rng: random.Random) -> None:
    """Let the joints of a row land elsewhere: all of them follow from the first."""
    off = float(rng.choice([-12, -7, -4, -2, -1, 1, 2, 4, 7, 12]))
    what = rng.random()
    first, at_wall = mine[0], mine[0] is row[0]
    if what < 0.6 and len(row) > 1:
        told[first["id"]]["right"] = round(span(first)[1] + off, 1)
    elif what < 0.8 and at_wall:
        told[first["id"]]["left"] = round(span(first)[0] + abs(off), 1)
    elif len(mine) > 1:
        # A joint in the middle that stands off by a hair, as boards differ.
        one = rng.choice(mine[:-1])
        told[one["id"]]["right"] = round(span(one)[1] + max(min(off, 3.0), -3.0), 1)


def _boards(deck: Json, laid: list[str], rng: random.Random) -> Json:
    """Return which boards are spoilt or sawn, and how many are left."""
    names = [board["id"] for board in deck["boards"]]
    begun = [b["id"] for b in deck["boards"] if set(b["cuts"]) & set(laid)]
    out: Json = {}
    if rng.random() < 0.4:
        out["spoilt"] = rng.sample(names, min(len(names), rng.choice([1, 1, 2])))
    if rng.random() < 0.4:
        out["cut"] = [name for name in begun if rng.random() < 0.5]
        if rng.random() < 0.5:
            out["cut"] += [n for n in names if n not in begun and rng.random() < 0.2]
    if rng.random() < 0.2:
        out["in_hand"] = rng.randint(0, len(names))
    return out


def strayed(made: Json, again: Json, told: Json) -> list[str]:
    """Return in words what of the laid pieces is not kept: their ids, boards and true places."""
    out = []
    for mine in told["decks"]:
        was = {p["id"]: p for d in made["decks"] if d["id"] == mine["id"] for p in d["pieces"]}
        now = {p["id"]: p for d in again["decks"] if d["id"] == mine["id"] for p in d["pieces"]}
        marked = {name for name, piece in now.items() if piece.get("laid")}
        if marked != {p["id"] for p in mine["pieces"]}:
            out.append(f"laid are {sorted(marked)}")
        for piece in mine["pieces"]:
            name = piece["id"]
            if name not in now or now[name]["board"] != was[name]["board"]:
                out.append(f"{name} is of another board")
                continue
            for side, x in zip(("left", "right"), span(now[name]), strict=True):
                if side in piece and abs(piece[side] - x) > 0.01:
                    out.append(f"{name}: its {side} end lies at {x}, not {piece[side]}")
    return out
