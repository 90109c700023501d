"""Tests of the reconciling core."""
