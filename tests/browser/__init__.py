"""The page in a real Chromium, against the real service."""
