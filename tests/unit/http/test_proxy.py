"""Behind a reverse proxy with a name of its own: Debian's caddy, as DEVELOPERS says."""

from __future__ import annotations

import http.client
import json
import os
import re
import shutil
import socket
import ssl
import subprocess
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from baywalk import cli
from tests.support.process import Service
from tests.support.sample import entry, head

if TYPE_CHECKING:
    from collections.abc import Iterator

CADDY = os.environ.get("BAYWALK_CADDY") or shutil.which("caddy")
NAME = "lofts.localhost"

pytestmark = pytest.mark.skipif(not CADDY, reason="no caddy is installed (apt-get install caddy)")


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        return int(probe.getsockname()[1])


class Proxied:
    """The service, the proxy before it, and a way to ask through it."""

    def __init__(self, folder: Path) -> None:
        self.port, self.inner, self.folder = free_port(), free_port(), folder
        url = f"https://{NAME}:{self.port}"
        more = ["--behind", url, "--phone-port", str(self.inner)]
        self.service = Service(folder / "data", more).start()
        # The block is the one in DEVELOPERS.md, with a certificate of caddy's own for the test.
        block = re.search(r"```caddyfile\n(.*?)```", DEVELOPERS, re.DOTALL)
        assert block
        site = block[1].replace("lofts.example.org", f"{NAME}:{self.port}")
        site = site.replace("8766", str(self.inner)).replace("{\n", "{\n\ttls internal\n", 1)
        head_ = "{\n\tadmin off\n\tskip_install_trust\n\tauto_https disable_redirects\n}\n"
        (folder / "Caddyfile").write_text(head_ + site)
        assert CADDY
        homes = {"XDG_DATA_HOME": str(folder / "caddy"), "XDG_CONFIG_HOME": str(folder / "caddy")}
        self.caddy = subprocess.Popen(
            [CADDY, "run", "--config", str(folder / "Caddyfile"), "--adapter", "caddyfile"],
            env=os.environ | homes,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self.root = folder / "caddy" / "caddy" / "pki" / "authorities" / "local" / "root.crt"
        for _ in range(300):
            if self.root.exists() and self._answers():
                return
            time.sleep(0.1)
        raise AssertionError("the proxy did not start")

    def _answers(self) -> bool:
        try:
            return self.ask("GET", "/")[0] == 200
        except OSError:
            return False

    def ask(
        self, method: str, path: str, body: object = None, **headers: str
    ) -> tuple[int, dict[str, str], bytes]:
        """Ask through the proxy, by its name."""
        context = ssl.create_default_context(cafile=str(self.root))
        with socket.create_connection(("127.0.0.1", self.port), 10) as line:
            secure = context.wrap_socket(line, server_hostname=NAME)
            asked = http.client.HTTPSConnection(NAME, self.port)
            asked.sock = secure
            given = {k.replace("_", "-"): v for k, v in headers.items()}
            if body is not None:
                given.setdefault("Content-Type", "application/json")
            asked.request(method, path, None if body is None else json.dumps(body), given)
            answer = asked.getresponse()
            named = {k.lower(): v for k, v in answer.getheaders()}
            out = answer.status, named, answer.read()
            asked.close()
        return out

    def stop(self) -> None:
        self.caddy.terminate()
        self.caddy.wait(10)
        self.service.stop()


DEVELOPERS = (Path(__file__).parents[3] / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def proxied(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Proxied]:
    made = Proxied(tmp_path_factory.mktemp("proxied"))
    yield made
    made.stop()


def offer(proxied: Proxied) -> dict[str, Any]:
    """Have the owner make an offer, on the machine itself."""
    answer = proxied.service.ask("POST", "/api/phones", json={})
    assert answer.status == 201, answer
    told: dict[str, Any] = answer.json()
    return told


def test_a_phone_is_paired_and_syncs_by_the_public_name(proxied: Proxied) -> None:
    assert proxied.ask("GET", "/api/surveys")[0] == 401
    told = offer(proxied)
    address = told["ways"][0]["url"]
    assert address.startswith(f"https://{NAME}:{proxied.port}/#pair=")
    body = {"name": "a phone", "secret": address.partition("#pair=")[2]}
    own = {"Origin": f"https://{NAME}:{proxied.port}", "Sec_Fetch_Site": "same-origin"}
    status, headers, _ = proxied.ask("POST", "/api/pairing", body, **own)
    assert status == 201
    cookie = headers["set-cookie"].partition(";")[0]
    made = head()
    where = f"/api/surveys/{made['id']}"
    assert proxied.ask("PUT", where, made, Cookie=cookie)[0] == 201
    batch = {"entries": [entry() for _ in range(20)]}
    answer = json.loads(proxied.ask("POST", f"{where}/entries", batch, Cookie=cookie)[2])
    assert len(answer["stored"]) == 20


def test_what_a_stranger_writes_in_a_proxys_headers_means_nothing(proxied: Proxied) -> None:
    lies = {
        "X_Forwarded_For": "127.0.0.1",
        "X_Forwarded_Host": "127.0.0.1",
        "X_Real_IP": "127.0.0.1",
        "Forwarded": "for=127.0.0.1;host=127.0.0.1",
    }
    assert proxied.ask("GET", "/api/phones", **lies)[0] == 401
    assert proxied.ask("POST", "/api/phones", {}, **lies)[0] == 401
    # A name that is not the site's gets as far as the proxy, which has nothing to say under it.
    own = f"127.0.0.1:{proxied.service.port}"
    assert proxied.ask("GET", "/api/surveys", Host=own)[2] == b""


def test_a_foreign_origin_is_refused_there_too(proxied: Proxied) -> None:
    for origin in ("https://evil.example", f"http://{NAME}:{proxied.port}", "null"):
        assert proxied.ask("GET", "/api/pairing", Origin=origin)[0] == 403


def test_the_name_is_kept_to_https(proxied: Proxied) -> None:
    assert "max-age" in proxied.ask("GET", "/")[1]["strict-transport-security"]
    # On the machine itself, which is asked plainly, it would lock the owner out.
    assert "strict-transport-security" not in proxied.service.ask("GET", "/").headers


@pytest.mark.parametrize(
    "url", ["http://a.example", "a.example", "https://a.example/x", "https://"]
)
def test_only_a_public_address_is_taken(
    url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["serve", "--port", "0", "--data", str(tmp_path), "--behind", url]
    assert cli.main(options) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "--behind" in line
