"""The guide of a revision on paper and as one file, from the same rows as the bench shows."""
