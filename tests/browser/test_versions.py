"""An old page with a new service and the other way round: the sync between them loses nothing.

Here it is the version before the last change to either side. The whole of ``test_sync`` against any
version: ``pytest tests/browser/test_sync.py --page-of REVISION``, or ``--service-of REVISION``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.browser import test_sync
from tests.browser.versions import SIDES, before, mixed

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.browser.driving import Phone, Service


@pytest.fixture(params=SIDES)
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Give a checkout whose one side is as it was before its last change."""
    commit = before(request.param)
    if commit is None:
        pytest.skip("there is no history here to take an older version from")
    return mixed(tmp_path / "checkout", **{request.param: commit})


@pytest.fixture
def service(make_service: Callable[..., Service], old: Path) -> Service:
    """Give the service of that checkout."""
    return make_service(checkout=old)


def test_two_phones_have_the_same_book(
    phone: Phone, make_phone: Callable[..., Phone], service: Service
) -> None:
    """Heads, readings, strikes, settings and a photo go both ways."""
    test_sync.test_two_phones_have_the_same_book(phone, make_phone, service)
