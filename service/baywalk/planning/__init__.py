"""Planning: the as-built in, every cut out.

The steps, in the order in which they happen: ``asbuilt`` and ``choices`` (what comes in),
``ground`` (where the joists lie), ``area`` (what is boarded), ``board`` (how thick), ``courses``
(in which rows), ``layout`` (which joint where, which piece from which board), ``pieces``,
``support`` (what it all rests on), ``openings``, ``quantities``, ``sequence``, ``deck`` and
``plan`` (the file). ``laid`` is what a plan goes on from where boards lie already. ``check``
shares no code with any of these: it holds the plan to the rules.
"""

from baywalk.planning.choice_texts import read_choices
from baywalk.planning.choices import Choices
from baywalk.planning.plan import failed, plan, plan_again
from baywalk.planning.refused import BadAsBuilt, BadAsLaid, BadChoice, BadEarlier, Refused

__all__ = [
    "BadAsBuilt",
    "BadAsLaid",
    "BadChoice",
    "BadEarlier",
    "Choices",
    "Refused",
    "failed",
    "plan",
    "plan_again",
    "read_choices",
]
