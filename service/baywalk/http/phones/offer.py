"""An offer to pair as a phone meets it: an address with the secret in it, and its QR code."""

from __future__ import annotations

import io

import qrcode

FRAGMENT = "#pair="
"""What stands before the secret. What follows a # stays in the phone: it is sent to nobody."""


def address(url: str, secret: str) -> str:
    """Return the address that pairs, under the service's ``url``, which ends in a slash."""
    return f"{url}{FRAGMENT}{secret}"


def rows(text: str) -> list[str]:
    """Return a text's QR code: a row of 1 for dark and 0 for light each, without the margin."""
    code = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_M, border=0)
    code.add_data(text)
    code.make()
    return ["".join("1" if dark else "0" for dark in row) for row in code.get_matrix()]


def drawn(text: str) -> str:
    """Return a text's QR code for a terminal, two rows to a line."""
    code = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_M, border=2)
    code.add_data(text)
    code.make()
    out = io.StringIO()
    code.print_ascii(out=out, invert=True)
    return out.getvalue()
