"""What is laid already: where it really landed, what it allows, and what changes by it.

In the order in which it happens: ``read`` (the file), ``place`` (where every laid piece lies),
``boards`` (what is left of the boards they were cut from), ``fit`` (the deck drawn in to them),
``judge`` (what breaks a rule), ``timber`` (what is fixed below), ``changes`` (what the new plan
does otherwise).
"""
