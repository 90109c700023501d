"""What must hold whatever is sent: from the service's own description, and from Hypothesis.

``test_description`` asks what the description says can be asked; ``test_entries``, ``test_heads``,
``test_as_built`` and ``test_pictures`` send what nobody would write; ``test_wire`` sends what is
not even a request.
"""
