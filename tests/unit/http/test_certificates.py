"""The authority and the service's certificate, read back as a stranger would read them."""

from __future__ import annotations

import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from baywalk import cli
from baywalk.http.phones import authority
from baywalk.http.phones.folder import Certificates

if TYPE_CHECKING:
    import socket
    from pathlib import Path

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
ADDRESS, NAME = "192.168.7.7", "loft.local"


class Clock:
    """A clock that stands still until it is moved."""

    def __init__(self) -> None:
        self.now = NOW

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def kept(tmp_path: Path, clock: Clock) -> Certificates:
    certificates = Certificates(tmp_path, clock)
    assert certificates.ensure(ADDRESS, NAME)
    return certificates


def service(kept: Certificates) -> x509.Certificate:
    return x509.load_pem_x509_certificate(kept.service[0].read_bytes())


def root(kept: Certificates) -> x509.Certificate:
    made = kept.authority()
    assert made
    return made.certificate


def test_the_authority_has_a_name_and_certifies_no_further_one(kept: Certificates) -> None:
    made = root(kept)
    (name,) = made.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    assert str(name.value).startswith("Baywalk on ")
    basic = made.extensions.get_extension_for_class(x509.BasicConstraints)
    assert basic.critical
    assert (basic.value.ca, basic.value.path_length) == (True, 0)
    usage = made.extensions.get_extension_for_class(x509.KeyUsage).value
    assert (usage.key_cert_sign, usage.digital_signature) == (True, False)


def test_the_service_names_its_address_and_name_and_serves_alone(kept: Certificates) -> None:
    made = service(kept)
    names = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert [str(one) for one in names.get_values_for_type(x509.IPAddress)] == [ADDRESS]
    assert names.get_values_for_type(x509.DNSName) == [NAME]
    uses = made.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(uses) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert made.extensions.get_extension_for_class(x509.BasicConstraints).value.ca is False
    assert made.signature_hash_algorithm
    assert made.signature_hash_algorithm.name == "sha256"


def test_the_service_lasts_397_days_at_most(kept: Certificates) -> None:
    made = service(kept)
    assert timedelta(390) < made.not_valid_after_utc - made.not_valid_before_utc <= timedelta(397)
    # A phone whose clock is a day behind takes it too.
    assert made.not_valid_before_utc <= NOW - timedelta(1)


@pytest.mark.parametrize("days", [0, 30, 300])
def test_a_strict_verifier_takes_it_for_its_names_alone(kept: Certificates, days: int) -> None:
    builder = PolicyBuilder().store(Store([root(kept)])).time(NOW + timedelta(days))
    builder.build_server_verifier(x509.DNSName(NAME)).verify(service(kept), [])
    with pytest.raises(VerificationError):
        builder.build_server_verifier(x509.DNSName("bank.example")).verify(service(kept), [])


def test_keys_can_be_read_by_their_owner_alone(kept: Certificates) -> None:
    modes = {file.name: stat.S_IMODE(file.stat().st_mode) for file in kept.folder.iterdir()}
    assert modes == {
        "authority.key": 0o600,
        "authority.pem": 0o644,
        "service.key": 0o600,
        "service.pem": 0o644,
    }
    assert stat.S_IMODE(kept.folder.stat().st_mode) == 0o700


def test_what_is_good_is_left_alone(kept: Certificates, clock: Clock) -> None:
    before = root(kept), service(kept)
    clock.now += timedelta(300)
    assert not kept.ensure(ADDRESS, NAME)
    assert (root(kept), service(kept)) == before


@pytest.mark.parametrize(
    ("days", "address", "name"),
    [(335, ADDRESS, NAME), (0, "10.0.0.9", NAME), (0, ADDRESS, "other.local"), (0, ADDRESS, None)],
)
def test_it_is_renewed_under_the_same_authority(
    kept: Certificates, clock: Clock, days: int, address: str, name: str | None
) -> None:
    before = root(kept), service(kept)
    clock.now += timedelta(days)
    assert kept.ensure(address, name)
    assert root(kept) == before[0]
    assert service(kept) != before[1]
    service(kept).verify_directly_issued_by(root(kept))


def test_an_authority_near_its_end_is_made_anew(kept: Certificates, clock: Clock) -> None:
    before = root(kept)
    clock.now += timedelta(3300)
    assert kept.ensure(ADDRESS, NAME)
    assert root(kept) != before
    service(kept).verify_directly_issued_by(root(kept))


def test_it_may_certify_nothing_on_the_internet(kept: Certificates) -> None:
    made = kept.authority()
    assert made
    stolen = authority.new_service(made, "8.8.8.8", "bank.example", NOW).certificate
    verifier = PolicyBuilder().store(Store([made.certificate])).time(NOW)
    with pytest.raises(VerificationError):
        verifier.build_server_verifier(x509.DNSName("bank.example")).verify(stolen, [])
    with pytest.raises(ValueError, match=r"8\.8\.8\.8"):
        kept.ensure("8.8.8.8", NAME)


@pytest.mark.parametrize("name", ["service.key", "authority.key", "service.pem"])
@pytest.mark.parametrize("content", [b"", b"half of a fi"])
def test_half_a_pair_is_as_good_as_none(kept: Certificates, name: str, content: bytes) -> None:
    (kept.folder / name).write_bytes(content)
    assert kept.ensure(ADDRESS, NAME)
    service(kept).verify_directly_issued_by(root(kept))


def test_two_keys_that_were_mixed_up_are_noticed(kept: Certificates) -> None:
    (kept.folder / "service.key").write_bytes((kept.folder / "authority.key").read_bytes())
    assert kept.ensure(ADDRESS, NAME)


def talk(pair: tuple[socket.socket, socket.socket], kept: Certificates, name: str) -> str:
    """Shake hands over a pair of connected sockets, as a phone that asks for ``name``."""
    there = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    there.load_cert_chain(*kept.service)
    answering = threading.Thread(target=lambda: _quietly(there, pair[1]))
    answering.start()
    here = ssl.create_default_context(cafile=str(kept.folder / "authority.pem"))
    try:
        with here.wrap_socket(pair[0], server_hostname=name) as line:
            return str(line.version())
    finally:
        pair[0].close()
        answering.join()


def _quietly(context: ssl.SSLContext, line: socket.socket) -> None:
    try:
        context.wrap_socket(line, server_side=True).close()
    except OSError:
        line.close()


@pytest.mark.parametrize("name", ["127.0.0.2", NAME])
def test_openssl_takes_it(tmp_path: Path, name: str) -> None:
    import socket

    kept = Certificates(tmp_path)
    kept.ensure("127.0.0.2", NAME)
    assert talk(socket.socketpair(), kept, name) == "TLSv1.3"
    with pytest.raises(ssl.SSLCertVerificationError):
        talk(socket.socketpair(), kept, "127.0.0.3")


def test_the_commands_show_and_remove_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    where = ["--data", str(tmp_path)]
    assert cli.main(["certificates", "show", *where]) == 2
    kept = Certificates(tmp_path)
    kept.ensure(ADDRESS, NAME)
    assert cli.main(["certificates", "show", *where]) == 0
    assert authority.fingerprint(root(kept)) in capsys.readouterr().out
    assert cli.main(["certificates", "remove", *where]) == 0
    assert not list(kept.folder.iterdir())
    assert kept.authority() is None
    assert cli.main(["certificates", "renew", *where]) == 0
    assert "trust it anew" in capsys.readouterr().out
