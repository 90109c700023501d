"""The service keeps to its own description: every route, with what it says can be sent to it.

No answer is a failure of the service, each has a status, a type and a shape that are described.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import schemathesis
from hypothesis import Phase, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from baywalk.http.openapi import describe

if TYPE_CHECKING:
    from tests.support.process import Service

CHECKS = [
    not_a_server_error,
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
]
api = schemathesis.openapi.from_dict(describe())


# A plan takes a second where most are answered in a moment, and has more to ask than any.
plans = {"path": "/api/surveys/{survey}/plan"}


@api.exclude(**plans).parametrize()
@settings(max_examples=6)
def test_every_route(case: schemathesis.Case, running: Service) -> None:
    """Whatever the description lets one send, and what it does not."""
    _keeps_to_it(case, running)


@api.include(**plans).parametrize()
@settings(max_examples=40, phases=[Phase.generate])
def test_plans(case: schemathesis.Case, running: Service) -> None:
    """The same, of what is drawn at random alone."""
    _keeps_to_it(case, running)


def _keeps_to_it(case: schemathesis.Case, running: Service) -> None:
    answer = case.call(base_url=f"http://127.0.0.1:{running.port}")
    case.validate_response(answer, checks=CHECKS)
    if answer.status_code >= 400 and case.method != "HEAD":
        assert answer.headers["content-type"] == ["application/problem+json"]
