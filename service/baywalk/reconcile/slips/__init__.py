"""Slips of the hand: what could have turned the right reading into the one that was written.

``causes`` says how likely each slip turns one number into another; ``soft`` says how likely a
loft is, for ranking alone; ``weigh`` puts them beside what the other readings say.
"""

from baywalk.reconcile.slips.weigh import Guess, Weigher, unexplained

__all__ = ["Guess", "Weigher", "unexplained"]
