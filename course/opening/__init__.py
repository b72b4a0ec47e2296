"""How the course opens: an environment of its own, a server, a page in the browser."""
