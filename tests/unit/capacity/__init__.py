"""The load check: beam, reader, checks, routes."""
