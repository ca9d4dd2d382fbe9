"""Geometry of the drawings, apart from how they are rendered: the pages make SVG of it, the reports make PDF."""
