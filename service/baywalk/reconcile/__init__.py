"""Reconciling: readings in, as-built out, by weighted least squares.

The steps, in the order in which they happen: ``network`` (readings to equations), ``adjust``
(equations to values), ``usual`` (breadths nobody read), ``snoop`` (what disagrees), ``geometry``
and ``nominal`` (what it means), ``findings`` and ``advice`` (what to say), ``asbuilt`` (the file).
"""

from baywalk.reconcile.asbuilt import reconcile

__all__ = ["reconcile"]
