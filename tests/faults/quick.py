"""What a start of the service within this process need not do anew each time.

All of it is the same at every start, so nothing of what a restart loses is kept by it: the page's
files, the description, what the routes are compiled to, and SQLAlchemy's own compiled statements,
which an engine keeps. An engine that is met again has closed its connections before.

Nor is a survey reconciled twice that is the same to the last sign and in the same order, for
reconciling knows nothing of how it came to be. ``reconciled_anew`` has it done all the same.
"""

from __future__ import annotations

from contextlib import contextmanager
from functools import cache
from threading import Thread
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import Engine, create_engine
from werkzeug.routing import Rule

from baywalk import reconcile
from baywalk.fieldbook.store import engine
from baywalk.http import files, openapi

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from baywalk.fieldbook import Survey

_PAGE = cache(files.gather)
_AS_BUILT: dict[str, Any] = {}
_DESCRIPTION = cache(openapi.describe)
_DESCRIBED: list[str] = []
_write, _reconcile = openapi.write, reconcile.reconcile
_COMPILED: dict[tuple[str, bool, str], Callable[..., tuple[str, str]]] = {}
_ENGINES: dict[str, Engine] = {}
_MOST = 8
"""How many engines and as-builts are kept, the latest [-]."""
# What is compiled here is most of what building an application takes.
_compile = Rule._compile_builder


def install(patch: pytest.MonkeyPatch) -> None:
    """Keep these things from one start to the next, until ``patch`` is undone."""
    patch.setattr(files, "gather", _PAGE)
    # Nobody comes who would have to wait for the page to be packed.
    patch.setattr(files, "Thread", lambda **_: Thread())
    patch.setattr(openapi, "describe", _DESCRIPTION)
    patch.setattr(openapi, "write", _description)
    patch.setattr(reconcile, "reconcile", _reconciled)
    patch.setattr(Rule, "_compile_builder", _compiled)
    patch.setattr(engine, "create_engine", _engine)


@contextmanager
def reconciled_anew() -> Iterator[None]:
    """Have every survey reconciled, whether it was before or not."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reconcile, "reconcile", _reconcile)
        yield


def _reconciled(survey: Survey) -> Any:
    stands = (sorted(survey.standing), sorted(survey.struck.items()))
    key = repr((survey.head, survey.runs, survey.tape, survey.entries, stands))
    if key not in _AS_BUILT:
        while len(_AS_BUILT) >= _MOST:
            _AS_BUILT.pop(next(iter(_AS_BUILT)))
        _AS_BUILT[key] = _reconcile(survey)
    return _AS_BUILT[key]


def _description(described: Any) -> str:
    if not _DESCRIBED:
        _DESCRIBED.append(_write(described))
    return _DESCRIBED[0]


def _compiled(rule: Rule, append_unknown: bool = True) -> Callable[..., tuple[str, str]]:  # noqa: FBT001, FBT002 - as it is called
    key = (rule.rule, append_unknown, repr(rule.defaults))
    if key not in _COMPILED:
        _COMPILED[key] = _compile(rule, append_unknown)
    return _COMPILED[key]


def _engine(url: Any, **how: Any) -> Engine:
    key = f"{url!r} {how!r}"
    if key not in _ENGINES:
        while len(_ENGINES) >= _MOST:
            _ENGINES.pop(next(iter(_ENGINES)))
        _ENGINES[key] = create_engine(url, **how)
    return _ENGINES[key]
