"""The steps of a deck, by what is done: ``joists``, ``timber`` below the boards, ``boards``.

``work`` is what all of them are told from.
"""
