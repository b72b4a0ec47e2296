"""marking."""
