"""Tests of the field book."""
