"""The secrets of pairing: how they are made, written, hashed and compared.

A secret is told once and kept only as a hash. One of 128 bits needs no more than a plain hash; a
code that a person types is shorter, so guessing it from its hash is made slow (OWASP ASVS 5.0,
6.5.2, asks for that below 112 bits).
"""

from __future__ import annotations

import hashlib
import hmac
import secrets

SECRET_BYTES = 16
"""What a secret in a QR code, and a token of a session, is made of [bytes]."""
CODE_LENGTH = 8
"""How long a typed code is [characters], five bits each."""
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""The signs of a typed code: no I, L, O or U, which are read as others or as words."""

_LOOKALIKES = str.maketrans("ILO", "110")
_COST = {"n": 2**13, "r": 8, "p": 1}


def new_secret() -> str:
    """Return a secret of 128 bits, in 22 characters that stand in an address unchanged."""
    return secrets.token_urlsafe(SECRET_BYTES)


def new_code() -> str:
    """Return a code of 40 bits to be typed."""
    return "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))


def plain_code(typed: str) -> str:
    """Return a code as it was made, however it was typed: spaces, hyphens, small letters."""
    return "".join(typed.split()).replace("-", "").upper().translate(_LOOKALIKES)


def hash_secret(secret: str) -> str:
    """Return what is kept of a secret."""
    return hashlib.sha256(secret.encode()).hexdigest()


def new_salt() -> str:
    """Return a salt for a code."""
    return secrets.token_hex(SECRET_BYTES)


def hash_code(code: str, salt: str) -> str:
    """Return what is kept of a code."""
    return hashlib.scrypt(code.encode(), salt=bytes.fromhex(salt), dklen=32, **_COST).hex()


def equal(one: str, other: str) -> bool:
    """Compare two hashes in a time that tells nothing of them."""
    return hmac.compare_digest(one, other)
