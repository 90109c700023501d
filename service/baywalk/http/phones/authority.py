"""The certificates: an authority of this machine's own, made once, and the service's own under it.

A phone trusts the authority, by hand, once. The authority may certify nothing but names that end in
``.local`` and addresses at home, and no further authority, so that whoever stole its key could not
pass as anyone on the internet. Lifetimes and uses are those that phones ask for: the service's own
certificate lasts at most 397 days, names the address and the name, and serves servers alone.
"""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_LASTS = timedelta(days=3650)
"""How long an authority lasts."""
SERVICE_LASTS = timedelta(days=394)
"""How long the service's certificate lasts from today; with :data:`BEFORE` at most 397 days."""
BEFORE = timedelta(days=2)
"""How long before its making a certificate is good, for phones whose clocks are behind."""
RENEW = timedelta(days=60)
"""How long before its end the service's certificate is made anew."""

Extension = TypeVar("Extension", bound=x509.ExtensionType)

LOCAL = "local"
HOME = (
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "169.254.0.0/16",
    "127.0.0.0/8",
    "100.64.0.0/10",
)
"""The networks at home (RFC 1918, RFC 3927, RFC 1122, RFC 6598)."""


@dataclass(frozen=True)
class Pair:
    """A certificate and its key."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    def pem(self) -> bytes:
        """Return the certificate as text."""
        return self.certificate.public_bytes(serialization.Encoding.PEM)

    def key_pem(self) -> bytes:
        """Return the key as text."""
        return self.key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )

    def issued_by(self, authority: Pair) -> bool:
        """Say whether an authority has signed this certificate."""
        try:
            self.certificate.verify_directly_issued_by(authority.certificate)
        except (ValueError, TypeError, InvalidSignature):
            return False
        return True

    def may_certify(self, address: str) -> bool:
        """Say whether this authority may certify an address."""
        constraints = self._extension(x509.NameConstraints)
        where = ipaddress.ip_address(address)
        permitted = constraints.permitted_subtrees or ()
        kinds = ipaddress.IPv4Network, ipaddress.IPv6Network
        networks = [one.value for one in permitted if isinstance(one.value, kinds)]
        return any(where in network for network in networks)

    def serves(self, address: str, name: str | None, now: datetime) -> bool:
        """Say whether this is for a service's address and name, and good for a while yet."""
        names = self._extension(x509.SubjectAlternativeName)
        fits = names.get_values_for_type(x509.DNSName) == ([name] if name else [])
        addresses = [str(one) for one in names.get_values_for_type(x509.IPAddress)]
        certificate = self.certificate
        good = certificate.not_valid_before_utc <= now <= certificate.not_valid_after_utc - RENEW
        return fits and addresses == [address] and good

    def _extension(self, kind: type[Extension]) -> Extension:
        return self.certificate.extensions.get_extension_for_class(kind).value


def load(pem: bytes, key_pem: bytes) -> Pair:
    """Return what :class:`Pair` wrote; raise ValueError or TypeError where it is no such thing."""
    key = serialization.load_pem_private_key(key_pem, None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise TypeError("the key of the certificate is of another kind")
    certificate = x509.load_pem_x509_certificate(pem)
    if certificate.public_key() != key.public_key():
        raise ValueError("the certificate and the key do not go together")
    return Pair(certificate, key)


def fingerprint(certificate: x509.Certificate) -> str:
    """Return a certificate's SHA-256 as phones show it."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def new_authority(machine: str, address: str, now: datetime) -> Pair:
    """Make an authority, named after the machine, that may certify ``address`` too."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Baywalk on {machine}"[:64])])
    builder = (
        _builder(name, name, key, now, AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(authority=True), critical=True)
        .add_extension(x509.NameConstraints(_permitted(address), None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )
    return Pair(builder.sign(key, hashes.SHA256()), key)


def new_service(authority: Pair, address: str, name: str | None, now: datetime) -> Pair:
    """Make the service's certificate for an address and, where it has one, its name."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name or address)])
    names: list[x509.GeneralName] = [x509.IPAddress(ipaddress.ip_address(address))]
    names += [x509.DNSName(name)] if name else []
    issuer = authority.certificate.subject
    own = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    issued_by = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key())
    builder = (
        _builder(subject, issuer, key, now, SERVICE_LASTS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(authority=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(own, critical=False)
        .add_extension(issued_by, critical=False)
    )
    return Pair(builder.sign(authority.key, hashes.SHA256()), key)


def _builder(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePrivateKey,
    now: datetime,
    lasts: timedelta,
) -> x509.CertificateBuilder:
    """Return what every certificate begins with."""
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(now + lasts)
    )


def _usage(*, authority: bool) -> x509.KeyUsage:
    """Return what a key may be used for: an authority's to certify, the service's to sign."""
    return x509.KeyUsage(
        digital_signature=not authority,
        key_cert_sign=authority,
        crl_sign=authority,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _permitted(address: str) -> list[x509.GeneralName]:
    """Return what an authority may certify."""
    networks = [ipaddress.ip_network(one) for one in HOME]
    where = ipaddress.ip_address(address)
    if not any(where in network for network in networks):
        networks.append(ipaddress.ip_network(address))
    return [x509.DNSName(LOCAL), *map(x509.IPAddress, networks)]
