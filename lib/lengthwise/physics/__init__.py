"""The physics behind the sources of a length: pure functions of arrays."""
