"""Answers that hang on what the asker has already (RFC 9110, section 13)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import request

from baywalk.http.problems import Problem

if TYPE_CHECKING:
    from flask import Response
    from werkzeug.wrappers import Response as Conditional


def conditional(response: Response) -> Conditional:
    """Return an answer with its ETag, emptied to 304 where the asker has it.

    Raises the problem of an ``If-Match`` that names another one.
    """
    answer = response.make_conditional(request)
    if answer.status_code == 412:
        raise Problem("not-the-same")
    return answer
