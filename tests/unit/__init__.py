"""Tests of one room at a time."""
