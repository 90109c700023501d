"""What is left of the boards that laid pieces were cut from, and of those sawn already."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

from baywalk.planning.laid.place import kind_of
from baywalk.planning.layout.cutting import LEFT, RIGHT, Held, Need
from baywalk.planning.refused import Reason, Refused

if TYPE_CHECKING:
    from baywalk.planning.laid.place import HeldDeck
    from baywalk.rules import Pack


def held_boards(deck: HeldDeck, pack: Pack) -> list[Held]:
    """Return the boards begun: their laid pieces, and the lengths of both ends still to use [mm].

    Of a spoilt board nothing is left. A board that is sawn already gives its pieces as they are
    or shorter; one of which only a piece was taken gives the rest in one length. Raises ``Refused``
    where more is laid of a board than it has.
    """
    kerf = pack["board.kerf"]
    laid, board = deck.pieces, deck.earlier["deck"]["board"]["length"]
    out = []
    for one in deck.earlier["boards"]:
        mine = [laid[name] for name in one["cuts"] if name in laid]
        sawn = one["id"] in deck.laid.cut
        if not mine and (not sawn or one["id"] in deck.laid.spoilt):
            continue
        needs = []
        for piece in mine:
            at = board - piece.length if piece.kind == RIGHT else piece.earlier["at"]
            needs.append((Need(piece.id, piece.length, piece.kind), max(at, 0.0)))
        needs.sort(key=lambda pair: pair[1])
        for (a, at), (b, start) in itertools.pairwise(needs):
            if at + a.length + kerf - start > pack["laid.size"]:
                raise Refused(_longer(one["id"], a.id, b.id, at + a.length + kerf - start))
        left, right = _left_over(needs, board, kerf)
        if sawn:
            rest = [p for p in deck.earlier["pieces"] if p["id"] in one["cuts"]]
            ends = _sawn([p for p in rest if p["id"] not in laid], board)
            left, right = min(left, ends[LEFT]), min(right, ends[RIGHT])
        if one["id"] in deck.laid.spoilt:
            left = right = 0.0
        if needs or left or right:
            out.append(Held(one["id"], tuple(needs), left, right))
    return out


def _longer(board: str, one: str, other: str, by: float) -> Reason:
    say = (
        f"Pieces {one} and {other} are both of board {board}, and by what was read they are"
        f" together {by:.0f} longer than it with the saw cut. Read their ends again."
    )
    return Reason("laid.longer_than_board", say)


def _left_over(needs: list[tuple[Need, float]], board: float, kerf: float) -> tuple[float, float]:
    """Return what is left at a board's left-hand and right-hand end [mm], if that end is whole."""
    if not needs:
        return board, board
    reached = max(at + need.length for need, at in needs)
    return max(needs[0][1] - kerf, 0.0), max(board - reached - kerf, 0.0)


def _sawn(rest: list[dict[str, Any]], board: float) -> dict[str, float]:
    """Return the longest piece with each end of a board that is sawn and not laid [mm]."""
    return {
        kind: max((p["length"] for p in rest if kind_of(p, board) == kind), default=0.0)
        for kind in (LEFT, RIGHT)
    }


def reserved(deck: HeldDeck) -> set[str]:
    """Return the ids that boards to come must not have: they are written on boards already."""
    laid = {piece.earlier["board"] for piece in deck.pieces.values()}
    return laid | set(deck.laid.spoilt) | set(deck.laid.cut)


def spoilt_whole(deck: HeldDeck) -> list[str]:
    """Return the spoilt boards of which nothing is laid: each takes another board in its place."""
    laid = {piece.earlier["board"] for piece in deck.pieces.values()}
    return [name for name in deck.laid.spoilt if name not in laid]
