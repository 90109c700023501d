"""Design strengths and factors of Eurocode 5 that depend on one member alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from baywalk.capacity.sections import Section
    from baywalk.rules import Pack


def design(characteristic: float, pack: Pack, service_class: str, duration: str) -> float:
    """Return a design strength [N/mm²] from a characteristic one (2.4.1)."""
    k_mod: float = pack["ec5.k_mod"][service_class][duration]
    return characteristic * k_mod / float(pack["ec5.gamma_M"])


def k_h(depth: float, pack: Pack) -> float:
    """Return the factor on bending strength for a depth [mm] (3.2(3))."""
    rule = pack["ec5.k_h"]
    # Deeper joists are not made weaker here: the rule only rewards shallow ones.
    if depth >= rule["depth"]:
        return 1.0
    return float(min((rule["depth"] / depth) ** rule["power"], rule["most"]))


def k_v(section: Section, left: float, run: float, pack: Pack) -> float:
    """Return the factor on shear strength of an end notched over its support (6.5.2).

    Args:
        section: the whole section.
        left: the depth that is left [mm].
        run: from the line of the reaction to the notch's corner [mm].
        pack: the rules.

    """
    h = section.depth
    alpha = left / h
    k_n = pack["ec5.notch"]["k_n"]
    root = h**0.5 * ((alpha * (1 - alpha)) ** 0.5 + 0.8 * run / h * (1 / alpha - alpha**2) ** 0.5)
    return float(min(1.0, k_n / root)) if root else 1.0
