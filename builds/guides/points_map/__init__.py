"""The map of points: where on the schematic and on the designer's pictures each point is, and what it should read."""
