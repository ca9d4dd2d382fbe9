"""What a kit's circuit should read, computed from its parts list."""
