"""What several suites need: a service in a process of its own, databases, made-up surveys."""
