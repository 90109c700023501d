"""What each route takes and answers, in the words of OpenAPI."""

from __future__ import annotations

from typing import Any

JSON = "application/json"
PROBLEM = "application/problem+json"
_REF = "#/components/schemas/"
_PICTURES = ("image/jpeg", "image/png", "image/webp")


def _body(name: str) -> dict[str, Any]:
    """Return the content of a body of one schema."""
    return {JSON: {"schema": {"$ref": _REF + name}}}


def _says(what: str, name: str | None = None) -> dict[str, Any]:
    """Return an answer and what it means, with a body where ``name`` is given."""
    return {"description": what} | ({"content": _body(name)} if name else {})


def _problem(what: str) -> dict[str, Any]:
    """Return an answer that is a problem."""
    return {"description": what, "content": {PROBLEM: {"schema": {"$ref": _REF + "Problem"}}}}


_REFUSED = {
    "400": _problem("The body or the request is not understood."),
    "401": _problem("A phone that asks is not paired."),
    "403": _problem("The request comes from elsewhere, or is not for this phone."),
    "404": _problem("There is no such thing here."),
    "408": _problem("The body came too slowly."),
    "412": _problem("If-Match names another state of it."),
    "413": _problem("The body is larger than is taken here."),
    "415": _problem("The body is not of a type that is read here."),
    "422": _problem("The body is not of the shape that is read here."),
    "503": _problem("The service is busy."),
    "507": _problem("The disk has no room left."),
}


def _reading(*codes: str) -> dict[str, Any]:
    """Return the problems of a route that reads no body."""
    return {code: _REFUSED[code] for code in ("400", "401", "403", *codes, "503")}


def _named(name: str, pattern: str, where: str = "path") -> dict[str, Any]:
    """Return a parameter in the address."""
    schema = {"type": "string", "pattern": pattern}
    return {"name": name, "in": where, "required": True, "schema": schema}


_SURVEY = _named("survey", "^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$")
_PHONE = _named("phone", "^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$")
_SHA256 = _named("sha256", "^[0-9a-f]{64}$")
_AFTER = {
    "name": "after",
    "in": "query",
    "description": "The cursor to go on from.",
    "schema": {"type": "integer", "minimum": 0, "maximum": 999_999_999_999_999},
}
_RANGE = {
    "name": "Content-Range",
    "in": "header",
    "description": "Which bytes these are, where they are not all: bytes 0-99/1000.",
    "schema": {"type": "string", "pattern": "^bytes [0-9]{1,8}-[0-9]{1,8}/[0-9]{1,8}$"},
}
_IF_NONE_MATCH = {"name": "If-None-Match", "in": "header", "schema": {"type": "string"}}


def _query(name: str, what: str, **schema: Any) -> dict[str, Any]:
    """Return a parameter that may be left out."""
    return {"name": name, "in": "query", "description": what, "schema": schema}


_ASKED = [
    _query("use", "What the floor is for.", enum=["storage", "occasional", "domestic"]),
    _query("dead", "All permanent load [kN/m²].", type="number", minimum=0, maximum=20),
    _query("imposed", "Your own imposed load [kN/m²].", type="number", minimum=0, maximum=20),
    _query("point", "Your own load on one spot [kN].", type="number", minimum=0, maximum=50),
    _query("ceiling", "The ceiling.", enum=["unknown", "plaster", "plasterboard", "none"]),
    _query("strutting", "Whether it is strutted.", enum=["unknown", "yes", "no"]),
    _query("deck", "The boards' thickness [mm].", type="number", minimum=0, maximum=60),
    _query("service_class", "Of Eurocode 5.", enum=["1", "2", "3"]),
    _query("partition", "Such as along,0.9 [kN per m].", type="string"),
    _query("roof", "Answers about the roof, such as trussed=no.", type="string"),
    _query("thing", "A thing put on the floor; may come often.", type="array", items={}),
]
_AGAIN = {
    "type": "object",
    "required": ["plan"],
    "properties": {
        "plan": {"type": "object", "description": "The earlier plan (baywalk.plan 1)."},
        "laid": {
            "description": "What is laid of it (baywalk.as-laid 1); nothing where left out.",
            "anyOf": [{"type": "object"}, {"type": "null"}],
        },
    },
}
_PICTURE = {kind: {"schema": {"type": "string", "format": "binary"}} for kind in _PICTURES}
_OFFSET = {"Upload-Offset": {"schema": {"type": "integer"}, "description": "Bytes here."}}

_ZONE = (
    "Where the new opening may lie: x0,y0,x1,y1 in the as-built's coordinates, or"
    " joist,face,line,across,along,width,length; its run before a colon where there are several."
)
_CHOSEN = [
    _query("deck", "Thickness of the boards [mm].", type="number"),
    _query("board", "Cover length and width of the boards, as 2400x600 [mm].", type="string"),
    _query("had", "Boards of that size that are there already.", type="integer"),
    _query("gap", "Expansion gap at walls [mm].", type="number"),
    _query("start_wall", "Edge laid first.", enum=["near", "far"]),
    _query("first", "Width of the first course.", enum=["auto", "full", "equal"]),
    _query("use", "What for.", enum=["storage", "occasional", "domestic"]),
    _query("stock", "Lengths of timber, with commas [mm].", type="string"),
    _query("roof", "What is known of it.", enum=["unknown", "free", "tied", "trussed"]),
    _query(
        "hatch",
        "A new opening's clear size across and along the joists, as 600x900.",
        type="string",
    ),
    _query(
        "zone",
        "Where it may lie, as x0,y0,x1,y1 or joist,face,line,across,along,width,length.",
        type="string",
    ),
    _query("time", "Seconds for the layout.", type="number"),
    _query("anyway", "Go on with a survey that is not settled.", enum=["0", "1"]),
    _query("price.board", "Price of one board.", type="number"),
    _query("price.timber", "Price of a metre of timber.", type="number"),
    _query("price.minute", "What a minute weighs.", type="number"),
]
_FILE = _named("file", "^[a-z-]{1,40}\\.(svg|pdf|csv|dxf|json|ifc)$")
_SHEET = [
    _query(
        "page",
        "Which page of SVG, counted from 1; the other forms have all of them.",
        type="integer",
        minimum=1,
        maximum=99_999,
    ),
    _query("paper", "The paper, on its side.", type="string", enum=["A4", "A3"]),
    _query(
        "units",
        "What lengths are written in; files for other tools stay in mm.",
        type="string",
        enum=["mm", "imperial"],
    ),
    _query("earlier", "The survey that this one is compared with.", type="string"),
]
_BYTES = {"schema": {"type": "string", "format": "binary"}}
_FORMS: dict[str, Any] = {
    "image/svg+xml": {"schema": {"type": "string"}},
    "application/pdf": _BYTES,
    "text/csv": {"schema": {"type": "string"}},
    "image/vnd.dxf": _BYTES,
    "application/x-step": _BYTES,
    JSON: {"schema": {"type": "object"}},
}

PATHS: dict[str, dict[str, Any]] = {
    "/api/surveys": {
        "get": {
            "operationId": "listSurveys",
            "summary": "Every survey, with its cursor.",
            "responses": {"200": _says("The surveys.", "Surveys"), **_reading()},
        }
    },
    "/api/surveys/{survey}": {
        "put": {
            "operationId": "putHead",
            "summary": "Make a survey, or merge its head.",
            "parameters": [_SURVEY],
            "requestBody": {"required": True, "content": _body("Head")},
            "responses": {
                "201": _says("It is new.", "Head"),
                "200": _says("It was merged; this is the outcome.", "Head"),
                "204": _says("It is equal to the one here."),
                **_REFUSED,
            },
        },
        "get": {
            "operationId": "getSurvey",
            "summary": "The whole survey.",
            "parameters": [_SURVEY],
            "responses": {"200": _says("The survey.", "Survey"), **_reading("404")},
        },
    },
    "/api/surveys/{survey}/entries": {
        "post": {
            "operationId": "addEntries",
            "summary": "Keep a batch of entries; each comes back in exactly one list.",
            "parameters": [_SURVEY],
            "requestBody": {"required": True, "content": _body("Batch")},
            "responses": {"200": _says("What became of each.", "Added"), **_REFUSED},
        },
        "get": {
            "operationId": "getEntries",
            "summary": "The entries past a cursor, at most 500.",
            "parameters": [_SURVEY, _AFTER],
            "responses": {
                "200": _says("A page; empty at the end.", "Page"),
                **_reading("404", "422"),
            },
        },
    },
    "/api/surveys/{survey}/as-built": {
        "get": {
            "operationId": "getAsBuilt",
            "summary": "The as-built, worked out from all entries that stand.",
            "parameters": [
                _SURVEY,
                _IF_NONE_MATCH,
            ],
            "responses": {
                "200": {
                    "description": "The as-built.",
                    "headers": {"ETag": {"schema": {"type": "string"}}},
                    "content": {JSON: {"schema": {"type": "object"}}},
                },
                "304": {"description": "It is the one you have."},
                **_reading("404", "412", "422"),
            },
        }
    },
    "/api/surveys/{survey}/capacity": {
        "get": {
            "operationId": "getCapacity",
            "summary": "The load check of the as-built, for a use of the floor.",
            "parameters": [_SURVEY, *_ASKED, _IF_NONE_MATCH],
            "responses": {
                "200": {
                    "description": "The load check.",
                    "headers": {"ETag": {"schema": {"type": "string"}}},
                    "content": {JSON: {"schema": {"type": "object"}}},
                },
                "304": {"description": "It is the one you have."},
                **_reading("404", "412", "422"),
            },
        }
    },
    "/api/surveys/{survey}/plan": {
        "get": {
            "operationId": "getPlan",
            "summary": "The deck plan of the as-built, for the choices made.",
            "parameters": [_SURVEY, *_CHOSEN, _IF_NONE_MATCH],
            "responses": {
                "200": {
                    "description": "The plan.",
                    "headers": {"ETag": {"schema": {"type": "string"}}},
                    "content": {JSON: {"schema": {"type": "object"}}},
                },
                "304": {"description": "It is the one you have."},
                **_reading("404", "412", "422"),
                "409": _problem("The survey is not settled, and nobody said to go on."),
            },
        },
        "post": {
            "operationId": "planAgain",
            "summary": "The deck plan that goes on from an earlier one and what is laid of it.",
            "parameters": [_SURVEY, *_CHOSEN],
            "requestBody": {"required": True, "content": {JSON: {"schema": _AGAIN}}},
            "responses": {
                "200": {
                    "description": "The plan, with what changes.",
                    "content": {JSON: {"schema": {"type": "object"}}},
                },
                **_REFUSED,
                "409": _problem("The survey is not settled, and nobody said to go on."),
            },
        },
    },
    "/api/surveys/{survey}/sheets": {
        "get": {
            "operationId": "listSheets",
            "summary": "Every sheet that can be made, its forms, and what it is made from.",
            "parameters": [_SURVEY],
            "responses": {"200": _says("The sheets.", "Sheets"), **_reading("404")},
        }
    },
    "/api/surveys/{survey}/sheets/{file}": {
        "get": {
            "operationId": "getSheet",
            "summary": "One form of one sheet; a plan's or a load check's choices may follow.",
            "parameters": [_SURVEY, _FILE, *_SHEET, _IF_NONE_MATCH],
            "responses": {
                "200": {
                    "description": "The sheet.",
                    "headers": {"ETag": {"schema": {"type": "string"}}},
                    "content": _FORMS,
                },
                "304": {"description": "It is the one you have."},
                **_reading("404", "412", "422"),
                "409": _problem("The survey is not settled, and nobody said to go on."),
            },
        }
    },
    "/api/photos/{sha256}": {
        "put": {
            "operationId": "putPhoto",
            "summary": "Send a photo, whole or the next piece of it.",
            "parameters": [_SHA256, _RANGE],
            "requestBody": {"required": True, "content": _PICTURE},
            "responses": {
                "201": _says("It is whole and kept.", "Photo"),
                "202": {"description": "The piece is kept.", "headers": _OFFSET},
                "204": _says("It was here already."),
                **_REFUSED,
                "409": _problem("The piece does not start where the part ends."),
            },
        },
        "get": {
            "operationId": "getPhoto",
            "summary": "The photo, redrawn without anything but its pixels.",
            "parameters": [_SHA256],
            "responses": {
                "200": {"description": "The photo.", "content": _PICTURE},
                **_reading("404", "422"),
            },
        },
        "head": {
            "operationId": "askPhoto",
            "summary": "How many bytes of the photo are here.",
            "parameters": [_SHA256],
            "responses": {
                "200": {"description": "Some or all of it is here.", "headers": _OFFSET},
                **_reading("404", "422"),
            },
        },
    },
    "/api/pairing": {
        "get": {
            "operationId": "askPairing",
            "summary": "Whether pairing is needed here, and which phone is asking.",
            "responses": {"200": _says("It is told.", "Pairing"), **_reading()},
        },
        "post": {
            "operationId": "pair",
            "summary": "Let a phone in, by an offer's secret or by its code.",
            "requestBody": {"required": True, "content": _body("Pair")},
            "responses": {
                "201": _says("It is paired; its cookie comes with the answer.", "Paired"),
                **_REFUSED,
                "409": _problem("No phone is paired at this address."),
            },
        },
        "delete": {
            "operationId": "leave",
            "summary": "End this phone's own pairing.",
            "responses": {"204": _says("It is ended."), **_reading()},
        },
    },
    "/api/phones": {
        "get": {
            "operationId": "listPhones",
            "summary": "Where phones find the service, and which are paired; the owner asks.",
            "responses": {"200": _says("The phones.", "Phones"), **_reading()},
        },
        "post": {
            "operationId": "offerPairing",
            "summary": "Make an offer to pair the next phone; the owner asks.",
            "requestBody": {"required": True, "content": _body("Offer")},
            "responses": {
                "201": _says("The offer, told this once.", "Offered"),
                **_REFUSED,
                "409": _problem("The service was started without phones."),
            },
        },
    },
    "/api/phones/{phone}": {
        "get": {
            "operationId": "getPhone",
            "summary": "One paired phone; the owner asks.",
            "parameters": [_PHONE],
            "responses": {"200": _says("The phone.", "Phone"), **_reading("404")},
        },
        "delete": {
            "operationId": "putOut",
            "summary": "Put a phone out; the owner asks.",
            "parameters": [_PHONE],
            "responses": {"204": _says("It is out."), **_reading("404")},
        },
    },
    "/api/openapi.json": {
        "get": {
            "operationId": "describe",
            "summary": "This description.",
            "responses": {"200": _says("OpenAPI 3.1.") | {"content": {JSON: {}}}, **_reading()},
        }
    },
    "/api/problems": {
        "get": {
            "operationId": "listProblems",
            "summary": "Every code of a problem.",
            "responses": {"200": _says("The codes.") | {"content": {JSON: {}}}, **_reading()},
        }
    },
}
"""Every route under ``/api``."""
