"""Invented kits, builds and programmes that the diagnosis and the findings have never seen, drawn by other equations than theirs."""
