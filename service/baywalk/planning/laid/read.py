"""The file of what is laid (``baywalk.as-laid`` 1), checked before anything is reckoned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from marshmallow import EXCLUDE, Schema, fields

from baywalk.fieldbook.fields import MAX_LENGTH, Length, Text, Whole
from baywalk.fieldbook.head import first_fault
from baywalk.fieldbook.text import unsound
from baywalk.planning.refused import BadAsLaid

FORMAT, VERSION = "baywalk.as-laid", 1
_MOST = 10_000
"""No deck has more pieces, boards or timbers than this [-]."""

_MESSAGES: dict[str, Any] = {"required": "is missing", "null": "must not be null"}
_LIST: dict[str, Any] = {"invalid": "must be a list", **_MESSAGES}


@dataclass(frozen=True)
class LaidPiece:
    """A piece that is laid; ``left`` and ``right`` are the xs of its ends [mm] where told."""

    id: str
    left: float | None = None
    right: float | None = None


@dataclass(frozen=True)
class LaidDeck:
    """What is laid of one deck.

    ``edges`` gives the y of a course's leading edge [mm] by its index, counted from 0, where told.
    ``spoilt`` are boards of which nothing more can be cut, ``cut`` those sawn into their pieces
    already, ``in_hand`` the whole boards still there, None where that was not counted, ``fixed``
    the noggins and cleats that are fixed, None for those that the steps so far have.
    """

    id: str
    pieces: tuple[LaidPiece, ...] = ()
    edges: tuple[tuple[int, float], ...] = ()
    spoilt: tuple[str, ...] = ()
    cut: tuple[str, ...] = ()
    in_hand: int | None = None
    fixed: tuple[str, ...] | None = None


class _Read(Schema):
    error_messages = {"type": "must be an object"}  # noqa: RUF012 - as the library declares it

    class Meta:
        """Fields may be added to the format."""

        unknown = EXCLUDE


class _PieceSchema(_Read):
    id = Text(most=40, required=True)
    left = Length(least=-MAX_LENGTH, allow_none=True)
    right = Length(least=-MAX_LENGTH, allow_none=True)


class _CourseSchema(_Read):
    course = Whole(least=1, most=_MOST, required=True)
    edge = Length(least=-MAX_LENGTH, required=True)


def _ids(**more: Any) -> fields.List[Any]:
    return fields.List(Text(most=40), error_messages=_LIST, **more)


class _DeckSchema(_Read):
    id = Text(most=40, required=True)
    pieces = fields.List(fields.Nested(_PieceSchema), error_messages=_LIST)
    courses = fields.List(fields.Nested(_CourseSchema), error_messages=_LIST)
    spoilt = _ids()
    cut = _ids()
    in_hand = Whole(most=_MOST, allow_none=True)
    fixed = _ids(allow_none=True)


class _FileSchema(_Read):
    decks = fields.List(fields.Nested(_DeckSchema), required=True, error_messages=_LIST)


def read_as_laid(document: Any, earlier: dict[str, Any]) -> dict[str, LaidDeck]:
    """Return what is laid of each deck by its id.

    Args:
        document: the file as JSON data, lengths in mm.
        earlier: the plan whose ids it names.

    Raises:
        BadAsLaid: it is not of its form, or names what the earlier plan does not have.
    """
    if not isinstance(document, dict):
        raise BadAsLaid("the file must be an object")
    if document.get("format") != FORMAT:
        raise BadAsLaid(f'format: must be "{FORMAT}"')
    if document.get("version") != VERSION or document["version"] is True:
        raise BadAsLaid(f"version: only version {VERSION} is read here")
    fault = unsound(document) or first_fault(_FileSchema(), document)
    if fault:
        raise BadAsLaid(f"{fault.field}: {fault.why}")
    if document.get("survey") not in (None, earlier["survey"]):
        raise BadAsLaid("survey: it is of another survey than the plan")
    known = {deck["id"]: deck for deck in earlier["decks"]}
    out: dict[str, LaidDeck] = {}
    for k, deck in enumerate(document["decks"]):
        where = f"decks[{k}]"
        if deck["id"] not in known or deck["id"] in out:
            raise BadAsLaid(f"{where}.id: {_absent('deck', deck['id'], deck['id'] in out)}")
        out[deck["id"]] = _deck(deck, known[deck["id"]], where)
    return out


def _absent(kind: str, name: str, twice: object) -> str:
    return f"{kind} {name} comes twice" if twice else f"the earlier plan has no {kind} {name}"


def _deck(deck: dict[str, Any], earlier: dict[str, Any], where: str) -> LaidDeck:
    pieces = deck.get("pieces") or []
    _known("piece", [p["id"] for p in pieces], earlier["pieces"], f"{where}.pieces")
    for k, piece in enumerate(pieces):
        left, right = piece.get("left"), piece.get("right")
        if left is not None and right is not None and right <= left:
            raise BadAsLaid(f"{where}.pieces[{k}].right: must lie right of its left end")
    for name in ("spoilt", "cut"):
        _known("board", deck.get(name) or [], earlier["boards"], f"{where}.{name}")
    timber = [*earlier["noggins"], *earlier["cleats"]]
    _known("noggin or cleat", deck.get("fixed") or [], timber, f"{where}.fixed")
    return LaidDeck(
        deck["id"],
        tuple(LaidPiece(p["id"], _real(p.get("left")), _real(p.get("right"))) for p in pieces),
        _edges(deck.get("courses") or [], pieces, earlier, where),
        tuple(deck.get("spoilt") or ()),
        tuple(deck.get("cut") or ()),
        deck.get("in_hand"),
        None if deck.get("fixed") is None else tuple(deck["fixed"]),
    )


def _real(value: float | None) -> float | None:
    return None if value is None else float(value)


def _known(kind: str, names: list[str], things: list[dict[str, Any]], where: str) -> None:
    there = {thing["id"] for thing in things}
    for k, name in enumerate(names):
        if name not in there or name in names[:k]:
            raise BadAsLaid(f"{where}[{k}]: {_absent(kind, name, name in names[:k])}")


def _edges(
    courses: list[dict[str, Any]],
    pieces: list[dict[str, Any]],
    earlier: dict[str, Any],
    where: str,
) -> tuple[tuple[int, float], ...]:
    """Return the leading edges told, by index of their course."""
    of = {piece["id"]: piece["course"] for piece in earlier["pieces"]}
    laid = {of[piece["id"]] for piece in pieces}
    out: dict[int, float] = {}
    for k, course in enumerate(courses):
        index, place = course["course"] - 1, f"{where}.courses[{k}].course"
        if index not in laid or index in out:
            why = "comes twice" if index in out else "has no piece laid"
            raise BadAsLaid(f"{place}: course {course['course']} {why}")
        if index == len(earlier["courses"]) - 1:
            raise BadAsLaid(f"{place}: the last course has no leading edge; leave it out")
        out[index] = float(course["edge"])
    return tuple(sorted(out.items()))
