"""Teeth and their canals: what is published about them, as populations to draw from."""
