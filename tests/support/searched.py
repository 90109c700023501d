"""No secret of pairing stands where it must not: all that the suite wrote is looked through.

At the end of the session, in each of its workers, what ``heard`` noted, what the tests wrote on
standard error, and every file under the folder for temporary files (databases, backups, keys,
photos) are searched for every secret, code and token that was minted meanwhile.

Left out are the profiles of the browsers, which are the phones': a phone keeps its own cookie. And
standard output, where ``baywalk pair`` shows a code to whoever stands there.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.support.heard import FOLDER, MINTED, WROTE, listening, note

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator

PROFILES = "phone*"


def found(folder: Path, *roots: Path) -> list[str]:
    """Return the files under ``roots`` in which something stands that was minted."""
    minted = "".join(file.read_text() for file in folder.glob(f"{MINTED}-*"))
    if not minted:
        return []
    wanted = folder / "wanted"
    wanted.write_text(minted)
    search = ["grep", "-rlaFs", f"--exclude-dir={PROFILES}", "-f", wanted, *roots]
    # What cannot be read, such as the socket of a service, is passed over.
    done = subprocess.run(search, capture_output=True, text=True, check=False)
    return done.stdout.splitlines()


@pytest.fixture(scope="session", autouse=True)
def heard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Listen for the whole session, and fail at its end where a secret stands somewhere."""
    folder = Path(tempfile.mkdtemp(prefix="bw-heard-"))
    with pytest.MonkeyPatch.context() as patch, listening():
        patch.setenv(FOLDER, str(folder))
        yield folder
    places = found(folder, tmp_path_factory.getbasetemp(), *folder.glob(f"{WROTE}-*"))
    shutil.rmtree(folder)
    assert not places, f"a secret of pairing stands in {', '.join(places)}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Note what a test wrote on standard error."""
    report = yield
    for name, text in report.sections:
        if "stdout" not in name:
            note(text)
    return report
