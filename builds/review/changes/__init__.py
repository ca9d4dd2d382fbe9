"""Changes of the guide: decisions on findings and snags, edits of the next draft, its change list, and whether it
worked."""
