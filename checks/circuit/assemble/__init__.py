"""The network of a parts list under a condition."""
