"""The revision loop: findings and snags decided on, edits of the next draft, its change list, and whether it worked."""
