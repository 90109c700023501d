"""Baywalk: from tape readings in a loft to a survey that can be trusted.

Every length in this package is in millimetres.
"""
