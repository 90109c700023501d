"""Layout: which end joint lies where, and which piece is cut from which board.

In the order in which it happens: ``zones`` (where a joint may lie), ``patterns`` (the ways to lay
a course), ``stagger`` (which courses may be neighbours), ``offcuts`` (what an offcut is worth),
``bound`` and ``search`` (the best plan and its proof), ``cutting`` (pieces out of boards).
"""
