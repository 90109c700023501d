"""The usual timber's size, used only for joists whose own breadth the readings leave open.

Without it a survey of clear gaps alone would say nothing of any joist's centre. It never touches
a breadth that was read: such a joist keeps exactly what its readings say.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_array

from baywalk.reconcile.normal import UNDETERMINED

if TYPE_CHECKING:
    from baywalk.reconcile.adjust import Fit
    from baywalk.reconcile.equations import Floats
    from baywalk.reconcile.network import Network


def _breadths(network: Network) -> dict[int, int]:
    """Return joist number to unknown for every joist whose faces or breadth were read."""
    return {key[1]: n for key, n in network.unknowns.items() if key[0] == "breadth"}


def without_reading(network: Network) -> list[int]:
    """Return the joists whose breadth enters a row but was itself never read."""
    read = {
        network.entries[i]["joist"] for i in network.rows if network.entries[i]["kind"] == "breadth"
    }
    return [joist for joist in _breadths(network) if joist not in read]


def left_open(network: Network, fit: Fit) -> list[int]:
    """Return the joists whose breadth this fit does not determine."""
    breadths = _breadths(network)
    joists = [joist for joist in without_reading(network) if joist in breadths]
    spread = fit.spread(_pick([breadths[j] for j in joists], len(fit.values)))
    return [j for j, s in zip(joists, spread, strict=True) if s > UNDETERMINED]


def _pick(unknowns: list[int], width: int) -> csr_array:
    """Return one row for each of these unknowns."""
    count = len(unknowns)
    return csr_array(
        (np.ones(count), np.array(unknowns, dtype=np.int64), np.arange(count + 1)),
        shape=(count, width),
    )


def assume(network: Network, joists: list[int], known: Floats) -> list[int]:
    """Add rows that give these joists the usual breadth; return their row numbers.

    All of them share one unknown offset from the usual size, since a stack of timber is off
    together; ``known`` holds the breadths [mm] that were read in this run and steers it.
    """
    usual = network.run.member.get("breadth")
    if not usual:
        return []
    pack, equations = network.pack, network.equations
    common, each = pack["usual.breadth.common"], pack["usual.breadth.each"]
    offset = network.unknowns["usual",] = equations.unknown(0.0)
    # The mean of the breadths read, weighed against the size named: a plain Bayes update.
    weight = len(known) / (each**2) if len(known) else 0.0
    total = weight + common**-2
    middle = weight * (float(np.mean(known)) - usual) / total if len(known) else 0.0
    rows = [equations.row([offset], [1.0], middle, total**-0.5)]
    breadths = _breadths(network)
    rows += [equations.row([breadths[j], offset], [1.0, -1.0], float(usual), each) for j in joists]
    return rows
