"""A parts list as a circuit: parts, terminals, nodes, conditions, and the network they make."""
