"""Small tools of the workshop, none of them part of the package."""
