"""The designer's pages for kits and guides."""
