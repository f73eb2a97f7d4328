"""caddiebrain."""
