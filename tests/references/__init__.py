"""Checks against the outside: each file names the published case that it holds the core to."""
