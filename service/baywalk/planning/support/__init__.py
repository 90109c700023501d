"""Support: everything of timber that the deck needs under it.

In the order in which it is set out: ``perimeter`` (under the deck's edges), ``frames`` (under end
joints between joists, and cleats), ``strutting``, ``short`` (under pieces too short to go without),
``noggins`` (one noggin and its length), ``timber`` (cut from stock).
"""
