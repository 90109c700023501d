"""The routes of pairing: a phone asks to be let in; the machine's own page says who may."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, g, request
from marshmallow import Schema, ValidationError

from baywalk.fieldbook.errors import Fault
from baywalk.fieldbook.fields import UUID, Id, Text
from baywalk.fieldbook.text import named_twice, unsound
from baywalk.http.bodies import read_json
from baywalk.http.phones import offer, where
from baywalk.http.problems import Problem
from baywalk.http.surveys import answer

if TYPE_CHECKING:
    from baywalk.fieldbook.store import Device, Store
    from baywalk.http.config import Config
    from baywalk.http.phones.pairing import Pairing

COOKIE = "__Host-baywalk"
"""The session's cookie. Its name binds it to this very address, over HTTPS, for every path."""
BODY_LIMIT = 10_000
"""The most bytes of a body of these routes [bytes]."""
COOKIE_LASTS = 400 * 24 * 3600
"""How long a browser keeps the cookie [s]: as long as any does. The service ends it before."""


class PairSchema(Schema):
    """What a phone sends to be let in: an offer's secret or its code, and what it is called."""

    # PostgreSQL keeps no text with the sign zero in it.
    name = Text(least=1, most=60, pattern=r"^[^\x00]*$", say="without the sign zero", required=True)
    secret = Text(least=1, most=60)
    code = Text(least=1, most=20)


class OfferSchema(Schema):
    """What an offer is for: every survey, or one."""

    survey = Id(allow_none=True)


def blueprint(pairing: Pairing, store: Store, config: Config) -> Blueprint:
    """Return the routes."""
    routes = Blueprint("phones", __name__, url_prefix="/api")

    def add(rule: str, method: str, view: Any, *given: Any) -> None:
        routes.add_url_rule(
            rule,
            view.__name__,
            lambda **named: view(*given, **named),
            methods=[method],
            provide_automatic_options=False,
        )

    add("/pairing", "GET", asked, pairing, config)
    add("/pairing", "POST", pair, pairing, config)
    add("/pairing", "DELETE", leave, pairing)
    add("/phones", "GET", listed, pairing, config)
    add("/phones", "POST", offered, pairing, store, config)
    add("/phones/<phone>", "GET", one, pairing)
    add("/phones/<phone>", "DELETE", put_out, pairing)
    return routes


def asked(pairing: Pairing, config: Config) -> Response:
    """Answer whether pairing is needed here, and which phone is asking, if it is paired.

    ``main`` is the address to keep to: what a phone stores under one is not there under another.
    """
    if not config.guarded:
        return answer({"needed": False, "device": None})
    told: dict[str, Any] = {"needed": True, "main": config.lan.urls()[0] if config.lan else None}
    try:
        device = pairing.who(request.cookies.get(COOKIE))
    except Problem as problem:
        return answer({**told, "device": None, "why": problem.code})
    return answer({**told, "device": _told(pairing, device)})


def pair(pairing: Pairing, config: Config) -> Response:
    """Let a phone in: 201 with its cookie."""
    body = _loaded(PairSchema())
    if ("secret" in body) == ("code" in body):
        raise Problem.of(Fault("code", "either a code or a secret is needed"))
    if not config.guarded:
        raise Problem("no-phones", "No phone is paired at this address.")
    if "secret" in body:
        device, token = pairing.by_secret(body["secret"], body["name"])
    else:
        device, token = pairing.by_code(body["code"], body["name"])
    response = answer({"device": _told(pairing, device)}, 201)
    _set_cookie(response, f"{device.id}.{token}", COOKIE_LASTS)
    return response


def leave(pairing: Pairing) -> Response:
    """End this phone's own pairing. What is on it stays there."""
    pairing.put_out(pairing.who(request.cookies.get(COOKIE)).id)
    response = Response(status=204)
    _set_cookie(response, "", 0)
    return response


def listed(pairing: Pairing, config: Config) -> Response:
    """Answer where phones find the service, its authority's fingerprint, and the paired phones."""
    lan = where.read(config.data) if config.phones else None
    told = {
        "on": lan is not None,
        "urls": list(lan.urls()) if lan else [],
        "handout": lan.handout() if lan else None,
        "fingerprint": lan.fingerprint if lan else None,
    }
    phones = [_told(pairing, device) for device in pairing.devices.devices()]
    return answer({**told, "phones": phones})


def offered(pairing: Pairing, store: Store, config: Config) -> Response:
    """Make an offer: 201 with its secret, its code and its QR codes, told this once."""
    survey = _loaded(OfferSchema()).get("survey")
    if survey is not None and store.stamp(survey) is None:
        raise Problem("no-such-survey")
    lan = where.read(config.data) if config.phones else None
    if lan is None:
        raise Problem("no-phones")
    told = pairing.offer(survey)
    urls = [offer.address(url, told.secret) for url in lan.urls()]
    ways = [{"url": url, "rows": offer.rows(url)} for url in urls]
    return answer({"code": told.code, "ends": _moment(told.ends), "ways": ways}, 201)


def one(pairing: Pairing, phone: str) -> Response:
    """Answer one phone."""
    device = pairing.devices.device(_id(phone))
    if device is None or device.out:
        raise Problem("no-such-phone")
    return answer(_told(pairing, device))


def put_out(pairing: Pairing, phone: str) -> Response:
    """Put a phone out."""
    if not pairing.put_out(_id(phone)):
        raise Problem("no-such-phone")
    return Response(status=204)


def _id(phone: str) -> str:
    """Return an id that has the form of one, or raise the problem that there is no such phone."""
    if not re.fullmatch(UUID, phone, re.ASCII):
        raise Problem("no-such-phone")
    return phone


def limit(device: Device | None) -> None:
    """Refuse a request for another survey than the phone's own, where it has one."""
    g.survey = device.survey if device else None
    asked_for = (request.view_args or {}).get("survey")
    if g.survey and asked_for is not None and asked_for != g.survey:
        raise Problem("not-for-this-phone")


def _loaded(schema: Schema) -> dict[str, Any]:
    """Return a body that fits a schema, or raise the first thing wrong with it."""
    body = read_json(BODY_LIMIT)
    fault = named_twice(body) or unsound(body)
    if fault:
        raise Problem.of(fault)
    if not isinstance(body, dict):
        raise Problem.of(Fault("", "must be an object"))
    try:
        loaded: dict[str, Any] = schema.load(body)
    except ValidationError as wrong:
        field, whys = next(iter(dict(wrong.messages_dict).items()))
        raise Problem.of(Fault(field, str(whys[0]))) from None
    return loaded


def _told(pairing: Pairing, device: Device) -> dict[str, Any]:
    """Return what is told of a phone."""
    return {
        "id": device.id,
        "name": device.name,
        "survey": device.survey,
        "paired": _moment(device.paired),
        "seen": _moment(device.seen),
        "ends": _moment(pairing.ends(device)),
    }


def _moment(seconds: int) -> str:
    """Return a time [s] as RFC 3339 writes it."""
    return datetime.fromtimestamp(seconds, UTC).isoformat()


def _set_cookie(response: Response, value: str, lasts: int) -> None:
    """Set the session's cookie for a time [s]; 0 ends it."""
    response.set_cookie(
        COOKIE, value, max_age=lasts, path="/", secure=True, httponly=True, samesite="Strict"
    )
