"""Field books for the reconciliation vectors, which the Python and the JavaScript engine share."""
