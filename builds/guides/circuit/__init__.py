"""A guide's parts list as a circuit that can be calculated."""
